#include "base/err.h"
#include <errno.h>
#include <stdarg.h>

void err_fill(Err *err, ErrKind kind, const char *format, ...) {
    if (!err || err->kind != ERR_NONE) return;
    va_list args;
    va_start(args, format);
    (void)vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    err->kind = kind;
}

void err_fill_errno(Err *err, ErrKind kind, const char *format, ...) {
    int number = errno; /* before anything can change it */
    if (!err || err->kind != ERR_NONE) return;
    char reason[128];
    const char *why = strerror_r(number, reason, sizeof reason);
    va_list args;
    va_start(args, format);
    (void)vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    size_t n = strlen(err->text);
    (void)snprintf(err->text + n, sizeof err->text - n, ": %s", why);
    err->kind = kind;
}
