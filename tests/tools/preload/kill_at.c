/*
 * Preloaded under a program, counts the calls that change something on the disk, and at the Nth
 *   KILL_AT=N  ends the process as SIGKILL does, before the call;
 *   KILL_HALF=N  the same, in the middle of the Nth write: half of its bytes are there;
 *   FAIL_AT=N  lets the call fail, as on a full disk.
 * COUNT_TO=FILE gets the number of calls and that of writes, when the program ends by itself.
 */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <sys/stat.h>
#include <unistd.h>

static _Atomic long calls, writes; /* of all threads: two may take turns otherwise the next time */

static long wanted(const char *name) {
    const char *text = getenv(name);
    return text ? strtol(text, NULL, 10) : -1;
}

/* Counts one call; true when it shall fail. */
static int at_call(void) {
    long mine = ++calls;
    if (mine == wanted("KILL_AT")) kill(getpid(), SIGKILL);
    if (mine != wanted("FAIL_AT")) return 0;
    errno = ENOSPC;
    return 1;
}

__attribute__((destructor)) static void report(void) {
    const char *path = getenv("COUNT_TO");
    if (!path) return;
    FILE *out = fopen(path, "w");
    if (!out) return;
    fprintf(out, "%ld %ld\n", (long)calls, (long)writes);
    fclose(out);
}

static void *next(const char *name) {
    return dlsym(RTLD_NEXT, name);
}

/* int NAME(PARAMETERS): one row a call. */
#define INT_CALL(name, parameters, arguments)   \
    int name parameters;                        \
    int name parameters {                       \
        int(*real) parameters;                  \
        void *found = next(#name);              \
        memcpy(&real, &found, sizeof real);     \
        return at_call() ? -1 : real arguments; \
    }

INT_CALL(rename, (const char *from, const char *to), (from, to))
INT_CALL(renameat2, (int a, const char *from, int b, const char *to, unsigned how),
         (a, from, b, to, how))
INT_CALL(link, (const char *from, const char *to), (from, to))
INT_CALL(unlink, (const char *path), (path))
INT_CALL(rmdir, (const char *path), (path))
INT_CALL(mkdir, (const char *path, mode_t mode), (path, mode))
INT_CALL(chmod, (const char *path, mode_t mode), (path, mode))
INT_CALL(fchmod, (int fd, mode_t mode), (fd, mode))
INT_CALL(fsync, (int fd), (fd))
INT_CALL(fdatasync, (int fd), (fd))
INT_CALL(syncfs, (int fd), (fd))
INT_CALL(ftruncate, (int fd, off_t size), (fd, size))
INT_CALL(ftruncate64, (int fd, off_t size), (fd, size))

ssize_t write(int fd, const void *bytes, size_t n) {
    ssize_t (*real)(int, const void *, size_t);
    void *found = next("write");
    memcpy(&real, &found, sizeof real);
    if (fd == 1 || fd == 2) return real(fd, bytes, n);
    if (++writes == wanted("KILL_HALF")) {
        if (real(fd, bytes, n / 2) >= 0) kill(getpid(), SIGKILL);
    }
    return at_call() ? -1 : real(fd, bytes, n);
}

#define OPEN_CALL(name)                                                       \
    int name(const char *path, int flags, ...);                               \
    int name(const char *path, int flags, ...) {                              \
        int (*real)(const char *, int, ...);                                  \
        void *found = next(#name);                                            \
        memcpy(&real, &found, sizeof real);                                   \
        va_list args;                                                         \
        va_start(args, flags);                                                \
        unsigned mode = flags & O_CREAT ? va_arg(args, unsigned) : 0;         \
        va_end(args);                                                         \
        return (flags & O_CREAT) && at_call() ? -1 : real(path, flags, mode); \
    }

OPEN_CALL(open)
OPEN_CALL(open64)

#define MKSTEMP_CALL(name)                  \
    int name(char *path);                   \
    int name(char *path) {                  \
        int (*real)(char *);                \
        void *found = next(#name);          \
        memcpy(&real, &found, sizeof real); \
        return at_call() ? -1 : real(path); \
    }

MKSTEMP_CALL(mkstemp)
MKSTEMP_CALL(mkstemp64)
