#include "stats/choose.h"

#include <math.h>
#include <stdint.h>

#include "stats/dist.h"
#include "stats/kendall.h"
#include "stats/robust.h"
#include "stats/theilsen.h"

static const double off_line_chance = 0.01;
static const double scatter_differs_chance = 0.05;
static const double rounding = 1e-12; /* residuals this small beside y are arithmetic */

static const char *const method_texts[] = {
    [TREND_BY_DATA] = "chosen by the data",
    [TREND_LEAST_SQUARES] = "least squares",
    [TREND_THEIL_SEN] = "Theil-Sen",
};

static const char *const reason_texts[] = {
    [TREND_AS_ASKED] = "as asked",
    [TREND_ON_LINE] = "no reading is off the line of the others",
    [TREND_TOO_FEW_TO_JUDGE] = "too few readings to judge one by the others",
    [TREND_ONE_OFF_LINE] = "a reading is far off the line of the others",
    [TREND_TOO_MANY_FOR_PAIRS] = "a reading is off the line, but there are too many for Theil-Sen",
};

static const char *const scatter_texts[] = {
    [SCATTER_UNKNOWN] = "the scatter is not known",
    [SCATTER_OWN] = "scatter of the readings about their line",
    [SCATTER_INSTRUMENT] = "scatter of the instrument, from repeats",
    [SCATTER_POOLED] = "scatter of the instrument and of the readings, pooled",
    [SCATTER_RESOLUTION] = "scatter that the last digit hides",
    [SCATTER_RANKS] = "from ranks",
};

const char *trend_method_text(TrendMethod m) {
    return method_texts[m];
}

const char *trend_reason_text(TrendReason r) {
    return reason_texts[r];
}

const char *trend_scatter_text(TrendScatter s) {
    return scatter_texts[s];
}

size_t trend_scratch(size_t n) {
    return n > THEIL_SEN_MOST ? n : theil_sen_scratch(n);
}

/* An instrument repeats no finer than it is read. */
static Spread usable_instrument(const TrendAsk *ask) {
    if (!(ask->instrument.df > 0)) return (Spread){0};
    double least = ask->resolution / sqrt(12);
    return (Spread){.sd = fmax(ask->instrument.sd, least), .df = ask->instrument.df};
}

static void choose_scatter(const TrendAsk *ask, Trend *t) {
    Spread own = line_spread(&t->fit), tool = t->instrument;
    double least = ask->resolution / sqrt(12);
    t->spread = own;
    t->scatter = SCATTER_OWN;
    if (spread_known(tool)) {
        double ratio = own.sd * own.sd / (tool.sd * tool.sd);
        bool differs = own.df > 0 && f_tail(ratio, own.df, tool.df) < scatter_differs_chance;
        if (!differs) {
            t->spread = spread_pool(own, tool);
            t->scatter = own.df > 0 ? SCATTER_POOLED : SCATTER_INSTRUMENT;
        }
    }
    bool exact = t->spread.sd <= rounding * fmax(1, fabs(t->fit.y_mean));
    if (t->spread.df > 0 && t->spread.sd < least) {
        t->spread.sd = least;
        t->scatter = SCATTER_RESOLUTION;
    } else if (!(t->spread.df > 0) || exact) {
        t->spread = (Spread){0};
        t->scatter = SCATTER_UNKNOWN;
    }
}

static void by_least_squares(Trend *t) {
    t->method = TREND_LEAST_SQUARES;
    t->rate = t->fit.slope;
    t->intercept = t->fit.intercept;
    t->p = line_slope_p(&t->fit, t->spread);
    t->level_held = t->level;
    t->has_interval =
        line_slope_interval(&t->fit, t->spread, t->level, &t->rate_interval) == STATS_OK;
}

static StatsStatus by_ranks(const TrendAsk *ask, Trend *t) {
    TheilSen ts;
    StatsStatus status = theil_sen(ask->x, ask->y, ask->n, ask->level, ask->scratch, &ts);
    if (status != STATS_OK) return status;
    Kendall k;
    t->p = kendall_test(ask->x, ask->y, ask->n, &k) == STATS_OK ? k.p : NAN;
    t->method = TREND_THEIL_SEN;
    t->scatter = SCATTER_RANKS;
    t->rate = ts.slope;
    t->intercept = ts.intercept;
    t->has_interval = ts.has_interval;
    t->rate_interval = ts.interval;
    t->level_held = ts.has_interval ? ts.level_held : ask->level;
    return STATS_OK;
}

static TrendMethod choose_method(const TrendAsk *ask, Trend *t) {
    OffLine far;
    double least = fmax(t->instrument.sd, ask->resolution / sqrt(12));
    if (least <= 0) least = rounding * fmax(1, fabs(t->fit.y_mean));
    bool judged = line_farthest(&t->fit, ask->x, ask->y, least, &far) == STATS_OK;
    bool off = judged && far.p < off_line_chance;
    if (off) t->off_line = far.index;
    if (ask->method != TREND_BY_DATA) {
        t->reason = TREND_AS_ASKED;
        return ask->method;
    }
    t->reason = !judged ? TREND_TOO_FEW_TO_JUDGE : off ? TREND_ONE_OFF_LINE : TREND_ON_LINE;
    if (!off) return TREND_LEAST_SQUARES;
    if (ask->n <= THEIL_SEN_MOST) return TREND_THEIL_SEN;
    t->reason = TREND_TOO_MANY_FOR_PAIRS;
    return TREND_LEAST_SQUARES;
}

static double median_with(const double *x, size_t n, double *scratch) {
    memcpy(scratch, x, n * sizeof *x);
    sort_values(scratch, n);
    return median_sorted(scratch, n);
}

StatsStatus trend_fit(const TrendAsk *ask, Trend *out) {
    Trend t = {.n = ask->n, .level = ask->level, .off_line = SIZE_MAX};
    StatsStatus status = line_fit(ask->x, ask->y, ask->n, &t.fit);
    if (status != STATS_OK) return status;
    t.instrument = usable_instrument(ask);
    choose_scatter(ask, &t);
    if (choose_method(ask, &t) == TREND_THEIL_SEN)
        status = by_ranks(ask, &t);
    else
        by_least_squares(&t);
    if (status != STATS_OK) return status;
    t.span = t.fit.x_greatest - t.fit.x_least;
    t.change = t.rate * t.span;
    t.x_median = median_with(ask->x, ask->n, ask->scratch);
    t.y_median = median_with(ask->y, ask->n, ask->scratch);
    *out = t;
    return STATS_OK;
}

/* The lines through the medians with the two slopes at the ends of the interval. */
static Reach reach_by_ranks(const Trend *t, double limit) {
    double d = limit - t->y_median, low = t->rate_interval.low, high = t->rate_interval.high;
    Reach r = {.kind = REACH_ANYWHERE, .low = -INFINITY, .high = INFINITY};
    r.x = t->rate != 0 ? (limit - t->intercept) / t->rate : copysign(INFINITY, d);
    if (low > 0 || high < 0) {
        double a = t->x_median + d / low, b = t->x_median + d / high;
        r.kind = REACH_BETWEEN;
        r.low = fmin(a, b);
        r.high = fmax(a, b);
        return r;
    }
    bool ahead = t->rate * d >= 0;
    double steepest = (d > 0) == ahead ? high : low;
    if (d == 0 || steepest == 0) return r;
    r.kind = ahead ? REACH_NOT_BEFORE : REACH_NOT_AFTER;
    if (ahead)
        r.low = t->x_median + d / steepest;
    else
        r.high = t->x_median + d / steepest;
    return r;
}

StatsStatus trend_reach(const Trend *t, double limit, Reach *out) {
    if (!t->has_interval) return STATS_NO_INTERVAL;
    if (t->method == TREND_LEAST_SQUARES)
        return line_reach(&t->fit, t->spread, t->level, limit, out);
    *out = reach_by_ranks(t, limit);
    return STATS_OK;
}
