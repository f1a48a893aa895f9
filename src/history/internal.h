/* What the files of this room share. */
#ifndef THOU_HISTORY_INTERNAL_H
#define THOU_HISTORY_INTERNAL_H

#include "history/history.h"
#include "history/library.h"
#include <sys/stat.h>

struct History {
    Git git;
    git_repository *repo;
    git_config *config; /* a snapshot */
    git_odb *odb;
    Arena *arena;        /* the texts below */
    const char *book;    /* the book's folder, resolved, no '/' behind */
    const char *prefix;  /* of the book in the repository: "" or "engines/book/" */
    const char *git_dir; /* of this worktree: HEAD and the index; '/' behind */
    const char *common;  /* what worktrees share: refs and objects; '/' behind */
    const char *branch;  /* full name of the branch HEAD is on; NULL when detached */
    const char *store;   /* see HistorySettings; NULL without */
    void (*told)(void *ctx, uint32_t done, uint32_t all); /* see HistorySettings; may be NULL */
    void *told_ctx;
    bool modes; /* the file system tells what may be executed (core.fileMode) */
    bool born;  /* the branch has a commit: `head` */
    git_oid head;
    const char *name, *mail; /* who records; NULL when nobody is named */
    const char
        *folder_name; /* the folder of the last record looked into last, in the repository, */
    git_tree *folder; /* and its tree: a big one takes long to read. NULL: not there */
};

/* open.c */
bool head_read(History *h, const char **branch, bool *born, git_oid *head, Err *err);
bool head_tree(History *h, git_tree **out, Err *err); /* NULL when the branch has no commit */
bool may_record(History *h, Err *err);
/* A folder as last recorded ("" is the whole), NULL when it is not; h keeps it until the next. */
bool head_folder(History *h, Str folder, const git_tree **out, Err *err);
void head_forget(History *h);
/* The file at a path of the repository as last recorded; *there says whether there is one. */
bool head_file(History *h, const char *repo_path, git_oid *id, bool *there, Err *err);
/* Paths: into the repository, and on the disk. */
const char *repo_path(const History *h, Arena *a, const char *path);
const char *disk_path(const History *h, Arena *a, const char *path);

/* status.c */
unsigned file_mode(const History *h, const struct stat *st, unsigned recorded);
/* The bytes as git stores them (line ends by .gitattributes); give `out` back with buf_dispose,
 * *stored points into it or is `text`. Refuses paths that a program would have to turn. */
bool to_stored(History *h, const char *repo_path, Str text, git_buf *out, Str *stored, Err *err);

#endif
