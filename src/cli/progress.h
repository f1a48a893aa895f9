/* How far a long run is: one line on stderr where that is a terminal, from half a second on.
 *
 *     Progress p;
 *     progress_start(&p, "jobs");
 *     ... progress_show(&p, done, all) for each piece, or progress_told as a lower room's callback
 *     progress_wipe(&p);
 *
 * One thread at a time: a pool calls it under its own lock.
 */
#ifndef THOU_CLI_PROGRESS_H
#define THOU_CLI_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

typedef struct Progress {
    bool on;
    const char *of; /* "jobs" */
    int64_t started_ms, shown_ms;
    int wide; /* characters that stand there now */
} Progress;

void progress_start(Progress *p, const char *of);
/* "120 of 900 jobs"; with `all` 0, where nobody knows how many there are, "120 jobs". */
void progress_show(Progress *p, uint32_t done, uint32_t all);
void progress_told(void *progress, uint32_t done, uint32_t all);
void progress_wipe(Progress *p); /* before anything else is written, and at the end */

#endif
