/*
 * The past of one log, made by going through its versions from the first to the last: when each
 * thing that it says came in, and every correction. A version is known here by its number alone.
 */
#ifndef THOU_COMPUTE_TIMELINE_H
#define THOU_COMPUTE_TIMELINE_H

#include "compute/changes.h"

typedef struct TimelineStep {
    ChangeKind kind;  /* CHANGE_VALUE also for a line that took another's place */
    uint32_t version; /* in which it is first seen */
    bool in_log;      /* the log says so itself: by a correcting entry, or read again */
    Said was, now;    /* `now` of CHANGE_REMOVED is `was` */
} TimelineStep;

typedef struct TimelineLine {
    Said said;      /* as it is now, or was when it was taken out */
    uint32_t first; /* the version it came in with */
    uint32_t last;  /* the version that changed it last */
    bool removed;
} TimelineLine;

typedef struct Timeline {
    Arena *arena;
    TimelineStep *steps; /* in the order of the versions */
    uint32_t step_count, step_room;
    TimelineLine *lines; /* in the order in which they came in */
    uint32_t line_count, line_room;
    uint32_t *order; /* lines of the last version, in its order; until timeline_release */
    uint32_t order_count;
    /* the version before: its list, and the line of each item */
    SaidList before;
    uint32_t *line_of;
    Arena *own[2]; /* of the version before, and of the one at hand */
} Timeline;

/* Lines and steps are in `arena`; their texts are slices of the logs, which must live as long. */
void timeline_init(Timeline *t, Arena *arena);
void timeline_release(Timeline *t);
/* The next version. Nothing of the job is needed afterwards but its sources' text. */
void timeline_add(Timeline *t, const Job *j, uint32_t version);

#endif
