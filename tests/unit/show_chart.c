/* Charts: where the ticks and the points stand, worked out by hand, and what must never come out.
 */
#include "show/chart.h"

#include "base/date.h"
#include "base/number.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
/* clang-format off: cmocka needs the headers above first */
#include <cmocka.h>
/* clang-format on */

#define LINE(text, at) \
    ((ChartLine){      \
        .name = {(text), sizeof(text) - 1}, .points = (at), .count = sizeof(at) / sizeof *(at)})

static char *drawn(const Chart *c) { /* for free() */
    Buf out = {0};
    chart_svg(&out, c);
    char *text = calloc(out.n + 1, 1);
    if (out.n) memcpy(text, out.p, out.n);
    buf_release(&out);
    return text;
}

static int times(const char *text, const char *what) {
    int n = 0;
    for (const char *p = text; (p = strstr(p, what)); p += strlen(what))
        n++;
    return n;
}

static void has(const char *text, const char *what) {
    if (!strstr(text, what)) fail_msg("no %s in\n%s", what, text);
}

static void hasnt(const char *text, const char *what) {
    if (strstr(text, what)) fail_msg("%s in\n%s", what, text);
}

/* Steps of 1, 2 or 5 times a power of ten, the least that gives no more than about `most`. */
static void ticks_are_round(void **state) {
    static const struct {
        double low, high;
        int most;
        ChartTicks want;
    } rows[] = {
        {0, 10, 5, {0, 2, 6, 0}},
        {.3, .9, 5, {.4, .2, 3, 1}},
        {-3, 47, 4, {0, 20, 3, 0}},
        {1.7, 1.75, 5, {1.7, .01, 6, 2}},
        {0, 30, 5, {0, 10, 4, 0}},
        {120, 4180, 4, {2000, 2000, 2, 0}},
        {-.004, .0011, 5, {-.004, .002, 3, 3}},
        {7, 8, 1, {7, 1, 2, 0}},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ChartTicks t = chart_ticks(rows[i].low, rows[i].high, rows[i].most);
        const ChartTicks *want = &rows[i].want;
        if (fabs(t.first - want->first) > 1e-9 || fabs(t.step - want->step) > 1e-12 ||
            t.count != want->count || t.places != want->places)
            fail_msg("%g .. %g: first %g step %g, %d of them, %d places", rows[i].low, rows[i].high,
                     t.first, t.step, t.count, t.places);
    }
}

/* Of 340 by 194: 48 at the left, 224 for the plot, 42 above, 40 below; x from -.4 to 10.4, y from
 * -.7 to 10.7. (0, 0) is at 48 + .4 / 10.8 * 224 and 154 - .7 / 11.4 * 112. */
static void points_stand_where_they_should(void **state) {
    (void)state;
    static const ChartPoint at[] = {{0, 0}, {10, 10}};
    ChartLine line = LINE("load", at);
    char *svg = drawn(&(Chart){.lines = &line, .line_count = 1});
    has(svg, "points=\"56.3,147.1 263.7,48.9\"");
    assert_int_equal(times(svg, "<path class=\"dot\""), 2);
    hasnt(svg, ">-0<");
    free(svg);
}

static void nothing_of_nothing(void **state) {
    (void)state;
    static const ChartPoint nowhere[] = {{NAN, 1}, {2, NAN}};
    ChartLine none = {.name = STR("load")}, unknown = LINE("load", nowhere);
    char *svg = drawn(&(Chart){.lines = &none, .line_count = 1});
    assert_string_equal(svg, "");
    free(svg);
    unknown.count = 1;
    svg = drawn(&(Chart){.lines = &unknown, .line_count = 1});
    assert_string_equal(svg, "");
    free(svg);
}

static void one_value_has_room(void **state) {
    (void)state;
    static const ChartPoint at[] = {{5, 0}};
    ChartLine line = LINE("load", at);
    char *svg = drawn(&(Chart){.lines = &line, .line_count = 1});
    assert_int_equal(times(svg, "<polyline"), 0);
    assert_int_equal(times(svg, "<path class=\"dot\""), 1);
    hasnt(svg, "nan");
    hasnt(svg, "inf");
    free(svg);
}

static void texts_are_escaped(void **state) {
    (void)state;
    static const ChartPoint at[] = {{0, 0}, {1, 1}};
    ChartLine lines[] = {LINE("<i>", at), LINE("b", at)};
    ChartBand band = {0, 1, 0, .5, STR("by \"<x>\"")};
    char *svg = drawn(&(Chart){.title = STR("\"><script>"),
                               .x_name = STR("a & b"),
                               .lines = lines,
                               .line_count = 2,
                               .bands = &band,
                               .band_count = 1});
    hasnt(svg, "<script>");
    hasnt(svg, "<i>");
    hasnt(svg, "<x>");
    has(svg, "a &amp; b");
    has(svg, "&lt;i&gt;");
    free(svg);
}

static double height_of(const char *svg, const char *name) { /* of a text's y */
    const char *end = strstr(svg, name);
    assert_non_null(end);
    while (strncmp(end, " y=\"", 4) != 0)
        end--;
    Number n;
    assert_int_equal(number_read(str_from(end + 4), &n), NUMBER_OK);
    return n.value;
}

static void names_do_not_cover_each_other(void **state) {
    (void)state;
    static const ChartPoint at[] = {{0, 0}, {10, 5}};
    ChartLine lines[] = {LINE("one", at), LINE("two", at), LINE("three", at)};
    char *svg = drawn(&(Chart){.lines = lines, .line_count = 3});
    double y[] = {height_of(svg, ">one<"), height_of(svg, ">two<"), height_of(svg, ">three<")};
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < i; k++)
            assert_true(fabs(y[i] - y[k]) >= 15.9);
        assert_true(y[i] > 0 && y[i] < 194);
    }
    assert_int_equal(times(svg, "stroke-dasharray=\"none\""), 1); /* told apart without colour */
    assert_int_equal(times(svg, "stroke-dasharray=\"7 3\""), 1);
    free(svg);
}

static void an_open_end_is_not_drawn(void **state) {
    (void)state;
    static const ChartPoint at[] = {{0, 1}, {10, 2}};
    ChartLine line = LINE("load", at);
    ChartBand at_least = {0, 10, 1.5, INFINITY, STR("at least")}, aim = {0, 10, 2, 2, STR("aim")};
    Chart c = {.lines = &line, .line_count = 1, .bands = &at_least, .band_count = 1};
    char *svg = drawn(&c);
    hasnt(svg, "inf");
    /* a bar across, and a stroke of 3 every 6 of the 224 * 10 / 10.8 = 207.4 that it is long */
    assert_int_equal(times(svg, "class=\"limit\""), 1 + 35);
    free(svg);
    c.bands = &aim;
    svg = drawn(&c);
    assert_int_equal(times(svg, "class=\"limit\""), 1);
    has(svg, "<g stroke-dasharray=\"5 3\">");
    free(svg);
}

/* All readings at one height: what is allowed there has no width of its own, and is seen. Its name
 * stands clear of the dots. */
static void a_limit_at_one_condition_is_seen(void **state) {
    (void)state;
    static const ChartPoint at[] = {{1.8, 100}};
    static const ChartPoint nearly[] = {{1.8, 100}, {1.8 * (1 + 1e-15), 102}};
    ChartLine line = LINE("load", at);
    ChartBand bands[] = {{1.8, 1.8, 98, 102, STR("98 .. 102")}, {1.8, 1.8, 100, 100, STR("aim")}};
    Chart c = {.lines = &line, .line_count = 1, .bands = bands, .band_count = 2};
    char *svg = drawn(&c);
    /* a bar and six strokes at either end, and the aim, about the middle of the plot, 48 + 112 */
    assert_int_equal(times(svg, "class=\"limit\""), 7 + 7 + 1);
    has(svg, " x1=\"144.0\" y1=\"98.0\" x2=\"176.0\"");
    double dot = 98, name = height_of(svg, ">aim<");
    assert_true(name + 2 <= dot - 5 || name - 10 >= dot + 5);
    free(svg);
    line.points = nearly;
    line.count = 2;
    line.only_points = true;
    svg = drawn(&c);
    has(svg, " x1=\"144.0\"");
    hasnt(svg, "nan");
    free(svg);
}

static void a_long_name_has_room(void **state) {
    (void)state;
    static const ChartPoint at[] = {{0, 0}, {10, 5}};
    ChartLine lines[] = {LINE("Kreis-Nova-2024-outer#12", at), LINE("#3", at)};
    char *svg = drawn(&(Chart){.lines = lines, .line_count = 2});
    /* 24 letters of 8.6 behind 48 + 224 + 11 */
    has(svg, "viewBox=\"0 0 490 194\"");
    free(svg);
    svg = drawn(&(Chart){.lines = lines + 1, .line_count = 1});
    has(svg, "viewBox=\"0 0 340 194\"");
    free(svg);
}

static int32_t day(const char *text) {
    Date d;
    size_t len;
    assert_int_equal(date_read(str_from(text), &d, &len), DATE_OK);
    return d.day;
}

static void days_are_dates(void **state) {
    (void)state;
    ChartPoint year[] = {{day("2026-01-05"), 1}, {day("2026-12-20"), 2}};
    ChartPoint week[] = {{day("2026-02-26"), 1}, {day("2026-03-04"), 2}};
    ChartLine line = LINE("load", year);
    Chart c = {.x_days = true, .lines = &line, .line_count = 1};
    char *svg = drawn(&c);
    /* 12.4 months and no more than four ticks: every six. July is 177 days behind the first point
     * of 349, which has .04 of that before it: 48 + 190.96 / 376.92 * 224 */
    has(svg, ">2026-01<");
    has(svg, " x=\"161.5\" y=\"169.0\">2026-07<");
    hasnt(svg, ">2026-04<");
    free(svg);
    line.points = week;
    svg = drawn(&c);
    has(svg, ">2026-02-26<");
    has(svg, ">2026-03-02<");
    free(svg);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ticks_are_round),
        cmocka_unit_test(points_stand_where_they_should),
        cmocka_unit_test(nothing_of_nothing),
        cmocka_unit_test(one_value_has_room),
        cmocka_unit_test(texts_are_escaped),
        cmocka_unit_test(names_do_not_cover_each_other),
        cmocka_unit_test(an_open_end_is_not_drawn),
        cmocka_unit_test(a_limit_at_one_condition_is_seen),
        cmocka_unit_test(a_long_name_has_room),
        cmocka_unit_test(days_are_dates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
