/*
 * The store of what was recorded when: an ordinary git repository around the book, written and
 * read through libgit2. It knows paths and bytes and nothing of logs. Paths are relative to the
 * book's folder, with '/' between their parts ("jobs/26-014.job").
 *
 * A History is a still picture: the branch's commit is looked up once, when it is opened, and
 * everything is answered from there; recording refuses (ERR_CHANGED) when the branch has moved on
 * in the meantime, and otherwise moves the picture along. No clock and no environment is read
 * here (libgit2 itself finds git's configuration through HOME), so ids follow from what is handed
 * in. Not for use by several threads at once.
 *
 * Errors are ERR_HISTORY unless said otherwise; the text is one sentence with what to do.
 */
#ifndef THOU_HISTORY_HISTORY_H
#define THOU_HISTORY_HISTORY_H

#include "base/arena.h"
#include "base/err.h"

typedef struct History History;

typedef enum HistoryUse {
    HISTORY_READ,   /* works in the middle of a merge and on a detached head too */
    HISTORY_RECORD, /* refused at once where nothing could be recorded */
} HistoryUse;

typedef struct HistorySettings {
    HistoryUse use;
    bool no_system_config; /* leave git's system-wide configuration aside */
    const char *store;     /* a folder for what can be made again (history/trail.h); may be NULL */
    const char *name, *mail; /* for a person git's configuration does not name; may be NULL */
    void (*told)(void *ctx, uint32_t done, uint32_t all); /* how far a long look is; may be NULL */
    void *told_ctx;
} HistorySettings;

/* Makes sure that the folder (which must exist) is in a git repository and that its .gitignore
 * holds `.thou/` and the names of file_write's temporary files: a line is added only when none says
 * so. An enclosing repository is used as it is, unless it ignores the folder; *made says whether a
 * new one was needed. */
bool history_init(const char *book_dir, const HistorySettings *with, bool *made, Err *err);

/* Finds the repository that holds the book's folder: the book may be a subfolder of it, or a
 * linked worktree. Locks left by a thou that was killed are cleared. Give back with
 * history_close. */
bool history_open(const char *book_dir, const HistorySettings *with, History **out, Err *err)
    __attribute__((warn_unused_result));
void history_close(History *h); /* NULL is fine */

/* What the folder holds against the last record. */
typedef enum HistoryChangeKind {
    HISTORY_ADDED,
    HISTORY_CHANGED, /* its bytes, or whether it may be executed */
    HISTORY_DELETED,
    HISTORY_NOT_PLAIN, /* a symbolic link or a folder of that name: it can't be recorded */
} HistoryChangeKind;

typedef struct HistoryChange {
    const char *path;
    HistoryChangeKind kind;
} HistoryChange;

typedef struct HistoryChanges {
    HistoryChange *items; /* by path within each pattern, patterns in the order given */
    size_t count;
} HistoryChanges;

/* Each pattern is a path whose last part may hold `*` and `?` (every name in jobs that ends in
 * .job, say); names that begin with a dot match only a pattern that does. Bytes are read only
 * where what git's index knows of the file (size, times, inode) does not settle it. */
bool history_status(History *h, const char *const *patterns, size_t count, Arena *a,
                    HistoryChanges *out, Err *err) __attribute__((warn_unused_result));

/* Recording. */
enum { HISTORY_ID = 41 }; /* 40 hexadecimal digits and a NUL */

typedef struct HistoryFile {
    const char *path;
    Str text;     /* the bytes that were checked; the file must still hold them */
    bool deleted; /* it must be gone from the folder */
} HistoryFile;

typedef struct HistoryNote {
    const char *message; /* first line: the summary */
    int64_t when;        /* seconds since 1970-01-01 00:00 UTC */
    int offset;          /* of local time from UTC, in minutes */
} HistoryNote;

/* Records these files and no others: what else is changed or staged stays as it is. All or
 * nothing, also when killed at any moment (README.md says how). ERR_CHANGED: a file is no longer
 * what was handed in, or the branch has moved since history_open. */
bool history_record(History *h, const HistoryFile *files, size_t count, const HistoryNote *note,
                    char id[HISTORY_ID], Err *err) __attribute__((warn_unused_result));

/* Whether so many single objects have piled up that `git gc` is worth a word. */
bool history_wants_packing(const History *h);

/* The past of one path. */
typedef struct HistoryVersion {
    char id[HISTORY_ID];   /* the commit */
    char blob[HISTORY_ID]; /* the bytes; empty when deleted */
    bool deleted;          /* this commit took the path away */
    Str name, mail;        /* the author */
    int64_t when;          /* the author's time */
    int offset;            /* minutes from UTC */
    Str message;           /* all of it */
    Str summary;           /* its first line */
} HistoryVersion;

typedef struct HistoryVersions {
    HistoryVersion *items; /* newest first */
    size_t count;
} HistoryVersions;

/* The commits that changed the path, at most `limit` (0: all). Where branches met, a side that
 * did not make the path what it is now is left out. No versions is not an error. */
bool history_versions(History *h, const char *path, size_t limit, Arena *a, HistoryVersions *out,
                      Err *err) __attribute__((warn_unused_result));

/* The records that changed anything in the book's folder, newest first, at most `limit` (0: all).
 * Their blob is empty. */
bool history_records(History *h, size_t limit, Arena *a, HistoryVersions *out, Err *err)
    __attribute__((warn_unused_result));

/* The version in force at `at`: an ISO date (the end of that day), a date and time of day, both
 * in the recorder's local time, or the first four or more digits of a commit's id. ERR_USAGE when
 * there is none. */
bool history_version_at(History *h, const char *path, Str at, Arena *a, HistoryVersion *out,
                        Err *err) __attribute__((warn_unused_result));

/* The bytes of a version; empty for a deletion. */
bool history_bytes(History *h, const HistoryVersion *version, Arena *a, Str *out, Err *err)
    __attribute__((warn_unused_result));

/* The bytes of the path as last recorded; *found is false when it is not in the last record. */
bool history_recorded(History *h, const char *path, Arena *a, Str *out, bool *found, Err *err)
    __attribute__((warn_unused_result));

#endif
