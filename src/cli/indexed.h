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

bool indexed_ask(Run *run, Book *b, IndexUse use, Question ask, void *ctx)
    __attribute__((warn_unused_result));

#endif
