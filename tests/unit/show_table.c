/* Tables as text, CSV (RFC 4180) and JSON lines (RFC 8259), against texts written by hand. */
#include "show/table.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static Table *heights(Arena *a) {
    Table *t = table_new(a);
    table_column(t, (TableColumn){.key = "valve", .heading = STR("valve"), .label = true});
    table_column(t, (TableColumn){.key = "value",
                                  .heading = STR("installed height"),
                                  .unit = STR("in"),
                                  .align = ALIGN_POINT,
                                  .json = JSON_NUMBER});
    table_column(t, (TableColumn){.key = "at.value", .heading = STR("at"), .json = JSON_NUMBER});
    table_column(t, (TableColumn){.key = "at.unit", .heading = STR("unit")});
    table_column(t, (TableColumn){.key = "note", .heading = STR("note")});
    return t;
}

static void add(Table *t, const char *valve, const char *value, const char *at, const char *note) {
    uint32_t row = table_row(t);
    table_put(t, row, 0, str_from(valve), TONE_PLAIN);
    table_put(t, row, 1, str_from(value), TONE_BAD);
    table_put(t, row, 2, str_from(at), TONE_PLAIN);
    if (*at) table_put(t, row, 3, STR("in"), TONE_PLAIN);
    table_put(t, row, 4, str_from(note), TONE_PLAIN);
}

static void expect(void (*render)(Buf *, const Table *), const Table *t, const char *want) {
    Buf out = {0};
    render(&out, t);
    assert_string_equal(out.p, want);
    buf_release(&out);
}

static void expect_text(const Table *t, TextStyle style, const char *want) {
    Buf out = {0};
    table_text(&out, t, style);
    assert_string_equal(out.p, want);
    buf_release(&out);
}

static void a_text_folds_in_its_column(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = table_new(a);
    table_column(t, (TableColumn){.label = true});
    table_column(t, (TableColumn){0});
    uint32_t row = table_row(t);
    table_put(t, row, 0, STR("next service"), TONE_PLAIN);
    table_put(t, row, 1, STR("gasket promised for Friday"), TONE_PLAIN);
    row = table_row(t);
    table_put(t, row, 0, STR("oil"), TONE_PLAIN);
    table_put(t, row, 1, STR("50"), TONE_PLAIN);
    expect_text(t, (TextStyle){30, false, 2},
                "  next service  gasket\n"
                "                promised for\n"
                "                Friday\n"
                "  oil           50\n");
    expect_text(t, (TextStyle){20, false, 2}, /* then the labels give way too */
                "  next      gasket\n"
                "  service   promised\n"
                "            for\n"
                "            Friday\n"
                "  oil       50\n");
    expect_text(t, (TextStyle){0, false, 2},
                "  next service  gasket promised for Friday\n"
                "  oil           50\n");
    arena_free(a);
}

static void points_stand_under_each_other(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = heights(a);
    add(t, "I1", "1.7200*", "", "");
    add(t, "E1", ".5", "", "");
    add(t, "I2", "-", "", "");
    add(t, "E2", "12", "", "");
    expect_text(t, (TextStyle){80, false, 0},
                "       installed\n"
                "valve     height\n"
                "              in\n"
                "I1       1.7200*\n"
                "E1        .5\n"
                "I2       -\n"
                "E2      12\n");
    arena_free(a);
}

static void utf8_lines_up(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = heights(a);
    add(t, "S\xC3\xB8n", "1.5", "", "first");
    add(t, "Kit", "1.5", "", "second");
    expect_text(t, (TextStyle){80, false, 2},
                "         installed\n"
                "  valve     height  note\n"
                "                in\n"
                "  S\xC3\xB8n          1.5  first\n"
                "  Kit          1.5  second\n");
    arena_free(a);
}

static void wide_tables_are_cut_into_groups(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = heights(a);
    add(t, "I1", "1.5", "1.72", "a note of some length");
    expect_text(t, (TextStyle){30, false, 0},
                "       installed\n"
                "valve     height  at    unit\n"
                "              in\n"
                "I1           1.5  1.72  in\n"
                "\n"
                "valve  note\n"
                "I1     a note of some length\n");
    arena_free(a);
}

static void colour_only_when_told(void **state) {
    (void)state;
    Arena *a = arena_new();
    Buf plain = {0}, coloured = {0};
    Table *t = heights(a);
    add(t, "I1", "1.5", "", "");
    table_text(&plain, t, (TextStyle){80, false, 0});
    table_text(&coloured, t, (TextStyle){80, true, 0});
    assert_null(strchr(plain.p, '\x1b'));
    assert_non_null(strstr(coloured.p, "\x1b[1;31m1.5\x1b[0m"));
    buf_release(&plain);
    buf_release(&coloured);
    arena_free(a);
}

static void csv(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = heights(a);
    add(t, "I1", ".500", "1.72", "a \"quoted\", note");
    expect(table_csv, t,
           "valve,value,at.value,at.unit,note\r\n"
           "I1,.500,1.72,in,\"a \"\"quoted\"\", note\"\r\n");
    arena_free(a);
}

/* What begins as a formula does stands behind an apostrophe, and a number with a sign does not. */
static void csv_runs_nowhere(void **state) {
    (void)state;
    static const struct {
        const char *cell, *want;
    } rows[] = {
        {"=1+1", "'=1+1"},
        {"=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\""},
        {"+cmd", "'+cmd"},
        {"-1-3/4", "'-1-3/4"},
        {"-", "'-"},
        {"-.", "'-."},
        {"-1e", "'-1e"},
        {"-1e5x", "'-1e5x"},
        {"@SUM(A1)", "'@SUM(A1)"},
        {"\t=1", "'\t=1"},
        {"\r=1", "\"'\r=1\""},
        {"-.005", "-.005"},
        {"+12.", "+12."},
        {"-2.1e-05", "-2.1e-05"},
        {"1.5", "1.5"},
        {"S23#3 = x", "S23#3 = x"},
        {"'=1", "'=1"},
        {"", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Arena *a = arena_new();
        Table *t = heights(a);
        add(t, "I1", "", "", rows[i].cell);
        Str want =
            arena_printf(a, "valve,value,at.value,at.unit,note\r\nI1,,,,%s\r\n", rows[i].want);
        expect(table_csv, t, want.p);
        arena_free(a);
    }
}

static void json(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = heights(a);
    add(t, "I1", ".500", "1.72", "");
    add(t, "E1", "-.005", "", "x\t\"y\"");
    add(t, "I2", "5/16", "", "");
    add(t, "E2", "", "00.50", "");
    expect(table_json, t,
           "{\"valve\":\"I1\",\"value\":0.500,\"at\":{\"value\":1.72,\"unit\":\"in\"}}\n"
           "{\"valve\":\"E1\",\"value\":-0.005,\"note\":\"x\\t\\\"y\\\"\"}\n"
           "{\"valve\":\"I2\",\"value\":\"5/16\"}\n"
           "{\"valve\":\"E2\",\"at\":{\"value\":0.50,\"unit\":\"in\"}}\n");
    arena_free(a);
}

/* RFC 8259, section 6: no plus, no bare point, no leading zero. */
static void numbers_of_json(void **state) {
    (void)state;
    static const struct {
        const char *digits, *want; /* NULL: no number */
    } rows[] = {
        {"1.720", "1.720"}, {".5", "0.5"},   {"-.5", "-0.5"}, {"+1.2", "1.2"}, {"007", "7"},
        {"0", "0"},         {"12.", "12"},   {"5/16", NULL},  {"-", NULL},     {"", NULL},
        {".", NULL},        {"1.2.3", NULL}, {"1e3", NULL},   {"nan", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Buf out = {0};
        bool number = json_number(&out, str_from(rows[i].digits));
        assert_int_equal(number, rows[i].want != NULL);
        if (rows[i].want) assert_string_equal(out.p, rows[i].want);
        assert_true(number || out.n == 0);
        buf_release(&out);
    }
}

/* A reading is never taken through its unit for that: 1.735 in would come back with a digit more.
 */
static void readings_of_json(void **state) {
    (void)state;
    static const struct {
        const char *text, *want;
        bool all; /* the number says all that was written */
    } rows[] = {
        {"1.730", "1.730", true},  {"+1.730", "1.730", false},  {"-.5", "-0.5", true},
        {"5/16", "0.3125", false}, {"1-7/16", "1.4375", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Buf out = {0};
        assert_int_equal(json_reading(&out, str_from(rows[i].text)), rows[i].all);
        assert_string_equal(out.p, rows[i].want);
        buf_release(&out);
    }
}

static void words_fold(void **state) {
    (void)state;
    Buf out = {0};
    buf_puts(&out, "  a: ");
    fold_text(&out, STR("one two three  four"), 12, 4);
    assert_string_equal(out.p, "  a: one two\n    three\n    four\n");
    buf_release(&out);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_stand_under_each_other),
        cmocka_unit_test(a_text_folds_in_its_column),
        cmocka_unit_test(utf8_lines_up),
        cmocka_unit_test(wide_tables_are_cut_into_groups),
        cmocka_unit_test(colour_only_when_told),
        cmocka_unit_test(csv),
        cmocka_unit_test(csv_runs_nowhere),
        cmocka_unit_test(json),
        cmocka_unit_test(numbers_of_json),
        cmocka_unit_test(readings_of_json),
        cmocka_unit_test(words_fold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
