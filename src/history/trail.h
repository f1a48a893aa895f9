/*
 * The trail: per commit, which of the book's files it changed and from what to what. Made once by
 * comparing folders as recorded, then kept in the file `past` of the book's own store, so that the
 * past of one file asks no folder again: a folder of 10,000 names is 330 kB in every commit.
 *
 * Commits never change, so the file never goes stale; what is not in it yet is added. It may be
 * deleted at any time. One that is damaged, of another version, or of another place in the
 * repository is made anew. Inside this room only.
 *
 * The file, numbers little-endian: "thou past 1\n"; u16 length and text of the book's path in the
 * repository; then a commit after all its parents:
 *   20 bytes id, i64 time, u16 parents, per parent u32 number of its commit in this file,
 *   u32 changes, per change: u16 parent (65535: none), u32 mode and 20 bytes blob before (0:
 *   nothing), u32 mode and blob after, u16 length and text of the path in the book;
 * and at the end u64 hash of all before it.
 */
#ifndef THOU_HISTORY_TRAIL_H
#define THOU_HISTORY_TRAIL_H

#include "base/buf.h"
#include "history/internal.h"

typedef struct Entry { /* what a commit holds at a path */
    git_oid id;        /* all zero: nothing */
    unsigned mode;
} Entry;

#define TRAIL_NO_PARENT 0xffffu

typedef struct TrailMark { /* the file asked for differs from what this parent has */
    uint16_t parent;
    Entry after;
} TrailMark;

typedef struct TrailCommit {
    git_oid id;
    int64_t time;
    uint32_t parents; /* offset of their numbers in the trail's bytes */
    uint16_t parent_count;
    uint32_t mark, mark_count;
} TrailCommit;

struct TreeCache;

typedef struct Trail {
    History *h;
    Arena *a;
    Buf bytes; /* the file without its hash */
    TrailCommit *commits;
    uint32_t count, room;
    uint32_t *table; /* number + 1 by id */
    uint32_t mask;
    TrailMark *marks; /* of the file asked for */
    uint32_t mark_count, mark_room;
} Trail;

/* Reads the file; an empty trail when there is none to read. trail_release gives it back. */
void trail_read(Trail *t, History *h, Arena *a);
void trail_release(Trail *t);
/* Adds what leads to `tip`, and writes the file when anything was added; that it can't be written
 * is no failure. */
bool trail_extend(Trail *t, const git_oid *tip, Err *err);
bool trail_has(const Trail *t, const git_oid *id, uint32_t *number);
/* Sets the marks of one file; path in the book. */
void trail_mark(Trail *t, const char *path);
uint32_t trail_parent(const Trail *t, const TrailCommit *c, uint16_t n);

/* trail_make.c: appends the changes of one commit to t->bytes. */
bool trail_compare(Trail *t, git_commit *commit, git_commit *parent, uint16_t n, uint32_t *changes,
                   struct TreeCache *trees, Err *err);

#endif
