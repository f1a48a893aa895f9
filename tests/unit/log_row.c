/*
 * Rows that are taken in one go must come out as they would the long way: a remark behind the line
 * makes the reader take that way, and changes nothing else of it.
 */
#include "log/line.h"
#include "unit/rows.h"

#include <stdio.h>
#include <stdlib.h>

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

/* `#7` and nothing else. */
static void assert_item(Str text, uint32_t item) {
    char name[16];
    int n = snprintf(name, sizeof name, "#%u", item);
    assert_true(text.n >= (size_t)n && text.p[0] == '#');
    assert_int_equal(item, strtoul(text.p + 1, NULL, 10));
}

/* Of a row taken in one go and the same one parted the long way. */
static void assert_same_cells(const GridRow *x, const GridRow *y) {
    assert_int_equal(x->count, y->count);
    for (uint32_t i = 0; i < x->count; i++) {
        const GridCell *cell = &x->cells[i];
        assert_same(cell->text, y->cells[i].text);
        assert_false(y->cells[i].plain || y->cells[i].item);
        if (cell->item) assert_item(cell->text, cell->item);
        if (!cell->plain) continue;
        Number read;
        assert_int_equal(number_read(cell->text, &read), NUMBER_OK);
        assert_int_equal(read.len, cell->text.n);
        assert_true(read.value == cell->number.value);
        assert_int_equal(read.len, cell->number.len);
        assert_int_equal(read.places, cell->number.places);
        assert_false(read.fraction || cell->number.fraction);
    }
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
    assert_same_cells(line_row(&quick, &a), line_row(&slow, &b));
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

/* A row below one of the same shape, or of nearly the same, is what it is below none. */
static void test_rows_below(void **state) {
    (void)state;
    static const char *rows[] = {"I1 | 1.720  | .015   | #1\n", "#1   | 184 | 424 | 1.142\n",
                                 "7 | 5. | #1234567 | 12345678\r\n", "q12 | 1.5\t|  0.000001\n",
                                 "x999 | 123456789.5 | 2\n"};
    static const char other[] = "0123456789.#| \t\r?x\xC2";
    static LineReader below, alone;
    uint32_t seed = 7, alike = 0;
    for (int k = 0; k < 400000; k++) {
        const char *row = rows[k % (sizeof rows / sizeof *rows)];
        size_t n = strlen(row);
        char text[128];
        memcpy(text, row, n);
        memcpy(text + n, row, n);
        for (size_t i = n; i < 2 * n; i++) {
            seed = seed * 1664525 + 1013904223;
            if (is_digit(text[i])) text[i] = (char)('0' + (seed >> 24) % 10);
        }
        if (k % 2) text[n + (seed >> 8) % n] = other[(seed >> 24) % (sizeof other - 1)];
        memcpy(text + 2 * n, "\n\n\n\n\n\n\n\n", 9);
        Source one, two;
        Line line = read_one(&below, &one, text, 2 * n + 8);
        line_next(&below, &line);
        Line same = read_one(&alone, &two, text + n, n);
        assert_int_equal(line.kind, same.kind);
        assert_int_equal(below.row_parted, alone.row_parted);
        if (!below.row_parted) continue;
        alike += below.row.shape.bytes != 0;
        assert_same(line.whole, same.whole);
        assert_same(line.body, same.body);
        assert_int_equal(below.row.mark, alone.row.mark);
        assert_int_equal(below.row.number, alone.row.number);
        for (uint32_t i = 0; i < alone.row.count; i++)
            assert_int_equal(below.row.cells[i].item, alone.row.cells[i].item);
        row_part(same.body, &alone.row);
        assert_same_cells(&below.row, &alone.row);
        line_next(&below, &same); /* the next begins where it should */
        assert_int_equal(same.kind, LINE_BLANK);
    }
    assert_true(alike > 1000);
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

/* Rows below a row are those that line_next finds there, and nothing else is one. */
static void test_next_rows(void **state) {
    (void)state;
    static LineReader r, other;
    static const char text[] = "\nI1 | 2.000 | 3.0\n  I2 | 3.500 | 4.5\n#3 | 4.000 | 5.5 \r\n"
                               "5 | #6\nI4 | -\nI5 | 6";
    Source one, two;
    Line row = read_one(&r, &one, text, sizeof text - 1);
    Line line = read_one(&other, &two, text, sizeof text - 1);
    line_next(&r, &row);
    line_next(&other, &line);
    assert_true(row.after_blank);
    for (int rows = 1; rows < 4; rows++) {
        line_next(&other, &line);
        assert_true(line_next_row(&r, &row));
        assert_int_equal(row.kind, line.kind);
        assert_int_equal(row.off, line.off);
        assert_false(row.after_blank || line.after_blank);
        assert_same(row.whole, line.whole);
        assert_same(row.body, line.body);
        assert_int_equal(r.row.number, other.row.number);
        assert_int_equal(r.row.alike, rows == 1);
    }
    assert_false(line_next_row(&r, &row));
    line_next(&r, &row);
    assert_same(row.body, STR("I4 | -"));
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
        cmocka_unit_test(test_random_rows), cmocka_unit_test(test_what_is_plain),
        cmocka_unit_test(test_rows_below),  cmocka_unit_test(test_line_ends),
        cmocka_unit_test(test_next_rows),   cmocka_unit_test(test_block_is_note),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
