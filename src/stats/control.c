#include "stats/control.h"

#include <math.h>

#include "stats/sample.h"

/* Mean distance of two normal values, in units of their standard deviation: 2 / sqrt(pi). */
static const double d2 = 1.1283791670955126;

StatsStatus control_individuals(const double *x, size_t n, Individuals *out) {
    if (n < 2) return STATS_TOO_FEW;
    Sample s;
    StatsStatus status = sample_describe(x, n, &s);
    if (status != STATS_OK) return status;
    double moved = 0;
    for (size_t i = 1; i < n; i++)
        moved += fabs(x[i] - x[i - 1]);
    double sd = moved / (double)(n - 1) / d2;
    *out = (Individuals){
        .value = {s.mean, s.mean - 3 * sd, s.mean + 3 * sd},
        .sd = sd,
    };
    return STATS_OK;
}

size_t control_signals(const ControlLimits *limits, double slack, const double *x, size_t n,
                       unsigned char *signals) {
    size_t marked = 0, run = 0;
    int side = 0;
    for (size_t i = 0; i < n; i++) {
        double off = x[i] - limits->centre;
        int now = (off > slack) - (off < -slack);
        run = now == 0 ? 0 : now == side ? run + 1 : 1;
        side = now;
        signals[i] = 0;
        if (x[i] < limits->low - slack || x[i] > limits->high + slack) signals[i] |= SIGNAL_OUTSIDE;
        if (run >= CONTROL_RUN) signals[i] |= SIGNAL_RUN;
        marked += signals[i] != 0;
    }
    return marked;
}
