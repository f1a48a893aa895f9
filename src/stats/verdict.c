#include "stats/verdict.h"

#include <math.h>

static const double df_enough = 3;

static const char *const verdict_texts[] = {
    [VERDICT_NOT_ENOUGH] = "not enough readings",
    [VERDICT_STEADY] = "steady",
    [VERDICT_DRIFTING] = "drifting",
    [VERDICT_GONE] = "gone",
};

static const char *const reason_texts[] = {
    [BECAUSE_PAST_LIMIT] = "the last reading is past a limit",
    [BECAUSE_ONE_READING] = "one reading shows no trend",
    [BECAUSE_NO_INTERVAL] = "too few readings to say how sure the rate is",
    [BECAUSE_RATE_NOT_0] = "the interval of the rate leaves 0 out",
    [BECAUSE_BELOW_INSTRUMENT] = "the change is less than the instrument can see",
    [BECAUSE_RATE_MAY_BE_0] = "the rate may be 0",
    [BECAUSE_INTERVAL_WIDE] = "the rate may be 0, and may as well be large",
    [BECAUSE_CHANGE_SEEN] =
        "the change is more than the instrument can show, its rate is not known",
};

const char *verdict_text(TrendVerdict v) {
    return verdict_texts[v];
}

const char *verdict_reason_text(VerdictReason r) {
    return reason_texts[r];
}

/* What readings about a line cannot settle, the two ends may. */
static Judged by_the_ends(const VerdictFacts *f, VerdictReason reason) {
    if (f->two_readings > 0 && fabs(f->ends) > f->two_readings)
        return (Judged){VERDICT_DRIFTING, BECAUSE_CHANGE_SEEN};
    return (Judged){VERDICT_NOT_ENOUGH, reason};
}

static Judged with_0_inside(const VerdictFacts *f) {
    double largest = fmax(fabs(f->rate.low), fabs(f->rate.high)) * f->span;
    bool settled = f->matters > 0 ? largest < f->matters : f->df >= df_enough;
    if (settled) return (Judged){VERDICT_STEADY, BECAUSE_RATE_MAY_BE_0};
    return by_the_ends(f, BECAUSE_INTERVAL_WIDE);
}

Judged verdict_of(const VerdictFacts *f) {
    if (f->past_limit) return (Judged){VERDICT_GONE, BECAUSE_PAST_LIMIT};
    if (f->n < 2) return (Judged){VERDICT_NOT_ENOUGH, BECAUSE_ONE_READING};
    if (!f->has_interval) return by_the_ends(f, BECAUSE_NO_INTERVAL);
    if (f->rate.low <= 0 && f->rate.high >= 0) return with_0_inside(f);
    if (fabs(f->change) < f->visible) return (Judged){VERDICT_STEADY, BECAUSE_BELOW_INSTRUMENT};
    return (Judged){VERDICT_DRIFTING, BECAUSE_RATE_NOT_0};
}

VerdictFacts verdict_facts(const Trend *t, double resolution) {
    bool ranks = t->method == TREND_THEIL_SEN;
    return (VerdictFacts){
        .n = t->n,
        .has_interval = t->has_interval,
        .rate = t->rate_interval,
        .df = ranks ? (double)t->n - 2 : t->spread.df,
        .span = t->span,
        .change = t->change,
        .visible = fmax(t->instrument.sd, resolution),
    };
}
