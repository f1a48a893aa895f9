/*
 * A growing text, built piece by piece. After a failure (out of memory, over BUF_MAX) it does
 * nothing more and `failed` stays set: check it once, at the end. Owned by whoever declared it;
 * `buf_release` gives the memory back and may be called twice.
 */
#ifndef THOU_BASE_BUF_H
#define THOU_BASE_BUF_H

#include "base/str.h"
#include <stdarg.h>

#define BUF_MAX ((size_t)1 << 32)

typedef struct Buf {
    char *p; /* always NUL-terminated once anything was added */
    size_t n;
    size_t room;
    bool failed;
} Buf;

void buf_release(Buf *b);
void buf_clear(Buf *b); /* empty again, memory kept, failure forgotten */
void buf_add(Buf *b, Str s);
void buf_puts(Buf *b, const char *cstr);
void buf_putc(Buf *b, char c);
void buf_fill(Buf *b, char c, size_t times);
void buf_printf(Buf *b, const char *format, ...) __attribute__((format(printf, 2, 3)));
void buf_vprintf(Buf *b, const char *format, va_list args) __attribute__((format(printf, 2, 0)));
/* A number with a fixed count of decimals, rounded as number_steps does, always with '.', whatever
 * the locale; never "-0.00". */
void buf_fixed(Buf *b, double v, int places);
/* The shortest decimal that reads back as the same double ("%.17g" at the longest); locale-proof.
 */
void buf_double(Buf *b, double v);
Str buf_str(const Buf *b);

/* Escaped for where it goes. */
void buf_json(Buf *b, Str s); /* with its quotes; bytes that are no UTF-8 become U+FFFD */
void buf_html(Buf *b, Str s); /* text or attribute value: & < > " ' */
void buf_csv(Buf *b, Str s);  /* quoted only when needed (RFC 4180) */

#endif
