#include "cli/progress.h"

#include <unistd.h>

static int64_t now_ms(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

void progress_start(Progress *p, const char *of) {
    *p = (Progress){.on = isatty(STDERR_FILENO), .of = of, .started_ms = now_ms()};
}

void progress_wipe(Progress *p) {
    if (!p->shown_ms) return;
    /* Blanks and not an escape sequence: the terminal may be a plain one. */
    static const char wipe[] = "\r                              \r";
    ssize_t n = write(STDERR_FILENO, wipe, sizeof wipe - 1);
    (void)n;
    p->shown_ms = 0;
}

/* Only when there is something to wait for, and not more often than the eye can follow. */
void progress_show(Progress *p, uint32_t done, uint32_t all) {
    enum { FIRST_MS = 500, EVERY_MS = 100 };
    if (!p->on || all < 2) return;
    int64_t now = now_ms();
    if (now - p->started_ms < FIRST_MS || now - p->shown_ms < EVERY_MS) return;
    char line[32];
    int n = snprintf(line, sizeof line, "\r%u of %u %.5s", done, all, p->of);
    ssize_t written = write(STDERR_FILENO, line, (size_t)n);
    (void)written;
    p->shown_ms = now;
}
