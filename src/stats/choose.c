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

/*
 * Height of the rank line and its uncertainty. The medians of x and of y would do for a height,
 * but on a steep line the median of y rests on the one or two readings in the middle; the median
 * of what is left when the slope is taken out rests on all. Scatter by the median residual; two
 * readings' worth of it went into the line.
 */
static void find_middle(const TrendAsk *ask, Trend *t) {
    size_t n = ask->n;
    double *left = ask->scratch, free_n = (double)n - 2;
    t->x_median = median_with(ask->x, n, left);
    for (size_t i = 0; i < n; i++)
        left[i] = ask->y[i] - t->rate * (ask->x[i] - t->x_median);
    sort_values(left, n);
    t->y_middle = median_sorted(left, n);
    t->height_half = INFINITY;
    if (n < 3) return;
    for (size_t i = 0; i < n; i++)
        left[i] = fabs(left[i] - t->y_middle);
    sort_values(left, n);
    double sd = 1.4826 * median_sorted(left, n) * sqrt((double)n / free_n);
    sd = fmax(sd, fmax(t->instrument.sd, ask->resolution / sqrt(12)));
    double median_sd = sd * sqrt(1.5707963267948966 / (double)n);
    t->height_half = student_two_sided(t->level, free_n) * median_sd;
}

StatsStatus trend_fit(const TrendAsk *ask, Trend *out) {
    Trend t = {.n = ask->n, .level = ask->level, .off_line = SIZE_MAX};
    StatsStatus status = line_fit(ask->x, ask->y, ask->n, &t.fit);
    if (status != STATS_OK) return status;
    t.instrument = usable_instrument(ask);
    TrendMethod method = choose_method(ask, &t);
    if (ask->rate_only && method == TREND_LEAST_SQUARES) {
        t.method = method;
        t.rate = t.fit.slope;
        *out = t;
        return STATS_OK;
    }
    choose_scatter(ask, &t);
    if (method == TREND_THEIL_SEN)
        status = by_ranks(ask, &t);
    else
        by_least_squares(&t);
    if (status != STATS_OK) return status;
    t.span = t.fit.x_greatest - t.fit.x_least;
    t.change = t.rate * t.span;
    find_middle(ask, &t);
    if (t.method == TREND_THEIL_SEN) t.intercept = t.y_middle - t.rate * t.x_median;
    *out = t;
    return STATS_OK;
}

/* The near end comes from the steep side of the slope's interval, the far end from the shallow. */
static Reach reach_by_ranks(const Trend *t, double limit) {
    double d = limit - t->y_middle, b = t->rate, low = t->rate_interval.low;
    double high = t->rate_interval.high, below = b - low, above = high - b;
    if (low <= 0 && high >= 0)
        return reach_of(t->x_median, d, b, fmax(below, above), t->height_half);
    double shallow = b > 0 ? below : above, steep = b > 0 ? above : below;
    Reach r = reach_of(t->x_median, d, b, shallow, t->height_half);
    Reach near = reach_of(t->x_median, d, b, steep, t->height_half);
    if (near.kind == REACH_BETWEEN || near.kind == REACH_NOT_BEFORE) r.low = fmin(r.low, near.low);
    if (near.kind == REACH_BETWEEN || near.kind == REACH_NOT_AFTER)
        r.high = fmax(r.high, near.high);
    return r;
}

StatsStatus trend_reach(const Trend *t, double limit, Reach *out) {
    if (!t->has_interval) return STATS_NO_INTERVAL;
    if (t->method == TREND_LEAST_SQUARES)
        return line_reach(&t->fit, t->spread, t->level, limit, out);
    *out = reach_by_ranks(t, limit);
    return STATS_OK;
}
