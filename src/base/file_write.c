#include "base/file.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* One write on its way: where the text goes in the end, and where it is until then. */
typedef struct Writing {
    const char *shown;     /* the path as messages name it */
    char target[PATH_MAX]; /* the file itself, symbolic links followed */
    char folder[PATH_MAX];
    char temp[PATH_MAX]; /* empty while there is none */
    struct stat old;     /* of the target, when it exists */
    bool exists;
    int lock;        /* a second descriptor of temp, open until all is done; -1 */
    int64_t made_ns; /* when temp was written, by the clock of its file system */
} Writing;

/* The folder part of a path; "." when it has none. False (and errno) when it is too long. */
static bool folder_of(const char *path, char folder[PATH_MAX]) {
    const char *slash = strrchr(path, '/');
    const char *from = slash ? path : ".";
    size_t n = slash && slash > path ? (size_t)(slash - path) : 1;
    if (n >= PATH_MAX) {
        errno = ENAMETOOLONG;
        return false;
    }
    memcpy(folder, from, n);
    folder[n] = '\0';
    return true;
}

static bool find_target(Writing *w, Err *err) {
    struct stat st;
    w->exists = stat(w->shown, &w->old) == 0;
    if (!w->exists && errno != ENOENT)
        return err_errno(err, ERR_IO, "cannot look at '%s'", w->shown);
    if (!w->exists && lstat(w->shown, &st) == 0)
        return err_set(err, ERR_IO, "'%s' is a link to a file that is not there", w->shown);
    if (w->exists) {
        if (!realpath(w->shown, w->target))
            return err_errno(err, ERR_IO, "cannot follow '%s'", w->shown);
    } else {
        if (strlen(w->shown) >= sizeof w->target)
            return err_set(err, ERR_IO, "the path '%.200s...' is too long", w->shown);
        memcpy(w->target, w->shown, strlen(w->shown) + 1);
    }
    return folder_of(w->target, w->folder) ||
           err_errno(err, ERR_IO, "cannot look at '%s'", w->shown);
}

/* Whether the target may be replaced: still the file that was read, and one that may be written. */
static bool may_replace(const Writing *w, const FileStamp *was, Err *err) {
    if (!was && w->exists)
        return err_set(err, ERR_CHANGED, "'%s' exists already: nothing was written", w->shown);
    if (!was) return true;
    if (!w->exists)
        return err_set(err, ERR_CHANGED, "'%s' is gone since it was read: nothing was written",
                       w->shown);
    if (!S_ISREG(w->old.st_mode))
        return err_set(err, ERR_IO, "'%s' is no regular file: nothing was written", w->shown);
    if (faccessat(AT_FDCWD, w->target, W_OK, AT_EACCESS) != 0)
        return err_errno(err, ERR_IO, "'%s' may not be written", w->shown);
    return true;
}

static bool is_unchanged(const Writing *w, const FileStamp *was, Err *err) {
    FileStamp now;
    if (!was) return true;
    Err gone = {0};
    if (file_stamp(w->target, &now, &gone) && file_stamp_eq(&now, was)) return true;
    return err_set(err, ERR_CHANGED,
                   "'%s' was changed by someone else since it was read: nothing was written, "
                   "try again",
                   w->shown);
}

/* Opens a file of our own beside the target. Made by open and not by mkstemp, so that a new file
 * gets the permissions the person's umask gives. */
static int open_temp(Writing *w, Err *err) {
    mode_t mode = w->exists ? 0600 : 0666; /* nobody else reads it before its permissions are set */
    for (unsigned i = 0; i < FILE_TEMPS; i++) {
        int n = snprintf(w->temp, sizeof w->temp, "%s/" FILE_TEMP, w->folder, (long)getpid(), i);
        if (n < 0 || (size_t)n >= sizeof w->temp)
            errno = ENAMETOOLONG;
        else {
            int fd = open(w->temp, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
            if (fd >= 0) return fd;
        }
        if (errno != EEXIST) break;
    }
    w->temp[0] = '\0';
    err_errno(err, ERR_IO, "cannot write in the folder '%s'", w->folder);
    return -1;
}

bool file_write_all(int fd, Str text) {
    while (text.n) {
        ssize_t n = write(fd, text.p, text.n);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) return false;
        text = str_skip(text, (size_t)n);
    }
    return true;
}

/* Owner first: a change of owner takes set-id bits away. An owner that we may not give (a shared
 * folder) is not worth refusing the write; permissions are. */
static bool keep_permissions(int fd, const Writing *w) {
    struct stat st;
    if (!w->exists) return true;
    if (fstat(fd, &st) != 0) return false;
    if (st.st_uid != w->old.st_uid || st.st_gid != w->old.st_gid) {
        int owner = fchown(fd, w->old.st_uid, w->old.st_gid);
        (void)owner;
    }
    return fchmod(fd, w->old.st_mode & 0777) == 0;
}

/* The lock says to file_sweep that the write goes on. The file is closed before it takes the
 * other's place, since only that tells the last failure; so a second descriptor holds the lock. */
static void hold(Writing *w, int fd) {
    (void)flock(fd, LOCK_EX | LOCK_NB);
    w->lock = fcntl(fd, F_DUPFD_CLOEXEC, 0);
}

static bool fill_temp(Writing *w, Str text, Err *err) {
    struct stat st;
    int fd = open_temp(w, err);
    if (fd < 0) return false;
    hold(w, fd);
    bool ok = file_write_all(fd, text) && keep_permissions(fd, w) && fsync(fd) == 0;
    if (ok && fstat(fd, &st) == 0)
        w->made_ns = (int64_t)st.st_mtim.tv_sec * 1000000000 + st.st_mtim.tv_nsec;
    if (!ok) err_errno(err, ERR_IO, "cannot write '%s'", w->shown);
    if (close(fd) != 0 && ok) ok = err_errno(err, ERR_IO, "cannot write '%s'", w->shown);
    return ok;
}

/* A new file takes its name only if the name is still free. Not every file system can do that in
 * one step by renaming; a hard link can. */
static bool take_free_name(Writing *w, Err *err) {
    if (renameat2(AT_FDCWD, w->temp, AT_FDCWD, w->target, RENAME_NOREPLACE) == 0) {
        w->temp[0] = '\0';
        return true;
    }
    bool unsupported = errno == EINVAL || errno == ENOSYS;
    if (unsupported && link(w->temp, w->target) == 0)
        return true; /* the temp is removed at the end */
    if (errno == EEXIST)
        return err_set(err, ERR_CHANGED, "'%s' exists already: nothing was written", w->shown);
    return err_errno(err, ERR_IO, "cannot write '%s'", w->shown);
}

static bool take_place(Writing *w, Err *err) {
    if (!w->exists) return take_free_name(w, err);
    if (rename(w->temp, w->target) != 0)
        return err_errno(err, ERR_IO, "cannot replace '%s'", w->shown);
    w->temp[0] = '\0';
    return true;
}

/* Some file systems sync no folders (EINVAL). */
bool file_sync_folder(const char *path) {
    char folder[PATH_MAX];
    if (!folder_of(path, folder)) return false;
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool ok = fd >= 0 && (fsync(fd) == 0 || errno == EINVAL);
    int why = errno;
    if (fd >= 0) close(fd);
    errno = why;
    return ok;
}

/* The rename itself must survive a power cut. */
static bool keep_name(const Writing *w, Err *err) {
    return file_sync_folder(w->target) ||
           err_errno(err, ERR_IO, "'%s' was written, but its folder could not be synced", w->shown);
}

bool file_write(const char *path, Str text, const FileStamp *was, Err *err) {
    Writing w = {.shown = path, .lock = -1};
    bool ok = find_target(&w, err) && may_replace(&w, was, err) && is_unchanged(&w, was, err) &&
              fill_temp(&w, text, err) &&
              is_unchanged(&w, was, err) && /* again, as late as can be */
              take_place(&w, err) && keep_name(&w, err);
    if (w.temp[0]) unlink(w.temp);
    if (w.lock >= 0) close(w.lock);
    if (ok) file_sweep(w.folder, w.made_ns);
    return ok;
}
