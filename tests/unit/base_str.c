#include "base/hash.h"
#include "base/source.h"
#include "base/str.h"
#include "base/str_index.h"
#include "base/utf8.h"
#include "unit/rows.h"

static void compares(void **state) {
    (void)state;
    Str none = {NULL, 0};
    assert_true(str_eq(none, STR("")));
    assert_true(str_eq(str_from(NULL), none));
    assert_false(str_eq(STR("in"), STR("In")));
    assert_true(str_ieq(STR("Chamber"), STR("cHAMBER")));
    assert_false(str_ieq(STR("["), STR("{"))); /* 32 apart, no letters */
    assert_true(str_cmp(STR("a"), STR("b")) < 0);
    assert_true(str_cmp(STR("ab"), STR("a")) > 0);
    assert_true(str_cmp(STR("\xFF"), STR("a")) > 0);
    assert_int_equal(str_cmp(none, STR("")), 0);
    assert_true(str_starts(STR("limit chamber"), STR("limit ")));
    assert_false(str_starts(STR("li"), STR("limit")));
    assert_true(str_ends(STR("HL-1450.part"), STR(".part")));
    assert_false(str_ends(STR("part"), STR(".part")));
    assert_true(str_starts(none, none) && str_ends(none, none));
}

static void cuts(void **state) {
    (void)state;
    assert_true(str_eq(str_trim(STR(" \t44.8 cc \r")), STR("44.8 cc")));
    assert_int_equal(str_trim(STR(" \t\r ")).n, 0);
    assert_int_equal(str_skip(STR("abc"), 99).n, 0);
    assert_int_equal(str_skip((Str){NULL, 0}, 1).n, 0);
    Str rest = STR("  chamber\t3  ");
    assert_true(str_eq(str_word(&rest), STR("chamber")));
    assert_true(str_eq(str_word(&rest), STR("3")));
    assert_int_equal(str_word(&rest).n, 0);
    assert_int_equal(str_word(&rest).n, 0);
}

static void finds(void **state) {
    (void)state;
    Str s = STR("a = b = c");
    assert_int_equal(str_find(s, STR(" = "), 0), 1);
    assert_int_equal(str_find(s, STR(" = "), 1), 1);
    assert_int_equal(str_find(s, STR(" = "), 2), 5);
    assert_true(str_find(s, STR(" = "), 6) == SIZE_MAX);
    assert_true(str_find(s, STR(" = "), 100) == SIZE_MAX);
    assert_int_equal(str_find(s, STR(""), 4), 4);
    assert_true(str_find((Str){NULL, 0}, STR("x"), 0) == SIZE_MAX);
    assert_int_equal(str_find_char(s, 'c', 0), 8);
    assert_true(str_find_char(s, 'c', 9) == SIZE_MAX);
    assert_true(str_find_char((Str){NULL, 0}, 'c', 0) == SIZE_MAX);
}

typedef struct Utf8Row {
    const char *name; /* the text */
    size_t bad;       /* SIZE_MAX: all is well */
    size_t width;
} Utf8Row;

/* Ill-formed sequences: the Unicode Standard, chapter 3, table 3-7 (from memory). */
static const Utf8Row utf8_rows[] = {
    {"", SIZE_MAX, 0},
    {"spring load", SIZE_MAX, 11},
    {"\u00B5m", SIZE_MAX, 2},
    {"e\u0301", SIZE_MAX, 1},
    {"\u4E2D\u6587", SIZE_MAX, 4},
    {"\uFEFFjob", SIZE_MAX, 3},
    {"\U0001F527", SIZE_MAX, 2},
    {"\uFFFD", SIZE_MAX, 1},
    {"twelve bytes\x80", 12, 13},
    {"ab\xC3", 2, 3},
    {"\xC0\xAF", 0, 2},
    {"\xE0\x80\x80", 0, 3},
    {"\xED\xA0\x80", 0, 3},
    {"\xF4\x90\x80\x80", 0, 4},
    {"\xF5\x80\x80\x80", 0, 4},
    {"\xE2\x82", 0, 2},
    {"\xFF\xFE", 0, 2},
};

static void utf8_row(void **state) {
    const Utf8Row *row = *state;
    assert_true(utf8_bad(str_from(row->name)) == row->bad);
    assert_int_equal(utf8_width(str_from(row->name)), row->width);
}

/* A bad byte is found wherever it stands to the words of eight. */
static void finds_bad_bytes_anywhere(void **state) {
    (void)state;
    char text[40];
    for (size_t at = 0; at < sizeof text; at++) {
        for (int bad = 0; bad < 2; bad++) {
            memset(text, 'a', sizeof text);
            text[at] = bad ? '\x80' : '\0';
            assert_int_equal(utf8_bad((Str){text, sizeof text}), at);
        }
    }
    memset(text, 0x01, sizeof text);
    assert_true(utf8_bad((Str){text, sizeof text}) == SIZE_MAX);
}

static void reads_every_character(void **state) {
    (void)state;
    static const unsigned first[] = {0, 0xC0, 0xE0, 0xF0};
    for (uint32_t c = 1; c <= 0x10FFFF; c++) {
        char text[4];
        size_t n = 0, len;
        if (c >= 0xD800 && c < 0xE000) continue;
        if (c < 0x80)
            text[n++] = (char)c;
        else {
            size_t tails = c < 0x800 ? 1 : c < 0x10000 ? 2 : 3;
            text[n++] = (char)(first[tails] | c >> 6 * tails);
            while (tails--)
                text[n++] = (char)(0x80 | (c >> 6 * tails & 0x3F));
        }
        if (utf8_next((Str){text, n}, &len) != c || len != n) fail_msg("U+%04X", c);
    }
}

static void clips(void **state) {
    (void)state;
    Str s = STR("a\u4E2De\u0301b");
    assert_int_equal(utf8_clip(s, 0).n, 0);
    assert_int_equal(utf8_clip(s, 1).n, 1);
    assert_int_equal(utf8_clip(s, 2).n, 1); /* no half of a wide one */
    assert_int_equal(utf8_clip(s, 3).n, 4);
    assert_int_equal(utf8_clip(s, 4).n, 7); /* with its accent */
    assert_int_equal(utf8_clip(s, 99).n, s.n);
}

typedef struct PositionRow {
    const char *name, *text;
    uint32_t off, line, column;
    const char *shown; /* that line */
} PositionRow;

static const PositionRow position_rows[] = {
    {"empty", "", 0, 1, 1, ""},
    {"first", "ab\ncd\n", 0, 1, 1, "ab"},
    {"end of line", "ab\ncd\n", 2, 1, 3, "ab"},
    {"second", "ab\ncd\n", 3, 2, 1, "cd"},
    {"end of file", "ab\ncd\n", 6, 2, 4, "cd"},
    {"past the end", "ab\ncd", 99, 2, 3, "cd"},
    {"CRLF", "ab\r\ncd\r\n", 4, 2, 1, "cd"},
    {"only ends", "\n\n\n", 2, 3, 1, ""},
    {"characters, not bytes", "5 \u00B5m x", 6, 1, 6, "5 \u00B5m x"},
    {"a tab is one", "\tx", 1, 1, 2, "\tx"},
    {"a mark at the front is none", "\xEF\xBB\xBFjob", 3, 1, 1, "\xEF\xBB\xBFjob"},
};

static void position_row(void **state) {
    const PositionRow *row = *state;
    Arena *a = arena_new();
    Source s = {.text = str_from(row->text)};
    source_map(&s, a);
    Position p = source_position(&s, row->off);
    assert_int_equal(p.line, row->line);
    assert_int_equal(p.column, row->column);
    assert_true(str_eq(source_line(&s, row->line), str_from(row->shown)));
    assert_int_equal(source_line(&s, 0).n, 0);
    assert_int_equal(source_line(&s, s.lines + 1).n, 0);
    const uint32_t *starts = s.starts;
    source_map(&s, a);
    assert_ptr_equal(starts, s.starts);
    arena_free(a);
}

/* Every offset of a text of odd lines, against counting from the front. */
static void positions_are_what_counting_gives(void **state) {
    (void)state;
    Arena *a = arena_new();
    char text[3000];
    for (size_t i = 0; i < sizeof text; i++)
        text[i] = i * i % 7 == 1 ? '\n' : 'a';
    Source s = {.text = {text, sizeof text}};
    source_map(&s, a);
    uint32_t line = 1, column = 1;
    for (uint32_t off = 0; off < sizeof text; off++) {
        Position p = source_position(&s, off);
        assert_int_equal(p.line, line);
        assert_int_equal(p.column, column);
        if (text[off] == '\n') line++, column = 0;
        column++;
    }
    arena_free(a);
}

/* Stored in the index: a change of these values asks for a new version of the index. */
static void hash_is_stable(void **state) {
    (void)state;
    assert_true(hash_bytes(STR("")) == 0xb8371b5e9326a9e3u);
    assert_true(hash_bytes(STR("chamber 1 = 44.8 cc\n")) == 0x882c2fa28094cb52u);
}

/* Every change of one bit, and of one bit in each of two bytes eight apart, changes the hash and
 * about half of its bits. */
static void hash_spreads(void **state) {
    (void)state;
    unsigned char text[32] = "spring load #4 = 183 lbf @ 1.72";
    Str s = {(const char *)text, sizeof text};
    uint64_t plain = hash_bytes(s);
    long flipped = 0, changes = 0;
    for (size_t i = 0; i < 24; i++) {
        for (int bit = 0; bit < 8; bit++) {
            for (int other = -1; other < 8; other++) {
                text[i] ^= (unsigned char)(1 << bit);
                if (other >= 0) text[i + 8] ^= (unsigned char)(1 << other);
                uint64_t h = hash_bytes(s);
                assert_true(h != plain);
                flipped += __builtin_popcountll(h ^ plain);
                changes++;
                text[i] ^= (unsigned char)(1 << bit);
                if (other >= 0) text[i + 8] ^= (unsigned char)(1 << other);
            }
        }
    }
    assert_true(flipped > changes * 31 && flipped < changes * 33);
}

static void hash_knows_lengths(void **state) {
    (void)state;
    static const char zeros[20];
    for (size_t i = 0; i < sizeof zeros; i++)
        for (size_t j = 0; j < i; j++)
            assert_true(hash_bytes((Str){zeros, i}) != hash_bytes((Str){zeros, j}));
}

static void numbers_texts(void **state) {
    (void)state;
    Arena *a = arena_new();
    StrIndex x = {0};
    assert_int_equal(str_index_find(&x, STR("#1")), STR_INDEX_NONE);
    enum { TEXTS = 500 };
    for (int round = 0; round < 3; round++) { /* the second time they are known */
        for (uint32_t i = 0; i < TEXTS; i++)
            assert_int_equal(str_index_add(&x, a, arena_printf(a, "#%u", i)), i);
        assert_int_equal(x.count, TEXTS);
        if (round == 1) str_index_clear(&x);
    }
    for (uint32_t i = 0; i < TEXTS; i++)
        assert_int_equal(str_index_find(&x, arena_printf(a, "#%u", i)), i);
    assert_int_equal(str_index_find(&x, STR("#500")), STR_INDEX_NONE);
    assert_true(str_eq(x.texts[7], STR("#7")));
    assert_int_equal(str_index_add(&x, a, STR("")), TEXTS);
    assert_int_equal(str_index_find(&x, (Str){NULL, 0}), TEXTS);
    arena_free(a);
}

int main(void) {
    static Rows all;
    rows_add(&all, "compares", compares, NULL);
    rows_add(&all, "cuts", cuts, NULL);
    rows_add(&all, "finds", finds, NULL);
    ROWS(&all, utf8_rows, utf8_row);
    rows_add(&all, "bad bytes anywhere", finds_bad_bytes_anywhere, NULL);
    rows_add(&all, "every character", reads_every_character, NULL);
    rows_add(&all, "clips", clips, NULL);
    ROWS(&all, position_rows, position_row);
    rows_add(&all, "positions by counting", positions_are_what_counting_gives, NULL);
    rows_add(&all, "the hash is stable", hash_is_stable, NULL);
    rows_add(&all, "the hash spreads", hash_spreads, NULL);
    rows_add(&all, "the hash knows lengths", hash_knows_lengths, NULL);
    rows_add(&all, "numbers texts", numbers_texts, NULL);
    return rows_run(&all, "base_str");
}
