/*
 * Slices: a pointer and a length into text that somebody else owns (a source file, an arena, a
 * literal). Never NUL-terminated unless a comment says so; a slice with n == 0 may have p == NULL.
 */
#ifndef THOU_BASE_STR_H
#define THOU_BASE_STR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

typedef struct Str {
    const char *p;
    size_t n;
} Str;

#define STR(literal) ((Str){"" literal, sizeof(literal) - 1})
static const Str str_none = {0};     /* the empty slice */
#define STR_ARG(s) (int)(s).n, (s).p /* for "%.*s" */

Str str_from(const char *cstr); /* NULL gives the empty slice */
int str_cmp(Str a, Str b);      /* byte order, like memcmp, shorter first */
bool str_ends(Str s, Str suffix);
/* Offset of the first `needle` in s at or after `from`; SIZE_MAX when there is none. */
size_t str_find(Str s, Str needle, size_t from);
/* What stands before the byte at `at` (all of it when at is SIZE_MAX), and behind it (nothing
 * then); both trimmed: for cutting a text at what str_find found. */
Str str_before(Str s, size_t at);
Str str_after(Str s, size_t at);
/* Takes the next word (run of non-blanks) off the front of *s; empty at the end. */
Str str_word(Str *s);

static inline bool is_blank(char c) {
    return c == ' ' || c == '\t';
}
static inline bool is_digit(char c) {
    return c >= '0' && c <= '9';
}
static inline bool is_alpha(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
static inline char to_lower(char c) {
    return (c >= 'A' && c <= 'Z') ? (char)(c + 32) : c;
}

/* Short and everywhere: the compiler sees them whole. */

/* Byte for byte. */
static inline bool str_eq(Str a, Str b) {
    return a.n == b.n && (a.n == 0 || memcmp(a.p, b.p, a.n) == 0);
}

/* Byte for byte. */
static inline bool str_starts(Str s, Str prefix) {
    return s.n >= prefix.n && str_eq((Str){s.p, prefix.n}, prefix);
}

bool str_ieq_bytes(const char *a, const char *b, size_t n);
/* ASCII case folded. */
static inline bool str_ieq(Str a, Str b) {
    return a.n == b.n && str_ieq_bytes(a.p, b.p, a.n);
}

/* Without its first n bytes (n is clamped). */
static inline Str str_skip(Str s, size_t n) {
    if (n > s.n) n = s.n;
    return n ? (Str){s.p + n, s.n - n} : s;
}

/* Without blanks and tabs (and CR) at both ends. */
static inline Str str_trim(Str s) {
    while (s.n && (is_blank(s.p[0]) || s.p[0] == '\r'))
        s = (Str){s.p + 1, s.n - 1};
    while (s.n && (is_blank(s.p[s.n - 1]) || s.p[s.n - 1] == '\r'))
        s.n--;
    return s;
}

/* What stands in [p, end), without blanks and tabs at both ends. */
static inline Str str_between(const char *p, const char *end) {
    while (p < end && is_blank(*p))
        p++;
    while (end > p && is_blank(end[-1]))
        end--;
    return (Str){p, (size_t)(end - p)};
}

/* Offset of the first c at or after `from`; SIZE_MAX when there is none. */
static inline size_t str_find_char(Str s, char c, size_t from) {
    if (from >= s.n) return SIZE_MAX;
    const char *hit = memchr(s.p + from, (unsigned char)c, s.n - from);
    return hit ? (size_t)(hit - s.p) : SIZE_MAX;
}

#endif
