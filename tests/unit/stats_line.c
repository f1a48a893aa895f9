/* Lines, against NIST StRD and R. */
#include "stats/dist.h"
#include "stats/regress.h"
#include "stats_data.h"

/* NIST StRD Norris: certified values (references.md, V; the interval computed from them). */
static void certified_line(void **state) {
    (void)state;
    double x[DATA_MOST], y[DATA_MOST];
    size_t n = data_column("norris", 1, x);
    assert_int_equal(data_column("norris", 0, y), n);
    LineFit f;
    assert_int_equal(line_fit(x, y, n, &f), STATS_OK);
    Spread s = line_spread(&f);
    assert_digits(f.slope, 1.00211681802045, 14);
    assert_digits(f.intercept, -0.262323073774029, 13);
    assert_digits(line_slope_sd(&f, s), 0.000429796848199937, 13);
    assert_digits(s.sd, 0.884796396144373, 13);
    assert_true(s.df == 34);
    Interval at;
    assert_int_equal(line_slope_interval(&f, s, .95, &at), STATS_OK);
    assert_digits(at.low, 1.001243365735578, 12);
    assert_digits(at.high, 1.00299027030533, 12);
    assert_near(line_at(&f, 0), f.intercept, 1e-9);
}

/* Mavro over its order: slope and deviation (references.md, computed with R). */
static void real_drift(void **state) {
    (void)state;
    double t[DATA_MOST], y[DATA_MOST];
    size_t n = data_column("mavro", 0, t);
    data_column("mavro", 1, y);
    LineFit f;
    assert_int_equal(line_fit(t, y, n, &f), STATS_OK);
    assert_digits(f.slope, 1.84681872749e-05, 11);
    assert_digits(line_slope_sd(&f, line_spread(&f)), 3.30876326e-06, 8);
}

static void line_edges(void **state) {
    (void)state;
    const double x[] = {1, 2, 3}, same[] = {4, 4, 4}, y[] = {10, 8, 6};
    LineFit f;
    Interval at = {1, 2};
    assert_int_equal(line_fit(x, y, 1, &f), STATS_TOO_FEW);
    assert_int_equal(line_fit(same, y, 3, &f), STATS_NO_SPREAD);
    const double bad[] = {1, 2, INFINITY};
    assert_int_equal(line_fit(x, bad, 3, &f), STATS_NOT_FINITE);
    assert_int_equal(line_fit(x, y, 2, &f), STATS_OK);
    assert_true(f.slope == -2 && f.intercept == 12 && f.sse == 0);
    assert_false(spread_known(line_spread(&f)));
    assert_int_equal(line_slope_interval(&f, line_spread(&f), .95, &at), STATS_NO_INTERVAL);
    assert_true(at.low == 1 && isnan(line_slope_p(&f, line_spread(&f))));
    /* two points and a tester that repeats to 0.5: slope -2 -+ 1.96 * 0.5 * sqrt(2), by hand */
    assert_int_equal(line_slope_interval(&f, (Spread){.5, INFINITY}, .95, &at), STATS_OK);
    assert_near(at.low, -2 - 1.959963985 * .5 * sqrt(2), 1e-8);
    assert_int_equal(line_fit(x, same, 3, &f), STATS_OK);
    assert_true(isnan(f.r2) && f.slope == 0);
}

static void line_by_hand(void **state) {
    (void)state;
    const double x[] = {0, 1, 2, 3, 4}, y[] = {1, 3, 2, 5, 4};
    LineFit f;
    assert_int_equal(line_fit(x, y, 5, &f), STATS_OK);
    /* by hand: slope 0.8, mean 3, sse 10 - 0.8 * 8 = 3.6 */
    assert_near(f.slope, .8, 1e-14);
    assert_near(f.sse, 3.6, 1e-12);
    assert_near(f.r2, .64, 1e-12);
    /* p of the slope: t = 0.8 / sqrt(1.2 / 10) = 2.309 with 3 df */
    assert_near(line_slope_p(&f, line_spread(&f)), 2 * student_tail(.8 / sqrt(.12), 3), 1e-12);
}

/* The confidence band of a line at x: Student's t with n - 2 degrees of freedom. */
static Interval band_at(const LineFit *f, double x) {
    Spread s = line_spread(f);
    double dx = x - f->x_mean, sd = s.sd * sqrt(1 / (double)f->n + dx * dx / f->sxx);
    double half = student_two_sided(.95, s.df) * sd, y = line_at(f, x);
    return (Interval){y - half, y + half};
}

/* The ends of Fieller's set are where the confidence band of the line passes the limit. */
static void reach_ends_on_the_band(void **state) {
    (void)state;
    const double x[] = {0, 10, 22, 31, 40}, y[] = {100, 98.2, 95.9, 94.1, 91.8};
    LineFit f;
    Reach r;
    assert_int_equal(line_fit(x, y, 5, &f), STATS_OK);
    Spread s = line_spread(&f);
    assert_int_equal(line_reach(&f, s, .95, 85, &r), STATS_OK);
    assert_int_equal(r.kind, REACH_BETWEEN);
    assert_true(r.low < r.x && r.x < r.high && r.low > 60);
    assert_near(line_at(&f, r.x), 85, 1e-10);
    assert_near(band_at(&f, r.low).low, 85, 1e-8);
    assert_near(band_at(&f, r.high).high, 85, 1e-8);
}

static void reach_without_a_slope(void **state) {
    (void)state;
    const double x[] = {0, 10, 20, 30}, y[] = {95.4, 94.6, 95.2, 94.7};
    LineFit f;
    Reach r;
    assert_int_equal(line_fit(x, y, 4, &f), STATS_OK);
    Spread s = line_spread(&f);
    assert_int_equal(line_reach(&f, s, .95, 90, &r), STATS_OK);
    assert_int_equal(r.kind, REACH_NOT_BEFORE);
    assert_true(isinf(r.high) && r.low > 30);
    assert_near(band_at(&f, r.low).low, 90, 1e-8);
    /* a limit above a falling line lies behind, if anywhere */
    assert_int_equal(line_reach(&f, s, .95, 100, &r), STATS_OK);
    assert_int_equal(r.kind, REACH_NOT_AFTER);
    assert_true(isinf(r.low) && r.high < 0);
    assert_near(band_at(&f, r.high).high, 100, 1e-8);
    /* a limit amid the readings of a flat line: nothing to say */
    assert_int_equal(line_reach(&f, s, .95, 95, &r), STATS_OK);
    assert_int_equal(r.kind, REACH_ANYWHERE);
    assert_int_equal(line_reach(&f, (Spread){0}, .95, 90, &r), STATS_NO_INTERVAL);
}

/* The deleted residual, against leaving the point out and predicting it from the others. */
static void farthest_is_judged_by_the_others(void **state) {
    (void)state;
    const double x[] = {0, 12, 20, 33, 41, 55}, y[] = {96, 95.1, 94.6, 97.9, 92.8, 91.9};
    LineFit f, others;
    OffLine far;
    assert_int_equal(line_fit(x, y, 6, &f), STATS_OK);
    assert_int_equal(line_farthest(&f, x, y, 0, &far), STATS_OK);
    assert_int_equal(far.index, 3);
    const double rest_x[] = {0, 12, 20, 41, 55}, rest_y[] = {96, 95.1, 94.6, 92.8, 91.9};
    line_fit(rest_x, rest_y, 5, &others);
    double dx = 33 - others.x_mean, root = sqrt(1 + 1 / 5. + dx * dx / others.sxx);
    double t = fabs(97.9 - line_at(&others, 33)) / (line_spread(&others).sd * root);
    assert_digits(far.t, t, 8);
    assert_digits(far.p, 12 * student_tail(t, 3), 6);
    /* with a floor the same point is judged by it */
    assert_int_equal(line_farthest(&f, x, y, 10, &far), STATS_OK);
    assert_true(far.p == 1);
    assert_int_equal(line_fit(x, y, 3, &f), STATS_OK);
    assert_int_equal(line_farthest(&f, x, y, 0, &far), STATS_TOO_FEW);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certified_line),
        cmocka_unit_test(real_drift),
        cmocka_unit_test(line_edges),
        cmocka_unit_test(line_by_hand),
        cmocka_unit_test(reach_ends_on_the_band),
        cmocka_unit_test(reach_without_a_slope),
        cmocka_unit_test(farthest_is_judged_by_the_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
