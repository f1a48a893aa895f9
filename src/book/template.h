/*
 * A new log from a template: words put in, rows made for the places of the engine. The template's
 * own form is said at its head (format/template.job). Nothing here knows what a place is called:
 * classes come from the vocabulary.
 */
#ifndef THOU_BOOK_TEMPLATE_H
#define THOU_BOOK_TEMPLATE_H

#include "book/book.h"

typedef struct TemplateWord {
    Str name, text; /* empty text: lines that hold it are left out */
} TemplateWord;

/* The book's template.job, else the built-in one. */
bool template_of(const Book *b, Arena *a, Source *out, Err *err)
    __attribute__((warn_unused_result));
/* The new log's text, in `a`. It is read as a log before it is handed out: ERR_USAGE with the first
 * finding when it is none without errors. *rows says whether the engine had places to make rows of.
 */
bool template_fill(Book *b, const Source *from, const TemplateWord *words, unsigned count, Arena *a,
                   Str *out, bool *rows, Err *err) __attribute__((warn_unused_result));
/* The facts at the head of a log, for a job that is to be like it: which job, whose and what engine
 * it was is turned into remarks, since that is another. */
bool template_head(Book *b, const char *path, Arena *a, Str *out, Err *err)
    __attribute__((warn_unused_result));

#endif
