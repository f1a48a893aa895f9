/*
 * What a series comes to, in one word. A pure function of a few facts; the order of the questions
 * is the rule:
 *
 * 1. The last reading is past a limit: gone, however few readings there are.
 * 2. Fewer than two readings, or no interval for the rate: not enough readings.
 * 3. The interval leaves 0 out: drifting; unless the whole change is less than the instrument can
 *    see in one reading: steady.
 * 4. The interval holds 0. That is steady only when it also rules out what would matter: a
 *    change of `matters` over the span, where that is given, else when the scatter is known well
 *    enough (three degrees of freedom); otherwise not enough readings. Three readings with only
 *    their own scatter say nothing, and must not be called steady.
 * 5. Where that leaves not enough readings, but the last differs from the first by more than two
 *    readings of this instrument ever do: drifting, at a rate that is not known.
 */
#ifndef THOU_STATS_VERDICT_H
#define THOU_STATS_VERDICT_H

#include "stats/choose.h"

typedef enum TrendVerdict {
    VERDICT_NOT_ENOUGH,
    VERDICT_STEADY,
    VERDICT_DRIFTING,
    VERDICT_GONE,
} TrendVerdict;

typedef enum VerdictReason {
    BECAUSE_PAST_LIMIT,
    BECAUSE_ONE_READING,
    BECAUSE_NO_INTERVAL,
    BECAUSE_RATE_NOT_0,
    BECAUSE_BELOW_INSTRUMENT,
    BECAUSE_RATE_MAY_BE_0,
    BECAUSE_INTERVAL_WIDE,
    BECAUSE_CHANGE_SEEN,
} VerdictReason;

const char *verdict_text(TrendVerdict v);
const char *verdict_reason_text(VerdictReason r);

typedef struct VerdictFacts {
    size_t n;
    bool past_limit; /* the last reading is */
    bool has_interval;
    Interval rate;
    double df;           /* behind the scatter */
    double span;         /* of x */
    double change;       /* fitted, over the span */
    double visible;      /* least change of one reading that the instrument can see; 0 unknown */
    double matters;      /* change over the span that would matter; 0 not stated */
    double ends;         /* the last reading less the first */
    double two_readings; /* what two readings of one thing may differ by; 0 unknown */
} VerdictFacts;

typedef struct Judged {
    TrendVerdict verdict;
    VerdictReason reason;
} Judged;

Judged verdict_of(const VerdictFacts *f);

/* The facts a trend gives, with no limits and nothing stated that matters: the caller adds those.
 * `visible` is the instrument's standard deviation or the resolution. */
VerdictFacts verdict_facts(const Trend *t, double resolution);

#endif
