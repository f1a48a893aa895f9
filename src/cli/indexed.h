/*
 * Asking the index of a book. What is stored answers while a thread looks whether files changed; if
 * they did, the index is brought up to date, with a progress line, and asked again. Damage that
 * shows only in an answer is mended once, by making the index anew.
 */
#ifndef THOU_CLI_INDEXED_H
#define THOU_CLI_INDEXED_H

#include "cli/command.h"
#include "index/index.h"

/* Asks all it wants to know, into ctx, from nothing each time: it may be called again. */
typedef bool (*Question)(Index *x, void *ctx, Err *err);

typedef struct IndexUse {
    bool as_is;       /* answer from what is stored */
    unsigned threads; /* that read jobs while they are taken in */
} IndexUse;

/* Begins to look at the files of the book that shelf_need_book will open: before the vocabulary is
 * read, for the look takes longest. */
void indexed_begin(Run *run, bool as_is);
void indexed_end(Run *run); /* gives up what nobody asked for */
bool indexed_ask(Run *run, Book *b, IndexUse use, Question ask, void *ctx)
    __attribute__((warn_unused_result));

#endif
