#include "stats/repeats.h"

#include <math.h>

/* Welford's way: exact enough however far the values lie from 0, and no value need be kept. */
void thing_add(Thing *t, double value) {
    long double off = value - t->mean;
    t->readings++;
    t->mean += off / (long double)t->readings;
    t->squares += off * (value - t->mean);
}

void repeats_add(Repeats *r, const Thing *t) {
    if (t->readings < 2) return;
    r->squares += (double)t->squares;
    r->things++;
    r->readings += t->readings;
}

void repeats_join(Repeats *to, const Repeats *from) {
    to->squares += from->squares;
    to->things += from->things;
    to->readings += from->readings;
}

Spread repeats_spread(const Repeats *r) {
    double df = (double)(r->readings - r->things);
    return df > 0 ? (Spread){.sd = sqrt(r->squares / df), .df = df} : (Spread){0};
}
