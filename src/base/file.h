/*
 * Reading whole files, and writing them so that a power cut leaves the old text or the new one.
 */
#ifndef THOU_BASE_FILE_H
#define THOU_BASE_FILE_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"

typedef struct FileStamp { /* what tells that a file is still the one that was read */
    uint64_t device, inode, size;
    int64_t mtime_ns, ctime_ns;
} FileStamp;

bool file_stamp(const char *path, FileStamp *out, Err *err);
bool file_stamp_eq(const FileStamp *a, const FileStamp *b);

/* Reads the whole of a regular file (or a pipe) into the arena, a NUL behind it. Files of more
 * than FILE_MAX bytes are ERR_LIMIT. stamp may be NULL. */
#define FILE_MAX ((size_t)1 << 31)
bool file_read(Arena *a, const char *path, Str *out, FileStamp *stamp, Err *err)
    __attribute__((warn_unused_result));

/* Puts `text` in the place of the file through a temporary file beside it, fsync and rename, and
 * fsyncs the folder. Permissions of an existing file are kept; a symbolic link is followed. With
 * `was` the file must still be the one stamped (ERR_CHANGED otherwise); with `was` NULL it must not
 * exist yet. The temporary file never outlives a failure; what a
 * write that was killed left in the folder is swept out by the next. */
bool file_write(const char *path, Str text, const FileStamp *was, Err *err)
    __attribute__((warn_unused_result));

/* Its name: of the process, and a number below FILE_TEMPS; a pattern for all of them. */
#define FILE_TEMP ".thou-%ld-%u.new"
#define FILE_TEMP_GLOB ".thou-*.new"
enum { FILE_TEMPS = 100 };
/* Takes out of a folder the temporary files of processes that run no more, and those that are a day
 * old; never one that is being written. */
void file_sweep(const char *folder, int64_t now_ns);

/* Steps of it, for files that are written otherwise; errno says why one failed. */
bool file_write_all(int fd, Str text) __attribute__((warn_unused_result));
/* The name that `path` has in its folder outlives a power cut. */
bool file_sync_folder(const char *path) __attribute__((warn_unused_result));

bool file_mkdirs(const char *path, Err *err); /* like mkdir -p */
bool file_exists(const char *path);

#endif
