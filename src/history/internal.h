/* What the files of this room share. */
#ifndef THOU_HISTORY_INTERNAL_H
#define THOU_HISTORY_INTERNAL_H

#include "history/history.h"
#include "history/library.h"
#include <sys/stat.h>

typedef struct HeadFolder { /* of the last record */
    const char *name;       /* in the repository, "" is the whole; NULL: none read */
    git_oid id;
    git_odb_object *raw; /* NULL: not there */
} HeadFolder;

/* What a book has: the whole, jobs and parts, and one to spare. */
enum { HEAD_FOLDERS = 4 };

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
    const char *name, *mail;          /* who records; NULL when nobody is named */
    HeadFolder folders[HEAD_FOLDERS]; /* those looked into last: a big one takes long to read */
    unsigned next_folder;             /* whose place the next one takes */
};

/* open.c */
bool may_record(History *h, Err *err);
/* Paths: into the repository, and on the disk. */
const char *repo_path(const History *h, Arena *a, const char *path);
const char *disk_path(const History *h, Arena *a, const char *path);

/* head.c: HEAD and the last record */
bool head_read(History *h, const char **branch, bool *born, git_oid *head, Err *err);
bool head_tree(History *h, git_tree **out, Err *err); /* NULL when the branch has no commit */
/* A folder as last recorded ("" is the whole) in the bytes of tree.h, none when it is not. h keeps
 * the few read last. */
bool head_folder(History *h, Str folder, Str *out, Err *err);
/* One of those that are kept; false when it is not. */
bool head_folder_by_id(const History *h, const git_oid *id, Str *out);
/* The file at a path of the repository as last recorded; *there says whether there is one. */
bool head_file(History *h, const char *repo_path, git_oid *id, bool *there, Err *err);
/* The kept folders are let go: there is a later record, or an end. */
void head_forget(History *h);

/* status.c */
unsigned file_mode(const History *h, mode_t mode, unsigned recorded);
/* The bytes as git stores them (line ends by .gitattributes); give `out` back with buf_dispose,
 * *stored points into it or is `text`. Refuses paths that a program would have to turn. */
bool to_stored(History *h, const char *repo_path, Str text, git_buf *out, Str *stored, Err *err);

#endif
