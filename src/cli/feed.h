/* Lines from the keyboard, a pipe, a file or a gauge that types, whichever comes first. */
#ifndef THOU_CLI_FEED_H
#define THOU_CLI_FEED_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include <termios.h>

typedef struct Feed {
    int fd; /* -1: not in use */
    bool terminal;
    bool gauge;  /* its lines are values only, by the pattern */
    bool device; /* lines come when they come: one that does not fit is passed over */
    bool ended;
    const char *name;
    uint32_t line; /* of the last one handed out */
    Buf pending;
    bool restore; /* a serial line: set back to `old` in the end */
    struct termios old;
} Feed;

void feed_keyboard(Feed *f);
/* A file, a pipe, or a serial or USB device; `baud` NULL: as the line is set. */
bool feed_gauge(Feed *f, const char *path, const char *baud, Err *err)
    __attribute__((warn_unused_result));
void feed_close(Feed *f);

/* The next line of any of them, without its end; *from is whose. False when all have ended. */
bool feed_line(Feed *feeds, int count, Arena *a, Str *line, Feed **from);

#endif
