/* Whether what was written without waiting for the disk got there: the mark beside the index.
 *
 * A change of the index is not synced: killed at any moment, the system still has all that was
 * written, and the rollback journal mends it. Only a machine that stopped may have lost some of it.
 * So before the first such change a mark with the name of this start of the machine is put beside
 * the index, and that is synced. A mark of another start says: make it anew. It is taken away once
 * all has been synced: when the index is made anew, or when nobody changed it for a while. */
#include "index/internal.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

enum { START_MOST = 64 };

/* The kernel names each of its starts; empty where it does not. */
static Str this_start(char room[static START_MOST]) {
    int fd = open("/proc/sys/kernel/random/boot_id", O_RDONLY | O_CLOEXEC);
    ssize_t n = fd < 0 ? 0 : read(fd, room, START_MOST);
    if (fd >= 0) close(fd);
    return str_trim((Str){room, n > 0 ? (size_t)n : 0});
}

static const char *mark_path(const Index *x, Arena *a) {
    return arena_printf(a, "%s" TRUST_SUFFIX, x->path).p;
}

Trust trust_read(const Index *x, Arena *a) {
    char now[START_MOST], then[START_MOST];
    int fd = open(mark_path(x, a), O_RDONLY | O_CLOEXEC);
    if (fd < 0) return TRUST_SYNCED;
    ssize_t n = read(fd, then, sizeof then);
    close(fd);
    Str start = this_start(now);
    bool same = n >= 0 && start.n && str_eq(str_trim((Str){then, (size_t)n}), start);
    return same ? TRUST_RUNNING : TRUST_LOST;
}

bool trust_mark(const Index *x, Arena *a) {
    char room[START_MOST];
    Err quiet = {0};
    Str start = this_start(room);
    switch (trust_read(x, a)) {
    case TRUST_RUNNING: return true;
    case TRUST_SYNCED: return start.n && file_write(mark_path(x, a), start, NULL, &quiet);
    case TRUST_LOST: break;
    }
    return false;
}

static bool sync_path(const char *path) {
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return false;
    bool ok = fsync(fd) == 0;
    close(fd);
    return ok;
}

/* The folder too: a journal that was deleted must not come back, nor an index that was replaced. */
void trust_settle(const Index *x, const char *folder, Arena *a) {
    const char *mark = mark_path(x, a);
    if (file_exists(mark) && sync_path(x->path) && sync_path(folder)) (void)unlink(mark);
}

bool trust_is_old(const Index *x, int64_t now_ns, Arena *a) {
    enum { QUIET_S = 60 };
    struct stat st;
    return stat(mark_path(x, a), &st) == 0 && now_ns / 1000000000 - st.st_mtim.tv_sec > QUIET_S;
}
