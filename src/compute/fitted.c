#include "compute/fitted.h"

#include <math.h>

typedef struct Times {
    uint32_t since; /* entry + 1; 0 while it sits nowhere */
    double sum;
    bool broken; /* a time of it is not known */
} Times;

struct Fitted {
    const State *state;
    double *at;      /* per entry: the engine's value at its end */
    Times *items;    /* per subject */
    SubjectId *slot; /* per place and slot: the item there, id + 1 */
    uint32_t next;   /* event to be played */
    uint32_t entry;  /* played to */
};

/* Per entry, the engine-level value in force at its end: made once for all items. */
static double *timeline(const State *s, TagId tag, Arena *a) {
    const Job *j = s->job;
    double *at = arena_array(a, j->entry_count + 1, sizeof *at);
    for (uint32_t i = 0; i <= j->entry_count; i++)
        at[i] = NAN;
    for (uint32_t i = chain_last(j, tag, SUBJECT_ENGINE); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        uint32_t entry = reading_entry(j, r);
        bool good = !(r->flags & (READ_BAD | READ_REPEATED));
        if (good && entry_counts(s, r->entry) && isnan(at[entry])) at[entry] = r->value;
    }
    for (uint32_t i = 1; i < j->entry_count; i++) {
        if (isnan(at[i])) at[i] = at[i - 1];
    }
    uint32_t first = 0;
    while (first < j->entry_count && isnan(at[first]))
        first++;
    if (first < j->entry_count && at[first] == 0) { /* nothing can have run before it stood at 0 */
        for (uint32_t i = 0; i < first; i++)
            at[i] = 0;
    }
    return at;
}

Fitted *fitted_start(const State *s, TagId tag, Arena *a) {
    const Job *j = s->job;
    Fitted *f = arena_alloc(a, sizeof *f);
    f->state = s;
    f->at = timeline(s, tag, a);
    f->items = arena_array(a, j->subject_count, sizeof *f->items);
    f->slot = arena_array(a, (size_t)j->subject_count * HERE_MOST, sizeof *f->slot);
    return f;
}

static void close_time(Fitted *f, SubjectId item, uint32_t entry) {
    Times *t = &f->items[item];
    if (!t->since) return;
    double run = f->at[entry] - f->at[t->since - 1];
    if (isnan(run))
        t->broken = true;
    else
        t->sum += run;
    t->since = 0;
}

static void play(Fitted *f, const Event *ev) {
    if (ev->kind == EVENT_PLACE || ev->kind == EVENT_EMPTY) {
        SubjectId *here = &f->slot[(size_t)ev->subject2 * HERE_MOST + ev->slot];
        if (*here && *here - 1 != ev->subject) close_time(f, *here - 1, ev->entry);
        *here = ev->kind == EVENT_PLACE ? ev->subject + 1 : 0;
    }
    if (ev->kind == EVENT_SCRAP) close_time(f, ev->subject, ev->entry);
    if (ev->kind == EVENT_PLACE && !f->items[ev->subject].since)
        f->items[ev->subject].since = ev->entry + 1;
}

void fitted_to(Fitted *f, uint32_t entry) {
    const Job *j = f->state->job;
    for (; f->next < j->event_count && j->events[f->next].entry <= entry; f->next++) {
        if (entry_counts(f->state, j->events[f->next].entry)) play(f, &j->events[f->next]);
    }
    f->entry = entry;
}

double fitted_time(const Fitted *f, SubjectId item) {
    const Times *t = &f->items[item];
    if (t->broken) return NAN;
    return t->since ? t->sum + f->at[f->entry] - f->at[t->since - 1] : t->sum;
}

bool fitted_now(const Fitted *f, SubjectId item) {
    return f->items[item].since != 0;
}

double fitted_engine(const Fitted *f, uint32_t entry) {
    return f->at[entry];
}
