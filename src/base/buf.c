#include "base/buf.h"
#include "base/clocale.h"
#include "base/number.h"
#include "base/utf8.h"
#include <math.h>

enum { ROOM_FIRST = 256 };

#define STEPS_MOST 1e15 /* whole numbers of that size keep all their digits in a double */

void buf_release(Buf *b) {
    free(b->p);
    *b = (Buf){0};
}

void buf_clear(Buf *b) {
    b->n = 0;
    b->failed = false;
    if (b->p) b->p[0] = '\0';
}

/* Room for `more` bytes and a NUL; false (and failed) when there is none to be had. */
static bool reserve(Buf *b, size_t more) {
    if (b->failed) return false;
    if (b->room > b->n && more < b->room - b->n) return true;
    if (more >= BUF_MAX || b->n >= BUF_MAX - more) goto failed;
    size_t need = b->n + more + 1;
    size_t room = b->room ? b->room : ROOM_FIRST;
    while (room < need)
        room *= 2;
    char *p = realloc(b->p, room);
    if (!p) goto failed;
    b->p = p;
    b->room = room;
    return true;
failed:
    b->failed = true;
    return false;
}

void buf_add(Buf *b, Str s) {
    if (!reserve(b, s.n)) return;
    if (s.n) memcpy(b->p + b->n, s.p, s.n);
    b->n += s.n;
    b->p[b->n] = '\0';
}

void buf_puts(Buf *b, const char *cstr) {
    buf_add(b, str_from(cstr));
}

void buf_putc(Buf *b, char c) {
    buf_add(b, (Str){&c, 1});
}

void buf_fill(Buf *b, char c, size_t times) {
    if (!reserve(b, times)) return;
    memset(b->p + b->n, c, times);
    b->n += times;
    b->p[b->n] = '\0';
}

void buf_printf(Buf *b, const char *format, ...) {
    va_list args;
    va_start(args, format);
    buf_vprintf(b, format, args);
    va_end(args);
}

void buf_vprintf(Buf *b, const char *format, va_list args) {
    va_list again;
    va_copy(again, args);
    if (!reserve(b, 0)) goto done;
    int n = vsnprintf(b->p + b->n, b->room - b->n, format, args);
    if (n < 0) {
        b->p[b->n] = '\0';
        b->failed = true;
        goto done;
    }
    if ((size_t)n >= b->room - b->n) { /* it was cut off: once more with room */
        b->p[b->n] = '\0';
        if (!reserve(b, (size_t)n)) goto done;
        (void)vsnprintf(b->p + b->n, b->room - b->n, format, again);
    }
    b->n += (size_t)n;
done:
    va_end(again);
}

/* A minus before nothing but zeros says less than no minus. */
static bool is_negative_zero(const char *text) {
    return text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1);
}

void buf_fixed(Buf *b, double v, int places) {
    if (b->failed) return;
    if (places < 0) places = 0;
    size_t start = b->n;
    double steps = number_steps(v, (unsigned)places);
    if (fabs(steps) < STEPS_MOST) v = steps * number_tenth((unsigned)places);
    locale_t was = uselocale(clocale());
    buf_printf(b, "%.*f", places, v);
    uselocale(was);
    if (b->failed || !is_negative_zero(b->p + start)) return;
    memmove(b->p + start, b->p + start + 1, b->n - start); /* its NUL too */
    b->n--;
}

void buf_double(Buf *b, double v) {
    char text[40] = "";
    locale_t was = uselocale(clocale());
    for (int digits = 1; digits <= 17; digits++) {
        (void)snprintf(text, sizeof text, "%.*g", digits, v);
        if (strtod_l(text, NULL, clocale()) == v) break;
    }
    uselocale(was);
    buf_puts(b, text);
}

Str buf_str(const Buf *b) {
    return (Str){b->p, b->n};
}

/* How JSON writes a byte below 0x80 that cannot stand for itself; NULL when it can. */
static const char *json_escape(unsigned char c, char scratch[8]) {
    switch (c) {
    case '"': return "\\\"";
    case '\\': return "\\\\";
    case '\n': return "\\n";
    case '\r': return "\\r";
    case '\t': return "\\t";
    default: break;
    }
    if (c >= 0x20) return NULL;
    (void)snprintf(scratch, 8, "\\u%04x", c);
    return scratch;
}

void buf_json(Buf *b, Str s) {
    buf_putc(b, '"');
    while (s.n && !b->failed) {
        char scratch[8];
        size_t len;
        uint32_t c = utf8_next(s, &len);
        const char *escape = c < 0x80 ? json_escape((unsigned char)c, scratch) : NULL;
        if (escape)
            buf_puts(b, escape);
        else if (c == 0xFFFD)
            buf_puts(b, "\xEF\xBF\xBD");
        else
            buf_add(b, (Str){s.p, len});
        s = str_skip(s, len);
    }
    buf_putc(b, '"');
}

void buf_html(Buf *b, Str s) {
    for (size_t i = 0; i < s.n; i++) {
        switch (s.p[i]) {
        case '&': buf_puts(b, "&amp;"); break;
        case '<': buf_puts(b, "&lt;"); break;
        case '>': buf_puts(b, "&gt;"); break;
        case '"': buf_puts(b, "&quot;"); break;
        case '\'': buf_puts(b, "&#39;"); break;
        default: buf_putc(b, s.p[i]);
        }
    }
}

static bool csv_needs_quotes(Str s) {
    for (size_t i = 0; i < s.n; i++)
        if (strchr(",\"\r\n", s.p[i]) && s.p[i]) return true;
    return false;
}

void buf_csv(Buf *b, Str s) {
    if (!csv_needs_quotes(s)) {
        buf_add(b, s);
        return;
    }
    buf_putc(b, '"');
    for (size_t i = 0; i < s.n; i++) {
        if (s.p[i] == '"') buf_putc(b, '"');
        buf_putc(b, s.p[i]);
    }
    buf_putc(b, '"');
}
