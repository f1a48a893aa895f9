#include "history/gate.h"

#include "base/file.h"
#include <errno.h>
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

/* Someone's `git status` holds the index for milliseconds; wait for that, not for a commit's
 * editor. */
enum { WAIT_TIMES = 50, WAIT_NS = 20 * 1000 * 1000 };

static void wait_a_little(void) {
    nanosleep(&(struct timespec){.tv_nsec = WAIT_NS}, NULL);
}

static void gate_name(const History *h, Gate *g) {
    Arena *a = h->arena;
    *g = (Gate){.fd = -1};
    g->own_lock = arena_printf(a, "%sthou.lock", h->git_dir).p;
    g->own_value = arena_printf(a, "%sthou.ref", h->git_dir).p;
    g->own_index = arena_printf(a, "%sthou.index", h->git_dir).p;
    g->index = arena_printf(a, "%sindex", h->git_dir).p;
    g->index_lock = arena_printf(a, "%sindex.lock", h->git_dir).p;
}

static bool same_file(const char *path, const char *other) {
    struct stat a, b;
    return lstat(path, &a) == 0 && lstat(other, &b) == 0 && a.st_dev == b.st_dev &&
           a.st_ino == b.st_ino;
}

/* Removes what a killed thou left. Its locks are known by being hard links to its own files, so
 * that another program's lock is never taken for one; the caller holds the flock, so that the
 * thou that made them is gone. thou.lock holds the name of the branch's lock. */
static void clear_leftovers(const Gate *g) {
    char lock[4096];
    ssize_t n = pread(g->fd, lock, sizeof lock - 1, 0);
    if (n > 0 && lock[n - 1] == '\n') {
        lock[n - 1] = '\0';
        if (same_file(lock, g->own_value)) unlink(lock);
    }
    unlink(g->own_value);
    unlink(g->own_index);
    char partial[4096]; /* libgit2 writes the index beside its place first */
    (void)snprintf(partial, sizeof partial, "%s.lock", g->own_index);
    unlink(partial);
}

void gate_clear(const History *h) {
    Gate g;
    gate_name(h, &g);
    if (!same_file(g.index_lock, g.own_lock)) return;
    g.fd = open(g.own_lock, O_RDWR | O_CLOEXEC);
    if (g.fd < 0) return; /* not ours to write; reading goes on, recording will say why */
    if (flock(g.fd, LOCK_EX | LOCK_NB) == 0 && same_file(g.index_lock, g.own_lock)) {
        clear_leftovers(&g);
        unlink(g.index_lock);
    }
    close(g.fd);
}

static bool held_by_other(const char *lock, Err *err) {
    return err_set(err, ERR_HISTORY,
                   "%s is there: another git program is at work; wait for it to end, or if none "
                   "is running, remove that file",
                   lock);
}

bool gate_is_free(const History *h, Err *err) {
    Gate g;
    gate_name(h, &g);
    for (int i = 0; i < WAIT_TIMES; i++) {
        if (access(g.index_lock, F_OK) != 0 || same_file(g.index_lock, g.own_lock)) return true;
        wait_a_little();
    }
    return held_by_other(g.index_lock, err);
}

/* A lock as git makes it, for file systems without hard links: a kill leaves it for the person to
 * remove. */
static bool lock_make(const char *own, const char *lock) {
    Arena *a = arena_new();
    Err unread = {0};
    Str text;
    bool ok = file_read(a, own, &text, NULL, &unread);
    int fd = ok ? open(lock, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666) : -1;
    ok = fd >= 0 && file_write_all(fd, text) && fsync(fd) == 0;
    int why = errno;
    if (fd >= 0) close(fd);
    if (fd >= 0 && !ok) unlink(lock);
    arena_free(a);
    errno = why;
    return ok;
}

/* Puts `own` also under the name `lock`, unless that is there: at once with its contents, and
 * recognisable as ours. */
static bool lock_take(const char *own, const char *lock, Err *err) {
    for (int i = 0; i < WAIT_TIMES; i++) {
        if (link(own, lock) == 0) return true;
        bool no_links = errno == EPERM || errno == EOPNOTSUPP || errno == EXDEV || errno == EMLINK;
        if (no_links && lock_make(own, lock)) return true;
        if (errno != EEXIST) return err_errno(err, ERR_HISTORY, "%s can't be made", lock);
        wait_a_little();
    }
    return held_by_other(lock, err);
}

static bool own_lock_take(Gate *g, Err *err) {
    g->fd = open(g->own_lock, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (g->fd < 0) return err_errno(err, ERR_HISTORY, "%s can't be written", g->own_lock);
    for (int i = 0; flock(g->fd, LOCK_EX | LOCK_NB) != 0; i++) {
        if (errno != EWOULDBLOCK && errno != EINTR) {
            return err_errno(err, ERR_HISTORY, "%s can't be locked", g->own_lock);
        }
        if (i == WAIT_TIMES) {
            return err_set(err, ERR_HISTORY,
                           "another thou is recording in this repository: wait for it to end");
        }
        wait_a_little();
    }
    return true;
}

bool gate_enter(History *h, Gate *g, Err *err) {
    gate_name(h, g);
    g->branch = arena_printf(h->arena, "%s%s", h->common, h->branch).p;
    g->branch_lock = arena_printf(h->arena, "%s.lock", g->branch).p;
    if (!own_lock_take(g, err)) return false;
    clear_leftovers(g);
    /* may be a link to it already, left by a thou that was killed: then it is ours as it is */
    if (!same_file(g->index_lock, g->own_lock) && !lock_take(g->own_lock, g->index_lock, err)) {
        return false;
    }
    g->index_held = true;
    Str name = arena_printf(h->arena, "%s\n", g->branch_lock);
    if (ftruncate(g->fd, 0) != 0 || lseek(g->fd, 0, SEEK_SET) != 0 ||
        !file_write_all(g->fd, name) || fsync(g->fd) != 0) {
        return err_errno(err, ERR_HISTORY, "%s can't be written", g->own_lock);
    }
    return true;
}

static bool value_write(const History *h, const Gate *g, const git_oid *to, Err *err) {
    char line[HISTORY_ID + 1];
    struct stat st;
    h->git.oid_tostr(line, HISTORY_ID, to);
    line[HISTORY_ID - 1] = '\n';
    /* readable by whom HEAD is: repositories are shared by groups */
    Str head = arena_printf(h->arena, "%sHEAD", h->git_dir);
    mode_t mode = stat(head.p, &st) == 0 ? st.st_mode & 0666 : 0644;
    int fd = open(g->own_value, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    bool ok = fd >= 0 && file_write_all(fd, (Str){line, HISTORY_ID}) && fchmod(fd, mode) == 0 &&
              fsync(fd) == 0;
    if (!ok) err_errno(err, ERR_HISTORY, "%s can't be written", g->own_value);
    if (fd >= 0) close(fd);
    return ok;
}

bool gate_take_branch(History *h, Gate *g, const git_oid *to, Err *err) {
    const char *slash = strrchr(g->branch, '/');
    Str folder = arena_printf(h->arena, "%.*s", (int)(slash - g->branch), g->branch);
    if (!value_write(h, g, to, err) || !file_mkdirs(folder.p, err) ||
        !lock_take(g->own_value, g->branch_lock, err)) {
        return false;
    }
    g->branch_held = true;
    const char *branch;
    bool born;
    git_oid at;
    if (!head_read(h, &branch, &born, &at, err)) return false;
    if (branch && strcmp(branch, h->branch) == 0 && born == h->born &&
        memcmp(&at, &h->head, sizeof at) == 0) {
        return true;
    }
    return err_set(err, ERR_CHANGED,
                   "something else was recorded in %s in the meantime: nothing was recorded; "
                   "start again",
                   h->book);
}

bool gate_pass(History *h, Gate *g, Err *err) {
    if (rename(g->own_index, g->index) != 0 || !file_sync_folder(g->index)) {
        return err_errno(err, ERR_HISTORY, "%s can't be put in its place", g->index);
    }
    /* here a kill leaves the files staged and not recorded: sound, and the next record's work */
    if (rename(g->branch_lock, g->branch) != 0) {
        return err_errno(err, ERR_HISTORY, "%s can't be put in its place", g->branch);
    }
    g->branch_held = false;
    if (!file_sync_folder(g->branch)) {
        return err_errno(err, ERR_HISTORY, "%s is recorded but may not outlive a power cut",
                         h->book);
    }
    return true;
}

void gate_leave(Gate *g) {
    if (g->fd < 0) return;
    if (g->branch_held) unlink(g->branch_lock);
    if (g->index_held) {
        unlink(g->own_value);
        unlink(g->own_index);
        unlink(g->index_lock); /* last: until then leftovers are known by it */
    }
    close(g->fd);
    g->fd = -1;
}

/* git's rule (core.logAllRefUpdates): kept in a repository with a working folder, unless switched
 * off; a log that exists is kept up all the same. */
static bool reflog_append(const History *h, const char *base, const char *name, Str line,
                          Err *err) {
    int wanted = 1;
    h->git.config_get_bool(&wanted, h->config, "core.logallrefupdates");
    const char *path = arena_printf(h->arena, "%slogs/%s", base, name).p;
    if (!wanted && !file_exists(path)) return true;
    const char *slash = strrchr(path, '/');
    Str folder = arena_printf(h->arena, "%.*s", (int)(slash - path), path);
    if (!file_mkdirs(folder.p, err)) return false;
    int fd = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    bool ok = fd >= 0 && file_write_all(fd, line);
    if (!ok) err_errno(err, ERR_HISTORY, "%s can't be written", path);
    if (fd >= 0) close(fd);
    return ok;
}

bool reflog_add(const History *h, const git_oid *to, const git_signature *by, const char *message,
                Err *err) {
    char was[HISTORY_ID], now[HISTORY_ID];
    git_oid none = {{0}};
    h->git.oid_tostr(was, sizeof was, h->born ? &h->head : &none);
    h->git.oid_tostr(now, sizeof now, to);
    int minutes = by->when.offset < 0 ? -by->when.offset : by->when.offset;
    Str line = arena_printf(h->arena, "%s %s %s <%s> %lld %c%02d%02d\tcommit%s: %.*s\n", was, now,
                            by->name, by->email, (long long)by->when.time,
                            by->when.offset < 0 ? '-' : '+', minutes / 60, minutes % 60,
                            h->born ? "" : " (initial)", (int)strcspn(message, "\r\n"), message);
    return reflog_append(h, h->git_dir, "HEAD", line, err) &&
           reflog_append(h, h->common, h->branch, line, err);
}
