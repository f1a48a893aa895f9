/* The checking of many files by several threads: what check.c and check_pool.c share. */
#ifndef THOU_CLI_CHECK_H
#define THOU_CLI_CHECK_H

#include "cli/shelf.h"

typedef struct Tally {
    uint32_t jobs, cards, errors, warnings;
    bool trouble; /* a file could not be read; it was said */
} Tally;

typedef struct CheckPlan {
    const Target *targets;
    uint32_t count;
    unsigned threads;
    bool json;
    bool brief; /* a whole book: see check_job_briefly */
} CheckPlan;

/* Checks every target, and writes their findings to `out` in the order of the targets. Each thread
 * works in one arena, and no more than a few results wait for their turn: memory does not grow
 * with the number of files. */
void check_files(const CheckPlan *plan, Out *out, Tally *tally);

#endif
