#include "stats/outlier.h"

#include <math.h>

#include "stats/dist.h"
#include "stats/robust.h"
#include "stats/sample.h"

/* No t below this is significant at any level worth asking: saves the tail's evaluation. */
static const double t_least = 2;

size_t outliers_allowed(size_t n) {
    size_t most = n < 12 ? 1 : n / 6;
    return most < OUTLIERS_NAMED ? most : OUTLIERS_NAMED;
}

typedef struct Ordered {
    double x[OUTLIER_MOST];     /* by distance from the median, nearest first */
    size_t index[OUTLIER_MOST]; /* where each came from */
    size_t n;
} Ordered;

static void order_by_distance(const double *x, size_t n, Ordered *o) {
    double sorted[OUTLIER_MOST], away[OUTLIER_MOST];
    memcpy(sorted, x, n * sizeof *x);
    sort_values(sorted, n);
    double median = median_sorted(sorted, n);
    o->n = n;
    for (size_t i = 0; i < n; i++) {
        double d = fabs(x[i] - median);
        size_t j = i;
        for (; j > 0 && away[j - 1] > d; j--) {
            away[j] = away[j - 1];
            o->x[j] = o->x[j - 1];
            o->index[j] = o->index[j - 1];
        }
        away[j] = d;
        o->x[j] = x[i];
        o->index[j] = i;
    }
}

/* Whether the others contradict every one of the k farthest. */
static bool contradicted(const OutlierRule *rule, const Ordered *o, size_t k, double centre,
                         double scale) {
    size_t rest = o->n - k;
    double nearest = INFINITY;
    for (size_t i = rest; i < o->n; i++)
        nearest = fmin(nearest, fabs(o->x[i] - centre));
    if (nearest <= 0) return false;
    double t = nearest / (scale * sqrt(1 + 1 / (double)rest));
    if (t < t_least) return false;
    double looks = 2 * (double)(rest + 1) * (double)outliers_allowed(o->n);
    return looks * student_tail(t, (double)rest - 1) < rule->chance;
}

StatsStatus outliers_in_set(const OutlierRule *rule, const double *x, size_t n, Outliers *out) {
    if (n < OUTLIER_LEAST) return STATS_TOO_FEW;
    if (n > OUTLIER_MOST) return STATS_TOO_MANY;
    if (!all_finite(x, n)) return STATS_NOT_FINITE;
    Ordered o;
    order_by_distance(x, n, &o);
    Outliers found = {0};
    for (size_t k = outliers_allowed(n);; k--) {
        Sample rest;
        StatsStatus s = sample_describe(o.x, n - k, &rest);
        if (s != STATS_OK) return s;
        found.centre = rest.mean;
        found.scale = fmax(rest.sd, rule->floor);
        if (k == 0) break;
        if (!contradicted(rule, &o, k, found.centre, found.scale)) continue;
        for (found.count = 0; found.count < k; found.count++)
            found.index[found.count] = o.index[n - 1 - found.count];
        break;
    }
    *out = found;
    return STATS_OK;
}
