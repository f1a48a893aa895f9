/*
 * One series, the method that suits it, and its rate with an interval.
 *
 * Least squares is the default: with scatter of the usual kind its interval holds exactly for any
 * number of readings. When one reading lies far off the line of the others (the chance of its
 * deleted residual among so many below 1 in 100) the line is Theil-Sen's. Ties in y need no other
 * method; the resolution keeps them from looking like certainty.
 *
 * The scatter that least squares works with: what the instrument repeats to and what the readings
 * show about their line, pooled, as long as the second does not contradict the first (F test, 1 in
 * 20); then the readings' own. Never less than what the resolution hides (step / sqrt(12)).
 * Pooling supposes that the instrument is all that scatters: with three readings no test could show
 * otherwise.
 */
#ifndef THOU_STATS_CHOOSE_H
#define THOU_STATS_CHOOSE_H

#include "stats/regress.h"

typedef enum TrendMethod {
    TREND_BY_DATA, /* asks for the choice; never in an answer */
    TREND_LEAST_SQUARES,
    TREND_THEIL_SEN,
} TrendMethod;

typedef enum TrendReason {
    TREND_AS_ASKED,
    TREND_ON_LINE,
    TREND_TOO_FEW_TO_JUDGE,
    TREND_ONE_OFF_LINE,
    TREND_TOO_MANY_FOR_PAIRS,
} TrendReason;

typedef enum TrendScatter {
    SCATTER_UNKNOWN,    /* two readings, or an exact fit, and no instrument: no interval */
    SCATTER_OWN,        /* about the line */
    SCATTER_INSTRUMENT, /* two readings: from repeats alone */
    SCATTER_POOLED,     /* both */
    SCATTER_RESOLUTION, /* as little as the last digit hides */
    SCATTER_RANKS,      /* Theil-Sen asks for none */
} TrendScatter;

/* Phrases for people; literals. */
const char *trend_method_text(TrendMethod m);
const char *trend_reason_text(TrendReason r);
const char *trend_scatter_text(TrendScatter s);

typedef struct TrendAsk {
    const double *x, *y;
    size_t n;
    TrendMethod method;
    Spread instrument; /* of one reading, from repeats; {0} when not known */
    double resolution; /* smallest step of y as written; 0 when not known */
    double level;      /* such as 0.95 */
    double *scratch;   /* trend_scratch(n) doubles */
    bool rate_only;    /* method, rate and fit are wanted; nothing else of the answer is set */
} TrendAsk;

size_t trend_scratch(size_t n);

typedef struct Trend {
    TrendMethod method;
    TrendReason reason;
    TrendScatter scatter;
    size_t n;
    double rate, intercept; /* of the line to draw; Theil-Sen's runs through x_median, y_middle */
    bool has_interval;
    Interval rate_interval;
    double level;      /* asked */
    double level_held; /* by the interval; more than asked for few ranks */
    double p;          /* of no trend (slope or Mann-Kendall); NaN when it cannot be told */
    double span;       /* of x */
    double change;     /* rate times span */
    size_t off_line;   /* the reading that decided for Theil-Sen; SIZE_MAX when none is off */
    Spread spread;     /* that least squares used */
    Spread instrument; /* as asked, not finer than the resolution */
    LineFit fit;       /* least squares, always made */
    double x_median,
        y_middle;       /* Theil-Sen's line: y_middle is the median of y - rate (x - x_median) */
    double height_half; /* how far its height there is uncertain, either way */
} Trend;

/* STATS_TOO_FEW below two readings, STATS_NO_SPREAD when all x are the same. Theil-Sen as asked for
 * more than THEIL_SEN_MOST readings is STATS_TOO_MANY. */
StatsStatus trend_fit(const TrendAsk *ask, Trend *out);

/*
 * Where the trend reaches a limit: Fieller's interval for least squares. For Theil-Sen the same
 * construction about its middle, with the two sides of the slope's interval and, for the height,
 * the deviation of a median (1.253 sd / sqrt(n), sd from the median residual): an approximation.
 * STATS_NO_INTERVAL when the trend has none.
 */
StatsStatus trend_reach(const Trend *t, double limit, Reach *out);

#endif
