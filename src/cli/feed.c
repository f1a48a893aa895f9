#include "cli/feed.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LINE_MOST = 4096 };

void feed_keyboard(Feed *f) {
    *f = (Feed){.fd = STDIN_FILENO, .terminal = isatty(STDIN_FILENO), .name = "standard input"};
}

static bool speed_of(const char *baud, speed_t *out) {
    static const struct {
        const char *name;
        speed_t speed;
    } speeds[] = {{"1200", B1200},   {"2400", B2400},   {"4800", B4800},   {"9600", B9600},
                  {"19200", B19200}, {"38400", B38400}, {"57600", B57600}, {"115200", B115200}};
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
        if (strcmp(speeds[i].name, baud) != 0) continue;
        *out = speeds[i].speed;
        return true;
    }
    return false;
}

/* Raw: a gauge does not edit its lines, and nothing is echoed to it. */
static bool set_line(Feed *f, const char *baud, Err *err) {
    speed_t speed;
    if (tcgetattr(f->fd, &f->old) != 0)
        return err_errno(err, ERR_IO, "cannot look at the line of '%s'", f->name);
    struct termios raw = f->old;
    cfmakeraw(&raw);
    raw.c_cflag |= CLOCAL | CREAD;
    if (baud && speed_of(baud, &speed) && cfsetspeed(&raw, speed) != 0)
        return err_errno(err, ERR_IO, "'%s' cannot run at %s", f->name, baud);
    if (tcsetattr(f->fd, TCSANOW, &raw) != 0)
        return err_errno(err, ERR_IO, "cannot set the line of '%s'", f->name);
    f->restore = true;
    return true;
}

bool feed_gauge(Feed *f, const char *path, const char *baud, Err *err) {
    struct stat st;
    *f = (Feed){.fd = -1, .gauge = true, .name = path};
    int fd = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) return err_errno(err, ERR_IO, "cannot read from '%s'", path);
    f->fd = fd;
    if (fstat(fd, &st) != 0) return err_errno(err, ERR_IO, "cannot look at '%s'", path);
    if (S_ISDIR(st.st_mode)) return err_set(err, ERR_IO, "'%s' is a folder", path);
    f->device = S_ISCHR(st.st_mode) || S_ISFIFO(st.st_mode);
    if (isatty(fd)) return set_line(f, baud, err);
    if (!baud) return true;
    return err_set(err, ERR_USAGE, "'%s' is no serial line: leave --speed out", path);
}

void feed_close(Feed *f) {
    if (f->restore) tcsetattr(f->fd, TCSANOW, &f->old);
    if (f->fd > STDERR_FILENO) close(f->fd);
    f->fd = -1;
    buf_release(&f->pending);
}

/* A line ends in LF, CR or both: gauges do as they like. */
static bool take_line(Feed *f, Arena *a, Str *line) {
    Str text = buf_str(&f->pending);
    size_t end = 0;
    while (end < text.n && text.p[end] != '\n' && text.p[end] != '\r')
        end++;
    bool whole = end < text.n || (f->ended && text.n) || text.n > LINE_MOST;
    if (!whole) return false;
    *line = arena_str(a, (Str){text.p, end});
    size_t used = end;
    if (used < text.n)
        used += text.p[used] == '\r' && used + 1 < text.n && text.p[used + 1] == '\n' ? 2 : 1;
    Str rest = arena_str(a, str_skip(text, used));
    buf_clear(&f->pending);
    buf_add(&f->pending, rest);
    f->line++;
    return true;
}

static void read_more(Feed *f) {
    char piece[1024];
    ssize_t n = read(f->fd, piece, sizeof piece);
    if (n > 0) buf_add(&f->pending, (Str){piece, (size_t)n});
    if (n == 0 || (n < 0 && errno != EINTR && errno != EAGAIN)) f->ended = true;
}

bool feed_line(Feed *feeds, int count, Arena *a, Str *line, Feed **from) {
    for (;;) {
        struct pollfd wait[4];
        nfds_t open = 0;
        for (int i = 0; i < count; i++) {
            if (feeds[i].fd < 0) continue;
            if (take_line(&feeds[i], a, line)) {
                *from = &feeds[i];
                return true;
            }
            if (!feeds[i].ended) wait[open++] = (struct pollfd){feeds[i].fd, POLLIN, 0};
        }
        if (open == 0) return false;
        if (poll(wait, open, -1) < 0 && errno != EINTR) return false;
        for (int i = 0; i < count; i++) {
            for (nfds_t k = 0; k < open; k++)
                if (wait[k].fd == feeds[i].fd && wait[k].revents) read_more(&feeds[i]);
        }
    }
}
