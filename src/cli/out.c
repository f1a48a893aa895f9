#include "cli/out.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { PIECE = 1 << 16, WIDTH_DEFAULT = 80, WIDTH_LEAST = 20, WIDTH_MOST = 1000 };

bool wants_colour(int fd) {
    const char *none = getenv("NO_COLOR"), *term = getenv("TERM");
    if (none && none[0]) return false;
    if (!term || strcmp(term, "dumb") == 0) return false;
    return isatty(fd);
}

unsigned out_width(int fd) {
    struct winsize size;
    unsigned width = 0;
    const char *columns = getenv("COLUMNS");
    for (; columns && is_digit(*columns) && width < WIDTH_MOST; columns++)
        width = width * 10 + (unsigned)(*columns - '0');
    if (width == 0 && ioctl(fd, TIOCGWINSZ, &size) == 0) width = size.ws_col;
    if (width == 0) return WIDTH_DEFAULT;
    return width < WIDTH_LEAST ? WIDTH_LEAST : width > WIDTH_MOST ? WIDTH_MOST : width;
}

void out_init(Out *o, int fd) {
    *o =
        (Out){.fd = fd, .terminal = isatty(fd), .colour = wants_colour(fd), .width = out_width(fd)};
}

TextStyle out_style(const Out *o) {
    return (TextStyle){.width = o->terminal ? (int)o->width : 0, .colour = o->colour};
}

void out_release(Out *o) {
    buf_release(&o->buf);
}

void out_flush(Out *o) {
    Str rest = buf_str(&o->buf);
    if (o->buf.failed && !o->failed) {
        o->failed = true;
        o->reason = ENOMEM;
    }
    while (rest.n && !o->failed) {
        ssize_t n = write(o->fd, rest.p, rest.n);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) {
            o->failed = true;
            o->gone = errno == EPIPE;
            o->reason = errno;
            break;
        }
        rest = str_skip(rest, (size_t)n);
    }
    buf_clear(&o->buf);
}

void out_settle(Out *o) {
    if (o->buf.n >= PIECE || o->buf.failed) out_flush(o);
}

void out_add(Out *o, Str s) {
    buf_add(&o->buf, s);
    out_settle(o);
}

bool out_finish(Out *o, Err *err) {
    out_flush(o);
    if (!o->failed) return true;
    if (o->gone) return false;
    errno = o->reason;
    return err_errno(err, ERR_IO, "the answer could not be written whole");
}
