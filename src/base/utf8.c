#include "base/utf8.h"

enum { REPLACEMENT = 0xFFFD };

static bool is_tail(char c) {
    return ((unsigned char)c & 0xC0) == 0x80;
}

/* How many bytes a character takes that starts with this one; 0 when none can. */
static size_t length_of(unsigned char first) {
    if (first < 0x80) return 1;
    if (first < 0xC2) return 0; /* a tail byte, or a longer form of ASCII */
    if (first < 0xE0) return 2;
    if (first < 0xF0) return 3;
    return first < 0xF5 ? 4 : 0;
}

uint32_t utf8_next(Str s, size_t *len) {
    static const unsigned char first_bits[] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t n = length_of((unsigned char)s.p[0]);
    *len = 1;
    if (n == 0 || n > s.n) return REPLACEMENT;
    uint32_t c = (unsigned char)s.p[0] & first_bits[n];
    for (size_t i = 1; i < n; i++) {
        if (!is_tail(s.p[i])) return REPLACEMENT;
        c = c << 6 | ((unsigned char)s.p[i] & 0x3F);
    }
    if (c < least[n] || c > 0x10FFFF || (c >= 0xD800 && c < 0xE000)) return REPLACEMENT;
    *len = n;
    return c;
}

typedef struct Range {
    uint32_t first, last;
} Range;

/* Both from the Unicode character database (general category Mn, Me, Cf; East_Asian_Width W, F),
 * the blocks a shop's text can hold, rounded to whole blocks. */
static const Range no_width[] = {
    {0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x064B, 0x065F}, {0x0E34, 0x0E3A},
    {0x0E47, 0x0E4E}, {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x200B, 0x200F}, {0x202A, 0x202E},
    {0x2060, 0x2064}, {0x20D0, 0x20F0}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF},
};
static const Range wide[] = {
    {0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0x33FF},   {0x3400, 0x4DBF},
    {0x4E00, 0x9FFF},   {0xA000, 0xA4CF},   {0xA960, 0xA97F},   {0xAC00, 0xD7A3},
    {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},   {0xFF01, 0xFF60},   {0xFFE0, 0xFFE6},
    {0x1F300, 0x1F64F}, {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD},
};

static bool in_ranges(uint32_t c, const Range *ranges, size_t count) {
    for (size_t i = 0; i < count; i++) /* a handful, and only for what is not Latin */
        if (c >= ranges[i].first && c <= ranges[i].last) return true;
    return false;
}

static size_t width_of(uint32_t c) {
    if (c < 0x20 || c == 0x7F) return 0;
    if (c < 0x300) return 1;
    if (in_ranges(c, no_width, sizeof no_width / sizeof *no_width)) return 0;
    return in_ranges(c, wide, sizeof wide / sizeof *wide) ? 2 : 1;
}

size_t utf8_width(Str s) {
    size_t columns = 0;
    while (s.n) {
        size_t len;
        columns += width_of(utf8_next(s, &len));
        s = str_skip(s, len);
    }
    return columns;
}

Str utf8_clip(Str s, size_t columns) {
    size_t at = 0, taken = 0;
    while (at < s.n) {
        size_t len;
        size_t width = width_of(utf8_next(str_skip(s, at), &len));
        if (width > columns - taken) break;
        taken += width;
        at += len;
    }
    return (Str){s.p, at};
}

/* Whether all bytes of a block are ASCII and none is NUL: the compiler looks at many at once. */
static bool plain_block(const char *p, size_t n) {
    unsigned char odd = 0;
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)p[i];
        odd |= c | (unsigned char)(c - 1);
    }
    return odd < 0x80;
}

/* How many bytes at the start are ASCII and not NUL, in steps of a word. */
static size_t plain_bytes(Str s) {
    enum { BLOCK = 256 };
    const uint64_t ones = 0x0101010101010101u, highs = 0x8080808080808080u;
    size_t at = 0;
    while (s.n - at >= BLOCK && plain_block(s.p + at, BLOCK))
        at += BLOCK;
    for (; s.n - at >= sizeof(uint64_t); at += sizeof(uint64_t)) {
        uint64_t word;
        memcpy(&word, s.p + at, sizeof word);
        if ((word | (word - ones)) & highs) break; /* a high bit, or (nearly always) a zero byte */
    }
    return at;
}

size_t utf8_bad(Str s) {
    size_t at = 0;
    while (at < s.n) {
        at += plain_bytes(str_skip(s, at));
        if (at == s.n) break;
        size_t len;
        uint32_t c = utf8_next(str_skip(s, at), &len);
        if (c == 0 || (c == REPLACEMENT && len == 1)) return at;
        at += len;
    }
    return SIZE_MAX;
}

static bool odd_blank(uint32_t c) {
    return c == 0xA0 || c == 0xAD || (c >= 0x2000 && c <= 0x200F) || c == 0x202F || c == 0x205F ||
           c == 0x2060 || c == 0x3000 || c == 0xFEFF;
}

size_t utf8_odd_blank(Str s, size_t from, size_t *len) {
    for (size_t at = from; at < s.n;) {
        if ((unsigned char)s.p[at] < 0x80) {
            at++;
            continue;
        }
        if (odd_blank(utf8_next(str_skip(s, at), len))) return at;
        at += *len;
    }
    return SIZE_MAX;
}
