/* Slopes of many units, repeatability, control limits, kinds of change. */
#include "stats/changekind.h"
#include "stats/control.h"
#include "stats/mixed.h"
#include "stats/repeats.h"
#include "stats_data.h"

enum { UNITS_MOST = 40 };

/* Rows of one unit stand together in the file. */
static size_t read_units(const char *name, int unit, int x, int y, double *xs, double *ys,
                         UnitSeries *out) {
    static char names[DATA_MOST][16];
    size_t n = data_names(name, unit, names), units = 0;
    assert_int_equal(data_column(name, x, xs), n);
    assert_int_equal(data_column(name, y, ys), n);
    for (size_t i = 0; i < n; i++) {
        if (i == 0 || strcmp(names[i], names[i - 1]) != 0)
            out[units++] = (UnitSeries){.x = xs + i, .y = ys + i};
        out[units - 1].n++;
    }
    return units;
}

typedef struct Expected {
    const char *name;
    int unit, x, y;
    size_t units;
    double first[3], last[3]; /* slope, low, high */
    double within, df, mean, mean_sd, between_sd, interval[2], prediction[2];
} Expected;

/* R 4.2.2: tests/r/reference.R, output in tests/r/reference.txt. Data: R package nlme. */
static const Expected expected[] = {
    {"orthodont",
     2,
     1,
     0,
     27,
     {0.95, -0.524875049032, 2.42487504903},
     {0.675, -0.178781182559, 1.52878118256},
     1.31003958097,
     54,
     0.660185185185,
     0.0712532707709,
     0.226427879503,
     {0.513721989516, 0.806648380854},
     {0.171303424689, 1.14906694568}},
    {"fatigue",
     0,
     1,
     2,
     21,
     {8.65319333333, 7.23293700901, 10.0734496577},
     {3.3455456044, 3.06206312546, 3.62902808333},
     0.0515638064802,
     220,
     6.01044051024,
     0.360456427558,
     1.59630621164,
     {5.25854157802, 6.76233944245},
     {2.58521297128, 9.4356680492}},
};

static void slopes_of_many_units(void **state) {
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        const Expected *e = &expected[i];
        static double x[DATA_MOST], y[DATA_MOST];
        UnitSeries series[UNITS_MOST] = {{0}};
        UnitSlope each[UNITS_MOST];
        PooledSlope p;
        size_t units = read_units(e->name, e->unit, e->x, e->y, x, y, series);
        assert_int_equal(units, e->units);
        assert_int_equal(pooled_slope(series, units, (Spread){0}, .95, each, &p), STATS_OK);
        const LineFit *ends[] = {&each[0].fit, &each[units - 1].fit};
        for (int j = 0; j < 2; j++) {
            const double *want = j ? e->last : e->first;
            Interval at;
            line_slope_interval(ends[j], line_spread(ends[j]), .95, &at);
            assert_digits(ends[j]->slope, want[0], 10);
            assert_digits(at.low, want[1], 9);
            assert_digits(at.high, want[2], 9);
        }
        assert_digits(p.within.sd, e->within, 10);
        assert_true(p.within.df == e->df);
        assert_digits(p.mean, e->mean, 7);
        assert_digits(p.mean_sd, e->mean_sd, 6);
        assert_digits(p.between_sd, e->between_sd, 6); /* R's optimum is good to seven digits */
        assert_digits(p.mean_interval.low, e->interval[0], 6);
        assert_digits(p.mean_interval.high, e->interval[1], 6);
        assert_digits(p.prediction.low, e->prediction[0], 6);
        assert_digits(p.prediction.high, e->prediction[1], 6);
    }
}

/* Four points that must not be called a drift: M01 of orthodont (references.md). */
static void four_points_are_no_drift(void **state) {
    (void)state;
    static double x[DATA_MOST], y[DATA_MOST];
    UnitSeries series[UNITS_MOST] = {{0}};
    read_units("orthodont", 2, 1, 0, x, y, series);
    LineFit f;
    Interval at;
    assert_int_equal(line_fit(series[0].x, series[0].y, series[0].n, &f), STATS_OK);
    line_slope_interval(&f, line_spread(&f), .95, &at);
    assert_near(at.low, -.525, 5e-4);
    assert_near(at.high, 2.425, 5e-4);
}

static void units_that_cannot_be_fitted(void **state) {
    (void)state;
    const double x[] = {0, 10, 20}, y[] = {100, 98, 97}, z[] = {100, 99, 97}, same[] = {5, 5, 5};
    UnitSeries series[] = {{x, y, 3}, {x, z, 1}, {same, z, 3}, {x, z, 3}};
    UnitSlope each[4];
    PooledSlope p = {.mean = 42};
    assert_int_equal(pooled_slope(series, 3, (Spread){0}, .95, each, &p), STATS_TOO_FEW);
    assert_int_equal(each[1].status, STATS_TOO_FEW);
    assert_int_equal(each[2].status, STATS_NO_SPREAD);
    assert_true(p.mean == 42);
    assert_int_equal(pooled_slope(series, 4, (Spread){0}, .95, each, &p), STATS_OK);
    assert_true(p.units == 2 && p.left_out == 2 && !p.has_prediction);
    assert_near(p.mean, -.15, 1e-12); /* both the same; so between is 0 */
    assert_true(p.between_sd == 0);
    /* two readings each: only an instrument gives a scatter */
    UnitSeries pairs[] = {{x, y, 2}, {x, z, 2}};
    assert_int_equal(pooled_slope(pairs, 2, (Spread){0}, .95, each, &p), STATS_NO_INTERVAL);
    assert_int_equal(pooled_slope(pairs, 2, (Spread){.5, 8}, .95, each, &p), STATS_OK);
    assert_true(p.within.sd == .5 && p.within.df == 8);
}

typedef struct Group {
    const double *value;
    size_t n;
} Group;

static void add_thing(Repeats *r, const double *values, size_t count) {
    Thing t = {0};
    for (size_t i = 0; i < count; i++)
        thing_add(&t, values[i]);
    repeats_add(r, &t);
}

static Spread repeatability(const Group *groups, size_t count) {
    Repeats r = {0};
    for (size_t i = 0; i < count; i++)
        add_thing(&r, groups[i].value, groups[i].n);
    return repeats_spread(&r);
}

/* NIST StRD SiRstv: residual deviation (references.md, V). */
static void certified_repeats(void **state) {
    (void)state;
    double y[DATA_MOST];
    Group groups[5];
    assert_int_equal(data_column("sirstv", 1, y), 25);
    for (size_t i = 0; i < 5; i++)
        groups[i] = (Group){y + 5 * i, 5};
    Spread s = repeatability(groups, 5);
    assert_digits(s.sd, 0.104076068334656, 12);
    assert_true(s.df == 20);
}

static void repeats_of_unequal_groups(void **state) {
    (void)state;
    const double a[] = {96.5, 97, 96}, b[] = {95, 95.5}, c[] = {98, 97, 97.5, 98.5};
    const Group groups[] = {{a, 3}, {b, 2}, {c, 4}, {c, 0}};
    const Group single[] = {{a, 1}, {b, 1}};
    assert_false(spread_known(repeatability(single, 2)));
    /* by hand: squares .5, .125 and 1.25 with 2, 1 and 3 degrees of freedom */
    assert_near(repeatability(groups, 4).sd, sqrt(1.875 / 6), 1e-12);
    assert_true(repeatability(groups, 4).df == 6);
}

/* Two halves of a book come to the same as the whole, and what lies far from 0 loses no digits. */
static void repeats_are_added_up(void **state) {
    (void)state;
    const double a[] = {1e9 + .1, 1e9 + .3}, b[] = {7, 7.5, 8}, c[] = {5};
    Repeats one = {0}, two = {0};
    add_thing(&one, a, 2);
    add_thing(&two, b, 3);
    add_thing(&two, c, 1);
    assert_true(two.things == 1 && two.readings == 3);
    repeats_join(&one, &two);
    assert_true(one.things == 2 && one.readings == 5);
    /* by hand: .02 with one degree of freedom, .5 with two */
    assert_near(repeats_spread(&one).sd, sqrt(.52 / 3), 1e-7);
    assert_true(repeats_spread(&one).df == 3);
}

/* NIST/SEMATECH e-Handbook 6.3.2.2 (references.md, V). */
static void individuals_chart(void **state) {
    (void)state;
    const double x[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    Individuals c;
    unsigned char signals[10];
    assert_int_equal(control_individuals(x, 10, &c), STATS_OK);
    assert_near(c.value.centre, 50.81, 1e-12);
    assert_near(c.sd * 2 / sqrt(3.14159265358979), 1.8778, 5e-5);
    /* published with 1.128 for the factor: 55.8041 and 45.8159 */
    assert_near(c.value.high, 55.80241, 5e-6);
    assert_near(c.value.low, 45.81759, 5e-6);
    assert_int_equal(control_signals(&c.value, 0, x, 10, signals), 0);
    assert_int_equal(control_individuals(x, 1, &c), STATS_TOO_FEW);
}

/* Piston rings (Montgomery; R package qcc): by the limits from 25 groups, 37 to 39 are outside. */
static void piston_rings(void **state) {
    (void)state;
    double means[40] = {0};
    double column[DATA_MOST];
    for (int j = 0; j < 5; j++) {
        assert_int_equal(data_column("piston_rings", j + 1, column), 40);
        for (size_t i = 0; i < 40; i++)
            means[i] += column[i] / 5;
    }
    const ControlLimits limits = {.centre = 74.00118, .low = 73.98805, .high = 74.0143};
    unsigned char signals[40];
    control_signals(&limits, 0, means, 40, signals);
    for (size_t i = 0; i < 40; i++)
        assert_int_equal(signals[i] & SIGNAL_OUTSIDE, i >= 36 && i <= 38 ? SIGNAL_OUTSIDE : 0);
}

static void runs_of_eight(void **state) {
    (void)state;
    const ControlLimits at = {.centre = 0, .low = -3, .high = 3};
    const double x[] = {1, 1, 2, 1, 1, 1, 1, 1, 1, -1, 0, 1, 1, 1, 1, 1, 1, 1, -4, 3};
    unsigned char got[20];
    assert_int_equal(control_signals(&at, 0, x, 20, got), 3);
    for (size_t i = 0; i < 20; i++)
        assert_int_equal(got[i], i == 7 || i == 8 ? SIGNAL_RUN : i == 18 ? SIGNAL_OUTSIDE : 0);
}

/* The same length read in two units: 43.3578 mm are 1.707 in but for the last bit, and limits from
 * such readings are no wider than that. One that is really longer is told. */
static void equal_readings_are_in_control(void **state) {
    (void)state;
    double x[19];
    Individuals c;
    unsigned char got[19];
    for (size_t i = 0; i < 19; i++)
        x[i] = i < 9 ? 1.707 : 43.3578 / 1000 / .0254;
    assert_true(x[0] != x[18]);
    assert_int_equal(control_individuals(x, 19, &c), STATS_OK);
    assert_int_equal(control_signals(&c.value, 1e-6, x, 19, got), 0);
    x[18] += 2e-6;
    assert_int_equal(control_signals(&c.value, 1e-6, x, 19, got), 1);
    assert_int_equal(got[18], SIGNAL_OUTSIDE);
}

/* A spring of 249 lb/in, free height 2.077 in, read at 1.693 and 1.193 (deflection .384 and .884):
 * invented, after a spring that lost 15 lb with its rate unchanged and one with a broken inner. */
static void set_or_rate(void **state) {
    (void)state;
    static const struct {
        const char *what;
        double change[2], sd, df;
        ChangeKind want;
    } rows[] = {
        {"lost the same at both heights", {15, 14.5}, .7, 20, CHANGE_LEVEL},
        {"in proportion to the deflection", {6.5, 15}, .7, 20, CHANGE_SLOPE},
        {"a set and a fallen rate", {15, 24}, .7, 20, CHANGE_BOTH},
        {"nothing the tester can see", {.9, -.4}, .7, 20, CHANGE_NONE},
        {"a loss, told by a coarse tester", {8, 12}, 3, INFINITY, CHANGE_CANNOT_TELL},
        {"a tester nobody has repeated on much", {8, 12}, 1, 2, CHANGE_CANNOT_TELL},
    };
    const double deflection[] = {.384, .884}, height[] = {1.693, 1.193};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Spread s = {rows[i].sd, rows[i].df};
        Change c;
        assert_int_equal(change_kind(deflection, rows[i].change, 2, s, .05, &c), STATS_OK);
        if (c.kind != rows[i].want) fail_msg("%s: %d", rows[i].what, (int)c.kind);
    }
    Change c;
    const double lost[] = {15, 14.5}, one[] = {1.7, 1.7};
    assert_int_equal(change_kind(one, lost, 2, (Spread){1, 5}, .05, &c), STATS_NO_SPREAD);
    assert_int_equal(change_kind(height, lost, 1, (Spread){1, 5}, .05, &c), STATS_TOO_FEW);
    assert_int_equal(change_kind(height, lost, 2, (Spread){0}, .05, &c), STATS_NO_INTERVAL);
}

/* A true explanation is contradicted as often as asked, 1 in 20. */
static void kinds_hold_their_chance(void **state) {
    (void)state;
    Random random = {31};
    const double deflection[] = {.384, .884, 1.0};
    size_t level = 0, slope = 0, none = 0, tried = 10000;
    for (size_t i = 0; i < tried; i++) {
        double a[3], b[3], z[3];
        for (int j = 0; j < 3; j++) {
            double e = random_normal(&random);
            a[j] = 15 + e;
            b[j] = 20 * deflection[j] + e;
            z[j] = e;
        }
        Change c;
        change_kind(deflection, a, 3, (Spread){1, INFINITY}, .05, &c);
        level += c.p_level < .05;
        change_kind(deflection, b, 3, (Spread){1, INFINITY}, .05, &c);
        slope += c.p_slope < .05;
        change_kind(deflection, z, 3, (Spread){1, INFINITY}, .05, &c);
        none += c.kind != CHANGE_NONE;
    }
    assert_near((double)level / (double)tried, .05, .007);
    assert_near((double)slope / (double)tried, .05, .007);
    assert_near((double)none / (double)tried, .05, .007);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slopes_of_many_units),
        cmocka_unit_test(four_points_are_no_drift),
        cmocka_unit_test(units_that_cannot_be_fitted),
        cmocka_unit_test(certified_repeats),
        cmocka_unit_test(repeats_of_unequal_groups),
        cmocka_unit_test(repeats_are_added_up),
        cmocka_unit_test(individuals_chart),
        cmocka_unit_test(piston_rings),
        cmocka_unit_test(runs_of_eight),
        cmocka_unit_test(equal_readings_are_in_control),
        cmocka_unit_test(set_or_rate),
        cmocka_unit_test(kinds_hold_their_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
