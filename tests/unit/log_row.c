/*
 * Rows that are taken in one go must come out as they would the long way: a remark behind the line
 * makes the reader take that way, and changes nothing else of it.
 */
#include "log/line.h"
#include "unit/rows.h"

#include <stdio.h>

static Line read_one(LineReader *r, Source *source, const char *text, size_t n) {
    Line line;
    *source = (Source){.path = STR("row.job"), .text = {text, n}};
    line_start(r, source, NULL);
    line_next(r, &line);
    return line;
}

static void assert_same(Str a, Str b) {
    assert_int_equal(a.n, b.n);
    assert_memory_equal(a.p ? a.p : "", b.p ? b.p : "", a.n);
}

/* Whether the line was taken as a plain row. */
static bool compare_ways(const char *text) {
    static LineReader quick, slow;
    Source one, two;
    char remarked[256];
    Line a = read_one(&quick, &one, text, strlen(text));
    bool plain = quick.row_parted;
    if (!plain) return false;
    int n = snprintf(remarked, sizeof remarked, "%s ; remark", text);
    Line b = read_one(&slow, &two, remarked, (size_t)n);
    assert_false(slow.row_parted);
    assert_int_equal(a.kind, LINE_GRID);
    assert_int_equal(b.kind, LINE_GRID);
    assert_false(a.struck || b.struck || a.remark.n);
    assert_false(line_ruled(a.body));
    assert_same(a.body, b.body);
    assert_same(a.whole, str_from(text));
    const GridRow *x = line_row(&quick, &a), *y = line_row(&slow, &b);
    assert_int_equal(x->count, y->count);
    for (uint32_t i = 0; i < x->count; i++) {
        const GridCell *cell = &x->cells[i];
        assert_same(cell->text, y->cells[i].text);
        assert_false(y->cells[i].plain);
        if (!cell->plain) continue;
        Number read;
        assert_int_equal(number_read(cell->text, &read), NUMBER_OK);
        assert_int_equal(read.len, cell->text.n);
        assert_true(read.value == cell->number.value);
        assert_int_equal(read.len, cell->number.len);
        assert_int_equal(read.places, cell->number.places);
        assert_false(read.fraction || cell->number.fraction);
    }
    return true;
}

static void test_random_rows(void **state) {
    (void)state;
    static const char *parts[] = {"I",    "#",    "x",   "1", "7",  "12", "1.720",
                                  ".030", "2026", " | ", "|", " ",  "-",  "\t",
                                  "? ",   " in ", "..",  ",", "in", "1/2"};
    uint32_t seed = 1, plain = 0;
    for (int k = 0; k < 400000; k++) {
        char text[128];
        size_t n = 0;
        /* a row, and then something in it that may be wrong */
        n += (size_t)snprintf(text, sizeof text, "%s%u", k % 3 ? "I" : "#", seed >> 24);
        for (int i = 0; i < 7; i++) {
            seed = seed * 1664525 + 1013904223;
            const char *bar = seed & 0x300 ? " | " : "";
            uint32_t which = (seed >> 16) % (k % 4 ? 9 : sizeof parts / sizeof *parts);
            n += (size_t)snprintf(text + n, sizeof text - n, "%s%s", bar, parts[which]);
        }
        plain += compare_ways(text);
    }
    assert_true(plain > 1000);
}

static void test_what_is_plain(void **state) {
    (void)state;
    static const char *yes[] = {
        "I1 | 1.720", "#16 | 184 | 424 | 1.142", "  E3  |  .030\t| #7  ", "12 | 5 | 5.",
        "q1 | 0",     "999 | 123456789012.34",   "x1 | 1 | 2.0"};
    static const char *no[] = {"2026 | 1.2",
                               "x | 1",
                               "| I1 | 2",
                               "I1 | 2 |",
                               "I1 |2",
                               "I1| 2",
                               "I1 | -",
                               "I1 | 2 ; r",
                               "I1 | 1,2",
                               "I1 | 1.2.3",
                               "I1 | 1/2",
                               "I1 | 1 in",
                               "I1 | .",
                               "I1 | 1?",
                               "I1 | #",
                               "I1 | #7a",
                               "I1 = 2",
                               "I1",
                               "",
                               "I | 2",
                               "x I1 | 2",
                               "I1a | 2",
                               "S31#7 | 2",
                               "I1 | 1234567890123456",
                               "I1 | 1\r | 2",
                               "I1 | 1 x",
                               "I1 |  | 2",
                               "#1234 | 2",
                               "I1 | \xC2\xA0"
                               "2",
                               "I1..4 | 2"};
    for (size_t i = 0; i < sizeof yes / sizeof *yes; i++)
        if (!compare_ways(yes[i])) fail_msg("not plain: %s", yes[i]);
    for (size_t i = 0; i < sizeof no / sizeof *no; i++)
        if (compare_ways(no[i])) fail_msg("plain: %s", no[i]);
}

/* However the line ends, the next begins where it should. */
static void test_line_ends(void **state) {
    (void)state;
    static LineReader r;
    static const char *texts[] = {"I1 | 2\nI2 | 3", "I1 | 2  \r\nI2 | 3\r\n",
                                  "I1 | 2\t\nI2 | 3 \r"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        Source source;
        Line line = read_one(&r, &source, texts[i], strlen(texts[i]));
        assert_true(r.row_parted);
        assert_same(line.body, STR("I1 | 2"));
        line_next(&r, &line);
        assert_true(r.row_parted);
        assert_same(line.body, STR("I2 | 3"));
        line_next(&r, &line);
        assert_int_equal(line.kind, LINE_END);
    }
}

static void test_block_is_note(void **state) {
    (void)state;
    static LineReader r;
    Source source;
    const char *text = ">>\nI1 | 2\n<<\nI1 | 2\n";
    Line line = read_one(&r, &source, text, strlen(text));
    line_next(&r, &line);
    assert_int_equal(line.kind, LINE_NOTE);
    line_next(&r, &line);
    line_next(&r, &line);
    assert_int_equal(line.kind, LINE_GRID);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_random_rows),
        cmocka_unit_test(test_what_is_plain),
        cmocka_unit_test(test_line_ends),
        cmocka_unit_test(test_block_is_note),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
