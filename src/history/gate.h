/*
 * The way in and out of a record: the locks, in git's own protocol, and the two renames that make
 * it so. README.md says why in this order. Inside this room only.
 */
#ifndef THOU_HISTORY_GATE_H
#define THOU_HISTORY_GATE_H

#include "history/internal.h"

typedef struct Gate {
    int fd;          /* thou.lock, held with flock; -1 outside */
    bool index_held; /* index.lock is ours */
    bool branch_held;
    const char *own_lock, *own_value, *own_index; /* thou.lock, thou.ref, thou.index */
    const char *index, *index_lock;
    const char *branch, *branch_lock; /* the files */
} Gate;

/* Clears the locks of a thou that was killed, where there are any and it is allowed to. */
void gate_clear(const History *h);
/* Waits a moment for a foreign index.lock to go. */
bool gate_is_free(const History *h, Err *err);

/* Takes the index. Whatever the outcome, gate_leave is next or last. */
bool gate_enter(History *h, Gate *g, Err *err);
/* Takes the branch, with the commit it shall lead to. */
bool gate_take_branch(History *h, Gate *g, const git_oid *to, Err *err);
/* The index prepared as own_index takes its place, then the commit. */
bool gate_pass(History *h, Gate *g, Err *err);
void gate_leave(Gate *g);

/* Adds a line to git's log of where HEAD and the branch have been. */
bool reflog_add(const History *h, const git_oid *to, const git_signature *by, const char *message,
                Err *err);

#endif
