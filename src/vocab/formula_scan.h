/*
 * The text of a formula as it is taken apart: words, marks, numbers, units. One finding a formula:
 * the first fault sets `failed`, and nothing more is said.
 */
#ifndef THOU_VOCAB_FORMULA_SCAN_H
#define THOU_VOCAB_FORMULA_SCAN_H

#include "vocab/parts.h"

typedef struct Parser {
    Vocab *v;
    const Source *source;
    Findings *findings;
    const char *p, *end;
    unsigned depth, nodes;
    bool has_where; /* the word stands somewhere in the text */
    bool failed;    /* a finding was added; nothing more is */
} Parser;

/* Adds the finding, unless there is one; always NULL. An empty `at` is the end of the text. */
Node *scan_fail(Parser *ps, VocabKind kind, Str at, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
bool scan_enter(Parser *ps); /* one level deeper; false and a finding past FORMULA_DEPTH_MOST */

void skip_blanks(Parser *ps);
Str word_here(Parser *ps);  /* empty when no word starts here; `leak-down` is one */
Str words_here(Parser *ps); /* to the next mark or number, blanks between them */
bool is_word_start(char c);
bool is_joint(Str word);      /* at, in, else, over ...: they join what stands around them */
Str words_as_name(Str words); /* up to the first joint: what was probably meant as one name */
bool take_word(Parser *ps, Str word);
bool take_mark(Parser *ps, char mark);
bool take_digits(Parser *ps, double *out); /* a plain decimal; a finding otherwise */
Str unit_here(Parser *ps); /* one word of letters, digits and / ^ - * between them */
const Unit *take_unit(Parser *ps, Str text); /* NULL and a finding when it is unknown */

#endif
