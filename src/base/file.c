#include "base/file.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sys/stat.h>
#include <unistd.h>

static FileStamp stamp_of(const struct stat *st) {
    return (FileStamp){
        .device = st->st_dev,
        .inode = st->st_ino,
        .size = (uint64_t)st->st_size,
        .mtime_ns = (int64_t)st->st_mtim.tv_sec * 1000000000 + st->st_mtim.tv_nsec,
        .ctime_ns = (int64_t)st->st_ctim.tv_sec * 1000000000 + st->st_ctim.tv_nsec,
    };
}

bool file_stamp(const char *path, FileStamp *out, Err *err) {
    struct stat st;
    if (stat(path, &st) != 0) return err_errno(err, ERR_IO, "cannot look at '%s'", path);
    *out = stamp_of(&st);
    return true;
}

bool file_stamp_eq(const FileStamp *a, const FileStamp *b) {
    return a->device == b->device && a->inode == b->inode && a->size == b->size &&
           a->mtime_ns == b->mtime_ns && a->ctime_ns == b->ctime_ns;
}

bool file_exists(const char *path) {
    struct stat st;
    return stat(path, &st) == 0;
}

/* Reads until `want` bytes or the end of the file; -1 with errno on a failure. */
static ssize_t read_up_to(int fd, char *p, size_t want) {
    size_t got = 0;
    while (got < want) {
        ssize_t n = read(fd, p + got, want - got);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) return -1;
        if (n == 0) break;
        got += (size_t)n;
    }
    return (ssize_t)got;
}

static bool too_big(const char *path, Err *err) {
    return err_set(err, ERR_LIMIT, "'%s' is larger than %zu bytes, the most thou reads", path,
                   FILE_MAX);
}

/* A pipe, or a file that does not know its size: in pieces until the end. */
static bool read_stream(Arena *a, int fd, const char *path, Str *out, Err *err) {
    enum { PIECE = 1 << 16 };
    Buf text = {0};
    char *piece = arena_alloc(a, PIECE);
    bool ok = false;
    ssize_t n;
    while ((n = read_up_to(fd, piece, PIECE)) > 0) {
        if (text.n + (size_t)n > FILE_MAX) {
            too_big(path, err);
            goto done;
        }
        buf_add(&text, (Str){piece, (size_t)n});
    }
    if (n < 0) {
        err_errno(err, ERR_IO, "cannot read '%s'", path);
        goto done;
    }
    if (text.failed) {
        err_set(err, ERR_LIMIT, "'%s' does not fit into memory", path);
        goto done;
    }
    *out = arena_str(a, buf_str(&text));
    ok = true;
done:
    buf_release(&text);
    return ok;
}

/* A regular file whose size is known; it must hold just that, before and after. */
static bool read_whole(Arena *a, int fd, const char *path, const struct stat *before, Str *out,
                       Err *err) {
    size_t size = (size_t)before->st_size;
    struct stat after;
    char *p = arena_bare_array(a, size + 1, 1);
    p[size] = '\0';
    ssize_t got = read_up_to(fd, p, size);
    if (got < 0 || fstat(fd, &after) != 0) return err_errno(err, ERR_IO, "cannot read '%s'", path);
    FileStamp was = stamp_of(before), is = stamp_of(&after);
    if ((size_t)got != size || !file_stamp_eq(&was, &is))
        return err_set(err, ERR_CHANGED, "'%s' was written while it was read: try again", path);
    *out = (Str){p, size};
    return true;
}

bool file_read(Arena *a, const char *path, Str *out, FileStamp *stamp, Err *err) {
    struct stat st;
    bool ok = false;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (fd < 0 || fstat(fd, &st) != 0) {
        err_errno(err, ERR_IO, "cannot open '%s'", path);
        goto done;
    }
    if (S_ISDIR(st.st_mode)) {
        err_set(err, ERR_IO, "'%s' is a folder, a file is wanted", path);
        goto done;
    }
    if (st.st_size > (off_t)FILE_MAX) {
        too_big(path, err);
        goto done;
    }
    ok = S_ISREG(st.st_mode) && st.st_size > 0 ? read_whole(a, fd, path, &st, out, err)
                                               : read_stream(a, fd, path, out, err);
    if (ok && stamp) *stamp = stamp_of(&st);
done:
    if (fd >= 0) close(fd);
    return ok;
}

bool file_mkdirs(const char *path, Err *err) {
    char part[PATH_MAX];
    size_t n = strlen(path);
    if (n == 0 || n >= sizeof part)
        return err_set(err, ERR_IO, "the folder '%.200s' has no name, or too long a one", path);
    memcpy(part, path, n + 1);
    for (size_t i = 1; i <= n; i++) {
        if (part[i] != '/' && part[i] != '\0') continue;
        char was = part[i];
        part[i] = '\0';
        if (mkdir(part, 0777) != 0 && errno != EEXIST)
            return err_errno(err, ERR_IO, "cannot make the folder '%s'", part);
        part[i] = was;
    }
    struct stat st;
    if (stat(path, &st) == 0 && S_ISDIR(st.st_mode)) return true;
    return err_set(err, ERR_IO, "'%s' is there already and is no folder", path);
}
