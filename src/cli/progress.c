#include "cli/progress.h"

#include <unistd.h>

/* Narrower than the narrowest terminal that is spoken of: a line that breaks cannot be wiped. */
enum { WIDE_MOST = 38 };

static int64_t now_ms(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

void progress_start(Progress *p, const char *of) {
    *p = (Progress){.on = isatty(STDERR_FILENO), .of = of, .started_ms = now_ms()};
}

/* Blanks behind it and not an escape sequence: the terminal may be a plain one. */
static void put_line(Progress *p, const char *text, int wide) {
    char line[2 * WIDE_MOST + 8];
    int n = snprintf(line, sizeof line, "\r%-*.*s%s", p->wide, wide, text, wide ? "" : "\r");
    ssize_t written = write(STDERR_FILENO, line, (size_t)n);
    (void)written;
    p->wide = wide;
}

void progress_wipe(Progress *p) {
    if (p->wide) put_line(p, "", 0);
}

/* Only when there is something to wait for, and not more often than the eye can follow. */
void progress_show(Progress *p, uint32_t done, uint32_t all) {
    enum { FIRST_MS = 500, EVERY_MS = 100 };
    if (!p->on || all == 1) return;
    int64_t now = now_ms();
    if (now - p->started_ms < FIRST_MS || now - p->shown_ms < EVERY_MS) return;
    char text[WIDE_MOST + 1];
    int n = all ? snprintf(text, sizeof text, "%u of %u %s", done, all, p->of)
                : snprintf(text, sizeof text, "%u %s", done, p->of);
    put_line(p, text, n > WIDE_MOST ? WIDE_MOST : n);
    p->shown_ms = now;
}

void progress_told(void *progress, uint32_t done, uint32_t all) {
    progress_show(progress, done, all);
}
