/*
 * Folders as git stores them, read from their bytes: libgit2 would make an object of every name,
 * ten thousand of them. Inside this room only.
 */
#ifndef THOU_HISTORY_TREE_H
#define THOU_HISTORY_TREE_H

#include "history/internal.h"

typedef struct TreeEntry {
    unsigned mode;  /* as stored: 0 is not there */
    Str name;       /* a '\0' follows it */
    const char *id; /* 20 bytes */
    Str whole;
} TreeEntry;

/* Takes the next entry off a tree: "MODE NAME\0" and 20 bytes of id, again and again. False at the
 * end, and with *bad where it is damaged. */
bool tree_next(Str *rest, TreeEntry *out, bool *bad);
/* The entry of that name; mode 0 when there is none. False when the tree is damaged. */
bool tree_find(Str tree, Str name, TreeEntry *out);
/* The order of a tree's entries: by bytes, a folder as if its name ended in '/'. */
int tree_order(const TreeEntry *a, const TreeEntry *b);

/* e may be NULL. */
static inline bool tree_is_folder(const TreeEntry *e) {
    return e && e->mode == GIT_FILEMODE_TREE;
}
/* A repository within the repository is none. */
static inline bool tree_is_file(const TreeEntry *e) {
    return e && e->mode != GIT_FILEMODE_TREE && e->mode != GIT_FILEMODE_COMMIT;
}

/* A folder by its id; give *raw back with odb_object_free. */
bool tree_read(const History *h, const git_oid *id, git_odb_object **raw, Err *err);
Str tree_bytes(const Git *git, git_odb_object *raw); /* empty of NULL */
bool tree_damaged(const History *h, Err *err);       /* says so; false */

#endif
