/* The choice of method, verdicts, and whether 95 % intervals hold the truth 95 times in 100. */
#include "stats/choose.h"
#include "stats/mixed.h"
#include "stats/theilsen.h"
#include "stats/verdict.h"
#include "stats_data.h"

enum { VISITS_MOST = 10, SPRINGS = 10000 };

/* Hours at which invented engines came back: uneven, as they do. */
static const double hours[VISITS_MOST] = {0, 38, 81, 104, 150, 171, 230, 262, 300, 341};

static double scratch[2000];

typedef struct Chosen {
    const char *what;
    size_t n;
    double y[VISITS_MOST];
    Spread instrument;
    double resolution;
    TrendMethod method;
    TrendReason reason;
    TrendScatter scatter;
    bool interval;
} Chosen;

/* Which method, why, from what scatter: loads of invented springs. */
static const Chosen chosen[] = {
    {"two readings, nothing known of the tester",
     2,
     {96, 94},
     {0, 0},
     .5,
     TREND_LEAST_SQUARES,
     TREND_TOO_FEW_TO_JUDGE,
     SCATTER_UNKNOWN,
     false},
    {"two readings and a tester with repeats",
     2,
     {96, 94},
     {.5, 12},
     .5,
     TREND_LEAST_SQUARES,
     TREND_TOO_FEW_TO_JUDGE,
     SCATTER_INSTRUMENT,
     true},
    {"three readings",
     3,
     {96, 94.5, 93},
     {0, 0},
     0,
     TREND_LEAST_SQUARES,
     TREND_TOO_FEW_TO_JUDGE,
     SCATTER_OWN,
     true},
    {"three readings and a tester",
     3,
     {96, 94.5, 93},
     {.5, 12},
     .5,
     TREND_LEAST_SQUARES,
     TREND_TOO_FEW_TO_JUDGE,
     SCATTER_POOLED,
     true},
    {"readings that scatter more than the tester",
     5,
     {96, 91, 97, 90, 96},
     {.3, 30},
     .1,
     TREND_LEAST_SQUARES,
     TREND_ON_LINE,
     SCATTER_OWN,
     true},
    {"all the same, written to half a pound",
     4,
     {96, 96, 96, 96},
     {0, 0},
     .5,
     TREND_LEAST_SQUARES,
     TREND_ON_LINE,
     SCATTER_RESOLUTION,
     true},
    {"all the same, resolution not known",
     4,
     {96, 96, 96, 96},
     {0, 0},
     0,
     TREND_LEAST_SQUARES,
     TREND_ON_LINE,
     SCATTER_UNKNOWN,
     false},
    {"one reading of eight with a slip",
     8,
     {96, 95.1, 94.6, 49.3, 93, 92.3, 91.1, 90.4},
     {0, 0},
     .1,
     TREND_THEIL_SEN,
     TREND_ONE_OFF_LINE,
     SCATTER_RANKS,
     true},
    {"one of four: ranks have no interval",
     4,
     {96, 95.0, 59.6, 93.4},
     {.2, 20},
     .1,
     TREND_LEAST_SQUARES,
     TREND_ON_LINE,
     SCATTER_OWN,
     true},
};

static void method_for_the_data(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof chosen / sizeof *chosen; i++) {
        const Chosen *c = &chosen[i];
        TrendAsk ask = {.x = hours,
                        .y = c->y,
                        .n = c->n,
                        .instrument = c->instrument,
                        .resolution = c->resolution,
                        .level = .95,
                        .scratch = scratch};
        Trend t;
        assert_int_equal(trend_fit(&ask, &t), STATS_OK);
        if (t.method != c->method || t.reason != c->reason || t.scatter != c->scatter ||
            t.has_interval != c->interval)
            fail_msg("%s: method %d, reason %d, scatter %d, interval %d", c->what, (int)t.method,
                     (int)t.reason, (int)t.scatter, t.has_interval);
        assert_true(strlen(trend_method_text(t.method)) > 0);
        assert_true(strlen(trend_reason_text(t.reason)) > 0);
        assert_true(strlen(trend_scatter_text(t.scatter)) > 0);
        assert_true((t.off_line == 3) == (c->method == TREND_THEIL_SEN));
    }
}

static void asked_for_is_given(void **state) {
    (void)state;
    const double y[] = {96, 95.1, 94.6, 93.4, 93};
    TrendAsk ask = {.x = hours, .y = y, .n = 5, .level = .95, .scratch = scratch};
    Trend line, ranks;
    ask.method = TREND_LEAST_SQUARES;
    assert_int_equal(trend_fit(&ask, &line), STATS_OK);
    ask.method = TREND_THEIL_SEN;
    assert_int_equal(trend_fit(&ask, &ranks), STATS_OK);
    assert_int_equal(line.reason, TREND_AS_ASKED);
    assert_int_equal(ranks.method, TREND_THEIL_SEN);
    assert_true(ranks.level_held > .95 && line.level_held == .95);
    assert_near(line.change, line.rate * 150, 1e-12);
    ask.n = 1;
    assert_int_equal(trend_fit(&ask, &line), STATS_TOO_FEW);
    const double same[] = {5, 5, 5};
    ask = (TrendAsk){.x = same, .y = y, .n = 3, .level = .95, .scratch = scratch};
    assert_int_equal(trend_fit(&ask, &line), STATS_NO_SPREAD);
}

static void reach_by_either_method(void **state) {
    (void)state;
    const double x[] = {0, 10, 20, 30, 40}, y[] = {100, 98, 97, 94, 92};
    TrendAsk ask = {
        .x = x, .y = y, .n = 5, .level = .95, .scratch = scratch, .method = TREND_THEIL_SEN};
    Trend t;
    Reach r;
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    assert_int_equal(trend_reach(&t, 87, &r), STATS_OK);
    /* by hand: slopes from -0.3 to -0.1, median -0.2; y + 0.2 (x - 20) is 96 96 97 96 96, so the
     * middle is (20, 96) and the median residual 0: lines through there with the slopes at the ends
     */
    assert_int_equal(r.kind, REACH_BETWEEN);
    assert_near(r.low, 20 + 9 / .3, 1e-9);
    assert_near(r.high, 20 + 9 / .1, 1e-9);
    assert_near(r.x, 65, 1e-9);
    assert_near(t.intercept + t.rate * r.x, 87, 1e-9);
    /* the last digit makes the height uncertain, and both ends go out */
    ask.resolution = 1;
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    assert_int_equal(trend_reach(&t, 87, &r), STATS_OK);
    assert_true(40 < r.low && r.low < 50 && 110 < r.high && isfinite(r.high));
    ask.resolution = 0;
    ask.method = TREND_LEAST_SQUARES;
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    Reach line, same;
    assert_int_equal(trend_reach(&t, 87, &line), STATS_OK);
    line_reach(&t.fit, t.spread, .95, 87, &same);
    assert_true(line.low == same.low && line.high == same.high);
    /* a slope that may be 0, four readings without an interval */
    const double flat[] = {95.4, 94.6, 95.2, 94.7, 95.1};
    ask = (TrendAsk){
        .x = x, .y = flat, .n = 5, .level = .95, .scratch = scratch, .method = TREND_THEIL_SEN};
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    assert_int_equal(trend_reach(&t, 90, &r), STATS_OK);
    assert_true(r.kind == REACH_NOT_BEFORE && r.low > 40 && isinf(r.high));
    ask.n = 4;
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    assert_int_equal(trend_reach(&t, 90, &r), STATS_NO_INTERVAL);
}

typedef struct Ruling {
    const char *what;
    VerdictFacts facts;
    TrendVerdict verdict;
    VerdictReason reason;
} Ruling;

static const Ruling rulings[] = {
    {"nothing", {.n = 0}, VERDICT_NOT_ENOUGH, BECAUSE_ONE_READING},
    {"one reading within", {.n = 1}, VERDICT_NOT_ENOUGH, BECAUSE_ONE_READING},
    {"one reading past a limit", {.n = 1, .past_limit = true}, VERDICT_GONE, BECAUSE_PAST_LIMIT},
    {"many readings past a limit", {.n = 9, .past_limit = true}, VERDICT_GONE, BECAUSE_PAST_LIMIT},
    {"two readings, no interval", {.n = 2}, VERDICT_NOT_ENOUGH, BECAUSE_NO_INTERVAL},
    {"two ends further apart than the instrument can show",
     {.n = 3,
      .has_interval = true,
      .rate = {-.216, .106},
      .df = 1,
      .span = 81,
      .change = -4.5,
      .visible = .36,
      .ends = -4.5,
      .two_readings = 1},
     VERDICT_DRIFTING,
     BECAUSE_CHANGE_SEEN},
    {"two ends as far apart as it can show",
     {.n = 3,
      .has_interval = true,
      .rate = {-.216, .106},
      .df = 1,
      .span = 81,
      .ends = -1,
      .two_readings = 1},
     VERDICT_NOT_ENOUGH,
     BECAUSE_INTERVAL_WIDE},
    {"falling",
     {.n = 5,
      .has_interval = true,
      .rate = {-.05, -.02},
      .df = 3,
      .span = 80,
      .change = -2.8,
      .visible = .5},
     VERDICT_DRIFTING,
     BECAUSE_RATE_NOT_0},
    {"rising",
     {.n = 5,
      .has_interval = true,
      .rate = {.02, .05},
      .df = 3,
      .span = 80,
      .change = 2.8,
      .visible = .5},
     VERDICT_DRIFTING,
     BECAUSE_RATE_NOT_0},
    {"falling, past the limit already",
     {.n = 5,
      .past_limit = true,
      .has_interval = true,
      .rate = {-.05, -.02},
      .df = 3,
      .span = 80,
      .change = -2.8},
     VERDICT_GONE,
     BECAUSE_PAST_LIMIT},
    {"sure, but less than the tester sees",
     {.n = 300,
      .has_interval = true,
      .rate = {-.003, -.001},
      .df = 298,
      .span = 80,
      .change = -.16,
      .visible = .5},
     VERDICT_STEADY,
     BECAUSE_BELOW_INSTRUMENT},
    {"may be 0, scatter well known",
     {.n = 5, .has_interval = true, .rate = {-.01, .02}, .df = 3, .span = 80, .change = .4},
     VERDICT_STEADY,
     BECAUSE_RATE_MAY_BE_0},
    {"may be 0, three readings",
     {.n = 3, .has_interval = true, .rate = {-.3, .2}, .df = 1, .span = 80, .change = -4},
     VERDICT_NOT_ENOUGH,
     BECAUSE_INTERVAL_WIDE},
    {"an end at 0 holds 0",
     {.n = 5, .has_interval = true, .rate = {-.02, 0}, .df = 3, .span = 80, .change = -.8},
     VERDICT_STEADY,
     BECAUSE_RATE_MAY_BE_0},
    {"may be 0, and what matters is ruled out",
     {.n = 3,
      .has_interval = true,
      .rate = {-.01, .02},
      .df = 1,
      .span = 80,
      .change = .4,
      .matters = 2},
     VERDICT_STEADY,
     BECAUSE_RATE_MAY_BE_0},
    {"may be 0, may be what matters",
     {.n = 5,
      .has_interval = true,
      .rate = {-.03, .02},
      .df = 30,
      .span = 80,
      .change = .4,
      .matters = 2},
     VERDICT_NOT_ENOUGH,
     BECAUSE_INTERVAL_WIDE},
};

static void verdicts(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof rulings / sizeof *rulings; i++) {
        const Ruling *r = &rulings[i];
        Judged got = verdict_of(&r->facts);
        if (got.verdict != r->verdict || got.reason != r->reason)
            fail_msg("%s: %s, %s", r->what, verdict_text(got.verdict),
                     verdict_reason_text(got.reason));
    }
}

/* Four points of orthodont that must not be called a drift (references.md), and the tester's say.
 */
static void verdicts_of_trends(void **state) {
    (void)state;
    double age[DATA_MOST], distance[DATA_MOST];
    data_column("orthodont", 1, age);
    data_column("orthodont", 0, distance);
    TrendAsk ask = {
        .x = age, .y = distance, .n = 4, .resolution = .5, .level = .95, .scratch = scratch};
    Trend t;
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    VerdictFacts f = verdict_facts(&t, .5);
    assert_int_equal(verdict_of(&f).verdict, VERDICT_NOT_ENOUGH);
    /* three loads, 2 lb down: not told by themselves, told with a tester that repeats to 0.3 */
    const double y[] = {96, 95.5, 94};
    ask =
        (TrendAsk){.x = hours, .y = y, .n = 3, .resolution = .5, .level = .95, .scratch = scratch};
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    f = verdict_facts(&t, .5);
    assert_int_equal(verdict_of(&f).verdict, VERDICT_NOT_ENOUGH);
    ask.instrument = (Spread){.3, 25};
    assert_int_equal(trend_fit(&ask, &t), STATS_OK);
    f = verdict_facts(&t, .5);
    assert_int_equal(verdict_of(&f).verdict, VERDICT_DRIFTING);
    f.past_limit = true;
    assert_int_equal(verdict_of(&f).verdict, VERDICT_GONE);
}

typedef struct Coverage {
    TrendMethod method;
    double tool_df; /* of the instrument's repeatability; 0: not known */
    size_t n;
    double low, high; /* where the share of intervals that hold the truth must lie */
} Coverage;

/* Springs that lose 0.03 lb an hour, read with a standard deviation of 0.5 lb. The instrument's
 * repeatability is itself estimated, from tool_df repeats, anew for every spring. */
static double share_held(const Coverage *c, Random *random, double *reach_held, double *none) {
    size_t held = 0, reached = 0, without = 0;
    for (int i = 0; i < SPRINGS; i++) {
        double y[VISITS_MOST], squares = 0;
        for (size_t j = 0; j < c->n; j++)
            y[j] = 96 - .03 * hours[j] + .5 * random_normal(random);
        for (int j = 0; j < (int)c->tool_df; j++) {
            double e = .5 * random_normal(random);
            squares += e * e;
        }
        TrendAsk ask = {
            .x = hours, .y = y, .n = c->n, .method = c->method, .level = .95, .scratch = scratch};
        if (c->tool_df > 0) ask.instrument = (Spread){sqrt(squares / c->tool_df), c->tool_df};
        Trend t;
        Reach r;
        assert_int_equal(trend_fit(&ask, &t), STATS_OK);
        if (!t.has_interval) {
            without++;
            continue;
        }
        held += t.rate_interval.low <= -.03 && -.03 <= t.rate_interval.high;
        /* 90 lb is truly reached at 200 h */
        assert_int_equal(trend_reach(&t, 90, &r), STATS_OK);
        reached += r.kind == REACH_NOT_AFTER || (r.low <= 200 && 200 <= r.high);
    }
    double with = SPRINGS - (double)without;
    *none = (double)without / SPRINGS;
    *reach_held = with > 0 ? (double)reached / with : 0;
    return with > 0 ? (double)held / with : 0;
}

static const Coverage coverages[] = {
    {TREND_LEAST_SQUARES, 0, 3, .93, .97},  {TREND_LEAST_SQUARES, 0, 5, .93, .97},
    {TREND_LEAST_SQUARES, 0, 10, .93, .97}, {TREND_BY_DATA, 0, 3, .93, .97},
    {TREND_BY_DATA, 0, 5, .93, .97},        {TREND_BY_DATA, 0, 10, .93, .97},
    {TREND_BY_DATA, 4, 3, .93, .97},        {TREND_BY_DATA, 20, 2, .93, .97},
    {TREND_BY_DATA, 20, 3, .93, .97},       {TREND_BY_DATA, 20, 5, .93, .97},
    {TREND_BY_DATA, 20, 10, .93, .97},      {TREND_THEIL_SEN, 0, 5, .978, .989},
    {TREND_THEIL_SEN, 0, 6, .978, .989},    {TREND_THEIL_SEN, 0, 10, .93, .97},
};

static void intervals_hold_the_truth(void **state) {
    (void)state;
    Random random = {1234};
    for (size_t i = 0; i < sizeof coverages / sizeof *coverages; i++) {
        const Coverage *c = &coverages[i];
        double reach, none, share = share_held(c, &random, &reach, &none);
        print_message("%s, %zu visits, tester df %g: rate %.4f, reach %.4f, no interval %.4f\n",
                      trend_method_text(c->method), c->n, c->tool_df, share, reach, none);
        if (share < c->low || share > c->high)
            fail_msg("%s, %zu visits: %.4f", trend_method_text(c->method), c->n, share);
        if (reach < .93 || reach > .995)
            fail_msg("reach, %s, %zu visits: %.4f", trend_method_text(c->method), c->n, reach);
        assert_true(none <= .02);
    }
}

/* Slopes of units that differ, and of units that do not; and of one not seen yet. */
static void pooled_slopes_hold_the_truth(void **state) {
    (void)state;
    static const struct {
        size_t units, visits;
        double between;
        double least, most;
    } rows[] = {
        {4, 3, .02, .93, .97}, {8, 3, .02, .93, .97}, {16, 5, .02, .93, .97}, {8, 4, 0, .93, .97}};
    Random random = {77};
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        size_t held = 0, foretold = 0, tried = 4000;
        for (size_t i = 0; i < tried; i++) {
            double y[16][VISITS_MOST];
            UnitSeries series[16];
            UnitSlope each[16];
            for (size_t u = 0; u < rows[k].units; u++) {
                double slope = -.03 + rows[k].between * random_normal(&random);
                for (size_t j = 0; j < rows[k].visits; j++)
                    y[u][j] = 96 + slope * hours[j] + .5 * random_normal(&random);
                series[u] = (UnitSeries){hours, y[u], rows[k].visits};
            }
            PooledSlope p;
            assert_int_equal(pooled_slope(series, rows[k].units, (Spread){0}, .95, each, &p),
                             STATS_OK);
            double another = -.03 + rows[k].between * random_normal(&random);
            held += p.mean_interval.low <= -.03 && -.03 <= p.mean_interval.high;
            foretold += p.prediction.low <= another && another <= p.prediction.high;
        }
        double share = (double)held / (double)tried, next = (double)foretold / (double)tried;
        print_message("%zu units, %zu visits, between %g: mean %.4f, a new unit %.4f\n",
                      rows[k].units, rows[k].visits, rows[k].between, share, next);
        if (share < rows[k].least || share > rows[k].most)
            fail_msg("%zu units: %.4f", rows[k].units, share);
        assert_true(next > .93);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(method_for_the_data),          cmocka_unit_test(asked_for_is_given),
        cmocka_unit_test(reach_by_either_method),       cmocka_unit_test(verdicts),
        cmocka_unit_test(verdicts_of_trends),           cmocka_unit_test(intervals_hold_the_truth),
        cmocka_unit_test(pooled_slopes_hold_the_truth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
