#include "compute/what_if.h"

#include "compute/eval_parts.h"
#include <math.h>

static void add_entry(WhatIf *w, const State *s, Arena *a) {
    const Job *j = s->job;
    w->entry = j->entry_count;
    w->job.entry_room = w->job.entry_count = j->entry_count + 1;
    w->job.entries = arena_array(a, w->job.entry_count, sizeof(Entry));
    memcpy(w->job.entries, j->entries, j->entry_count * sizeof(Entry));
    w->job.entries[w->entry] = (Entry){.date = {INT32_MAX, -1}, .first_reading = j->reading_count};
}

static void add_readings(WhatIf *w, const State *s, TagId adjust, const SubjectId *on,
                         uint32_t count, Arena *a) {
    const Job *j = s->job;
    w->first = j->reading_count;
    w->job.reading_room = w->job.reading_count = j->reading_count + count;
    w->job.readings = arena_array(a, w->job.reading_count + 1, sizeof(Reading));
    memcpy(w->job.readings, j->readings, j->reading_count * sizeof(Reading));
    for (uint32_t i = 0; i < count; i++)
        w->job.readings[w->first + i] = (Reading){.tag = adjust,
                                                  .subject = on[i],
                                                  .at = NAN,
                                                  .unit = j->vocab->tags[adjust].unit,
                                                  .entry = w->entry};
}

static void *copy_of(Arena *a, const void *from, size_t count, size_t size) {
    void *to = arena_array(a, count, size);
    if (from) memcpy(to, from, count * size);
    return to;
}

/* Its own seats, even where the log has put nothing anywhere yet. */
static void own_seats(WhatIf *w, const State *s, Arena *a) {
    size_t subjects = s->job->subject_count, slots = subjects * HERE_MOST;
    w->state.here = copy_of(a, s->here, slots, sizeof(SubjectId));
    w->state.changed = copy_of(a, s->changed, slots, sizeof(uint32_t));
    w->state.sits_at = copy_of(a, s->sits_at, subjects, sizeof(SubjectId));
    w->state.since = copy_of(a, s->since, subjects, sizeof(uint32_t));
    if (s->here) return;
    memset(w->state.here, 0xff, slots * sizeof(SubjectId));
    memset(w->state.sits_at, 0xff, subjects * sizeof(SubjectId));
}

WhatIf *what_if_new(const State *s, TagId adjust, const SubjectId *on, uint32_t count, Arena *a) {
    WhatIf *w = arena_alloc(a, sizeof *w);
    *w = (WhatIf){.job = *s->job, .state = *s};
    w->job.arena = a;
    add_entry(w, s, a);
    add_readings(w, s, adjust, on, count, a);
    chain_build(&w->job);
    w->state.job = &w->job;
    w->state.arena = a;
    w->state.last_entry = w->entry;
    if (s->in) {
        bool *in = arena_array(a, w->job.entry_count, sizeof *in);
        memcpy(in, s->in, s->job->entry_count * sizeof *in);
        in[w->entry] = true;
        w->state.in = in;
    }
    own_seats(w, s, a);
    return w;
}

void what_if_set(WhatIf *w, uint32_t on, double si) {
    Reading *r = &w->job.readings[w->first + on];
    r->value = si;
    chain_value_changed(&w->job, r);
}

void what_if_seat(WhatIf *w, SubjectId place, uint8_t slot, SubjectId item) {
    State *s = &w->state;
    size_t at = (size_t)place * HERE_MOST + slot;
    if (s->here[at] == item) return;
    if (s->here[at] != SUBJECT_NONE) s->sits_at[s->here[at]] = SUBJECT_NONE;
    s->here[at] = item;
    s->changed[at] = w->entry;
    if (item == SUBJECT_NONE) return;
    SubjectId old = s->sits_at[item];
    for (int i = 0; old != SUBJECT_NONE && i < HERE_MOST; i++) {
        SubjectId *here = &s->here[(size_t)old * HERE_MOST + i];
        if (*here == item && here != &s->here[at]) *here = SUBJECT_NONE;
    }
    s->sits_at[item] = place;
}

void what_if_limits(WhatIf *w, const Force *limits, uint32_t count, Arena *a) {
    State *s = &w->state;
    Force *forces = arena_array(a, s->force_count + count + 1u, sizeof *forces);
    uint32_t n = 0;
    for (uint32_t i = 0; i < count; i++)
        forces[n++] = limits[i];
    for (uint32_t i = 0; i < s->force_count; i++) {
        if (s->forces[i].kind != EVENT_LIMIT) forces[n++] = s->forces[i];
    }
    s->forces = forces;
    s->force_count = s->force_room = n;
}

/* What an evaluation begins with that shares all that the choice cannot change. */
static void share(WhatIf *w) {
    const Vocab *v = w->base->v;
    w->shared = arena_array(w->state.arena, v->tag_count, sizeof *w->shared);
    for (TagId t = 0; t < v->tag_count; t++)
        w->shared[t] = w->moves[t] ? NULL : w->base->cols[t];
    Eval *e = w->again = eval_new(&w->state, w->state.arena);
    memcpy(e->possible, w->base->possible, v->tag_count * sizeof *e->possible);
    memcpy(e->blame, w->base->blame, v->tag_count * sizeof *e->blame);
}

/* The same evaluation again, with all forgotten that was worked out for another choice: making a
 * new one each time costs more than what is worked out in it. */
static Eval *start_again(WhatIf *w, Arena *a) {
    Eval *e = w->again;
    const Vocab *v = e->v;
    e->arena = a;
    memcpy(e->cols, w->shared, v->tag_count * sizeof *e->cols);
    memset(e->computed, 0, v->tag_count * sizeof *e->computed);
    e->curves = NULL;
    e->curve_count = e->curve_room = 0;
    e->maps = NULL;
    for (const ClassMap *m = w->base->maps; m; m = m->next) {
        if (v->classes[m->from].kind != CLASS_ITEM && v->classes[m->to].kind != CLASS_ITEM)
            class_map_keep(e, m->from, m->to, m->positions);
    }
    return e;
}

Eval *what_if_eval(WhatIf *w, Arena *a) {
    if (w->base && !w->again) share(w);
    Eval *e = w->base ? start_again(w, a) : eval_new(&w->state, a);
    e->judges_all = true;
    return e;
}

Eval *what_if_adjusted(WhatIf *w, Arena *a) {
    Eval *e = w->again;
    e->arena = a;
    for (TagId t = 0; t < e->v->tag_count; t++) {
        if (!w->adjusts[t]) continue;
        e->cols[t] = w->shared[t];
        e->computed[t] = NULL;
    }
    return e;
}
