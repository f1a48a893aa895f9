/*
 * How sure the figures are, from how far two readings of one thing may lie apart (`repeats
 * within`). Such a limit is 1.96 times the root of 2 times the standard deviation of a reading (ISO
 * 5725-6, repeatability limit), so that a reading is sure to the limit over the root of 2, at 95
 * percent. Every quantity is moved up and down by that, and half of what comes of it is taken;
 * those of different quantities are independent, and add as squares.
 */
#include "compute/fit_parts.h"

#include <math.h>

static void move_readings(FitWork *w, TagId tag, double by) {
    Job *j = &w->what_if->job;
    for (uint32_t i = 0; i < w->what_if->first; i++) {
        Reading *r = &j->readings[i];
        if (r->tag == tag && !(r->flags & READ_WORDS)) r->value += by;
    }
}

static void read_moved(FitWork *w, TagId tag, double by, FitSide *out) {
    move_readings(w, tag, by);
    side_read(w, what_if_eval(w->what_if, w->scratch), out);
    move_readings(w, tag, -by);
    arena_reset(w->scratch);
}

static void add_half(double *unsure, double up, double down) {
    double half = (up - down) / 2;
    if (isfinite(half)) *unsure += half * half;
}

static void add_effect(FitWork *w, TagId tag, FitSide *up, FitSide *down) {
    double by = w->v->tags[tag].repeatability / sqrt(2);
    size_t figures = (size_t)w->out->places * w->fit->table_count;
    size_t margins = (size_t)(w->out->places + 1) * w->out->limits;
    FitSide *after = &w->out->after;
    read_moved(w, tag, by, up);
    read_moved(w, tag, -by, down);
    for (size_t i = 0; i < figures; i++)
        add_half(&after->figure[i].unsure, up->figure[i].value, down->figure[i].value);
    for (size_t i = 0; i < margins; i++)
        if (up->margin[i].there && down->margin[i].there)
            add_half(&after->margin[i].unsure, up->margin[i].value, down->margin[i].value);
}

void find_unsure(FitWork *w) {
    FitSide up, down;
    Eval *base = w->what_if->base;
    w->what_if->base = NULL; /* what no choice moves is moved here */
    side_new(w, &up);
    side_new(w, &down);
    for (TagId t = 0; t < w->v->tag_count; t++)
        if (w->v->tags[t].repeatability > 0 && w->j->chain->row[t] != CHAIN_NO_ROW)
            add_effect(w, t, &up, &down);
    w->what_if->base = base;
    size_t figures = (size_t)w->out->places * w->fit->table_count;
    size_t margins = (size_t)(w->out->places + 1) * w->out->limits;
    for (size_t i = 0; i < figures; i++)
        w->out->after.figure[i].unsure = sqrt(w->out->after.figure[i].unsure);
    for (size_t i = 0; i < margins; i++)
        w->out->after.margin[i].unsure = sqrt(w->out->after.margin[i].unsure);
}
