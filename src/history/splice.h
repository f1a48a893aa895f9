/*
 * A folder with one file put in, replaced or taken out, made from its bytes as they are stored.
 * libgit2 would make an object of every name for that, ten thousand of them. Inside this room only.
 */
#ifndef THOU_HISTORY_SPLICE_H
#define THOU_HISTORY_SPLICE_H

#include "history/internal.h"

/* `tree` NULL: there is none yet. *done is false, and nothing was written, where this is a case
 * for git_tree_create_updated: a folder that becomes empty, a file where the path wants a folder.
 */
bool tree_splice(History *h, const git_oid *tree, const git_tree_update *update, git_oid *out,
                 bool *done, Err *err);

#endif
