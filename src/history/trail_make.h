/* Folders as recorded, compared as they are stored. Inside this room only. */
#ifndef THOU_HISTORY_TRAIL_MAKE_H
#define THOU_HISTORY_TRAIL_MAKE_H

#include "history/trail.h"

/* The folders read last: a commit's are its child's, too. */
enum { TREES = 16 };
typedef struct TreeCache {
    git_oid ids[TREES];
    git_odb_object *raw[TREES];
    unsigned next;
} TreeCache;
void trees_release(TreeCache *trees, const Git *git);

#endif
