/* How far a long run is, on stderr where that is a terminal; nothing for what takes half a second.
 */
#ifndef THOU_CLI_PROGRESS_H
#define THOU_CLI_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

typedef struct Progress {
    bool on;
    const char *of; /* "jobs" */
    int64_t started_ms, shown_ms;
} Progress;

void progress_start(Progress *p, const char *of);
void progress_show(Progress *p, uint32_t done, uint32_t all);
void progress_wipe(Progress *p); /* before anything else is written */

#endif
