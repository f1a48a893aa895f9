/* What writes that were killed left behind. */
#include "base/file.h"

#include "base/str.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* The process that wrote a temporary file; 0 for every name that file_write does not make. */
static pid_t writer_of(const char *name) {
    static const char start[] = ".thou-";
    char same[64], *end;
    const char *number = name + sizeof start - 1;
    if (strncmp(name, start, sizeof start - 1) != 0 || !is_digit(*number)) return 0;
    long pid = strtol(number, &end, 10);
    if (pid <= 0 || pid > INT32_MAX || end[0] != '-' || !is_digit(end[1])) return 0;
    unsigned long n = strtoul(end + 1, &end, 10);
    if (n >= FILE_TEMPS) return 0;
    (void)snprintf(same, sizeof same, FILE_TEMP, pid, (unsigned)n);
    return strcmp(same, name) == 0 ? (pid_t)pid : 0;
}

/* The lock is held as long as a write goes on, by another machine too. Where a file system has no
 * locks a process that is not here may run elsewhere. */
static bool is_left(int fd, pid_t writer, int64_t now_ns) {
    static const int64_t day_ns = 86400LL * 1000000000;
    struct stat st;
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode)) return false;
    int64_t age = now_ns - ((int64_t)st.st_mtim.tv_sec * 1000000000 + st.st_mtim.tv_nsec);
    bool locks = flock(fd, LOCK_EX | LOCK_NB) == 0;
    if (!locks && errno == EWOULDBLOCK) return false;
    bool ended = locks && kill(writer, 0) != 0 && errno == ESRCH;
    return ended || age > day_ns;
}

void file_sweep(const char *folder, int64_t now_ns) {
    DIR *dir = opendir(folder);
    if (!dir) return;
    for (struct dirent *d; (d = readdir(dir));) {
        pid_t writer = writer_of(d->d_name);
        if (!writer) continue;
        int fd =
            openat(dirfd(dir), d->d_name, O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
        if (fd < 0) continue;
        if (is_left(fd, writer, now_ns)) (void)unlinkat(dirfd(dir), d->d_name, 0);
        close(fd);
    }
    closedir(dir);
}
