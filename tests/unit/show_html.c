/* Tables as HTML, against texts written by hand. */
#include "show/table.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
/* clang-format off: cmocka needs the headers above first */
#include <cmocka.h>
/* clang-format on */

static Table *table_of(Arena *a, uint32_t columns) {
    Table *t = table_new(a);
    for (uint32_t i = 0; i < columns; i++)
        table_column(t, (TableColumn){.heading = arena_printf(a, "c%u", i), .label = i == 0});
    return t;
}

static char *html(const Table *t, TableHtml how) { /* for free() */
    Buf out = {0};
    table_html(&out, t, &how);
    char *text = calloc(out.n + 1, 1);
    memcpy(text, out.p, out.n);
    buf_release(&out);
    return text;
}

static int times(const char *text, const char *what) {
    int n = 0;
    for (const char *p = text; (p = strstr(p, what)); p += strlen(what))
        n++;
    return n;
}

static void a_table_by_hand(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = table_new(a);
    table_column(t, (TableColumn){.heading = STR("valve"), .label = true});
    table_column(t, (TableColumn){.heading = STR("height"),
                                  .unit = STR("in"),
                                  .align = ALIGN_POINT,
                                  .says = STR("from seat to retainer")});
    table_column(t, (TableColumn){.heading = STR("empty"), .says = STR("never said")});
    table_put(t, table_row(t), 0, STR("I1"), TONE_PLAIN);
    table_put(t, 0, 1, STR("1.720"), TONE_BAD);
    table_put(t, table_row(t), 0, STR("E1 <&>"), TONE_DIM);
    table_put(t, 1, 1, STR("1.7"), TONE_PLAIN);
    char *text = html(t, (TableHtml){.caption = STR("Valves & \"seats\"")});
    assert_string_equal(text,
                        "<div class=\"wide\"><table>\n"
                        "<caption>Valves &amp; &quot;seats&quot;</caption>\n"
                        "<thead><tr><th scope=\"col\">valve</th>"
                        "<th scope=\"col\" class=\"n\">height<span>in</span></th></tr></thead>\n"
                        "<tbody>\n"
                        "<tr><th scope=\"row\">I1</th><td class=\"n bad\">1.720</td></tr>\n"
                        "<tr><th scope=\"row\" class=\"dim\">E1 &lt;&amp;&gt;</th>"
                        "<td class=\"n p2\">1.7</td></tr>\n"
                        "</tbody></table></div>\n"
                        "<details class=\"means\"><summary>What the columns mean</summary><dl>\n"
                        "<div><dt>height</dt><dd>from seat to retainer</dd></div>\n"
                        "</dl></details>\n");
    free(text);
    arena_free(a);
}

/* Six columns of six characters and a gap of two, after a label of two: 3 to a table of 28. */
static void too_wide_is_cut_into_even_groups(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = table_of(a, 7);
    uint32_t row = table_row(t);
    table_put(t, row, 0, STR("I1"), TONE_PLAIN);
    for (uint32_t i = 1; i < 7; i++)
        table_put(t, row, i, arena_printf(a, "value%u", i), TONE_PLAIN);
    char *text = html(t, (TableHtml){.caption = STR("Cut"), .width = 28});
    assert_int_equal(times(text, "<table>"), 2);
    assert_int_equal(times(text, "<th scope=\"row\">I1</th>"), 2); /* the label again */
    assert_int_equal(times(text, "Cut</caption>"), 1);
    assert_int_equal(times(text, "Cut, continued</caption>"), 1);
    const char *second = strstr(text, "continued");
    assert_true(strstr(text, "value3") < second && strstr(text, "value4") > second);
    for (uint32_t i = 1; i < 7; i++) /* each value once, none lost */
        assert_int_equal(times(text, arena_printf(a, ">value%u<", i).p), 1);
    free(text);
    text =
        html(t, (TableHtml){.width = 36}); /* four would fit: four and two become three and three */
    assert_int_equal(times(text, "<table>"), 2);
    assert_true(strstr(strstr(text, "value3"), "</table>") < strstr(text, "value4"));
    free(text);
    text = html(t, (TableHtml){0});
    assert_int_equal(times(text, "<table>"), 1);
    free(text);
    arena_free(a);
}

static void long_ones_are_marked(void **state) {
    static const struct {
        uint32_t rows;
        const char *class;
    } sizes[] = {{12, "\"wide\""},
                 {13, "\"wide long\""},
                 {24, "\"wide long\""},
                 {25, "\"wide long narrow\""}};
    (void)state;
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        Arena *a = arena_new();
        Table *t = table_of(a, 2);
        for (uint32_t k = 0; k < sizes[i].rows; k++)
            table_put(t, table_row(t), 1, STR("x"), TONE_PLAIN);
        char *text = html(t, (TableHtml){0});
        if (!strstr(text, sizes[i].class)) fail_msg("%u rows: %.40s", sizes[i].rows, text);
        free(text);
        arena_free(a);
    }
}

static void write_ref(void *ctx, Buf *out, const Cell *cell) {
    buf_printf(out, "[%s%u]", (const char *)ctx, cell->ref);
}

static void its_maker_writes_the_cells(void **state) {
    (void)state;
    Arena *a = arena_new();
    Table *t = table_of(a, 2);
    uint32_t row = table_row(t);
    table_put_cell(t, row, 0, (Cell){.text = STR("I1"), .ref = 4});
    table_put_cell(t, row, 1, (Cell){.text = STR("7"), .ref = 5});
    char at[] = "at ";
    char *text = html(t, (TableHtml){.cell = write_ref, .ctx = at});
    assert_int_equal(times(text, "<th scope=\"row\">[at 4]</th><td>[at 5]</td>"), 1);
    free(text);
    arena_free(a);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_table_by_hand),
        cmocka_unit_test(too_wide_is_cut_into_even_groups),
        cmocka_unit_test(long_ones_are_marked),
        cmocka_unit_test(its_maker_writes_the_cells),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
