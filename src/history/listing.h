/* The files of a folder on the disk, and what a stat says of each. Inside this room only. */
#ifndef THOU_HISTORY_LISTING_H
#define THOU_HISTORY_LISTING_H

#include "history/internal.h"

typedef struct File { /* in the folder; of a stat what git's index keeps */
    const char *name;
    struct timespec changed, inode_changed;
    uint64_t inode;
    uint32_t size, mode, uid, gid; /* size as the index has it: its last 32 bits */
    int why;                       /* errno of looking at it, or 0 */
} File;

typedef struct Files {
    File *items; /* in the order of the bytes of their names */
    size_t count;
} Files;

bool listing_matches(const char *glob, const char *name);
/* The files of a folder that match; none when there is no such folder. */
bool listing_make(const char *folder, const char *glob, Arena *a, Files *out, Err *err);

#endif
