#include "base/err.h"
#include <errno.h>
#include <stdarg.h>

bool err_set(Err *err, ErrKind kind, const char *format, ...) {
    if (!err || err->kind != ERR_NONE) return false;
    va_list args;
    va_start(args, format);
    (void)vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    err->kind = kind;
    return false;
}

bool err_errno(Err *err, ErrKind kind, const char *format, ...) {
    int number = errno; /* before anything can change it */
    if (!err || err->kind != ERR_NONE) return false;
    char reason[128];
    const char *why = strerror_r(number, reason, sizeof reason);
    va_list args;
    va_start(args, format);
    (void)vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    size_t n = strlen(err->text);
    (void)snprintf(err->text + n, sizeof err->text - n, ": %s", why);
    err->kind = kind;
    return false;
}
