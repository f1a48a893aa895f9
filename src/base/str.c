#include "base/str.h"

Str str_from(const char *cstr) {
    return cstr ? (Str){cstr, strlen(cstr)} : (Str){NULL, 0};
}

bool str_ieq_bytes(const char *a, const char *b, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (to_lower(a[i]) != to_lower(b[i])) return false;
    return true;
}

int str_cmp(Str a, Str b) {
    size_t n = a.n < b.n ? a.n : b.n;
    int order = n ? memcmp(a.p, b.p, n) : 0;
    if (order) return order;
    return (a.n > b.n) - (a.n < b.n);
}

bool str_ends(Str s, Str suffix) {
    return s.n >= suffix.n && str_eq(str_skip(s, s.n - suffix.n), suffix);
}

/* Of a few bytes: memmem gets ready for long ones first. */
static const char *find_few(const char *p, size_t n, Str few) {
    const char *last = p + (n - few.n);
    while (p <= last && (p = memchr(p, few.p[0], (size_t)(last - p) + 1))) {
        if (memcmp(p, few.p, few.n) == 0) return p;
        p++;
    }
    return NULL;
}

size_t str_find(Str s, Str needle, size_t from) {
    enum { FEW = 4 };
    if (from > s.n || needle.n > s.n - from) return SIZE_MAX;
    if (needle.n == 0) return from;
    const char *hit = needle.n <= FEW ? find_few(s.p + from, s.n - from, needle)
                                      : memmem(s.p + from, s.n - from, needle.p, needle.n);
    return hit ? (size_t)(hit - s.p) : SIZE_MAX;
}

Str str_word(Str *s) {
    size_t start = 0;
    while (start < s->n && is_blank(s->p[start]))
        start++;
    size_t end = start;
    while (end < s->n && !is_blank(s->p[end]))
        end++;
    Str word = {start < s->n ? s->p + start : s->p, end - start};
    *s = str_skip(*s, end);
    return word;
}

Str str_before(Str s, size_t at) {
    return str_trim((Str){s.p, at < s.n ? at : s.n});
}

Str str_after(Str s, size_t at) {
    return at < s.n ? str_trim(str_skip(s, at + 1)) : (Str){s.p + s.n, 0};
}
