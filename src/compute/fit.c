#include "compute/fit_parts.h"

#include <math.h>

static void set_step(FitWork *w) {
    if (w->fit->aim == TAG_NONE) return;
    const Tag *tag = &w->v->tags[w->fit->aim];
    w->out->step = unit_step(tag->unit, tag->places);
    if (!w->fit->step) return;
    const Col *c = eval_node(eval_new(w->s, w->arena), w->fit->step);
    if (!(c->st[0] & V_MISSING) && c->v[0] > 0) w->out->step = c->v[0];
}

static void read_before(FitWork *w) {
    State *now = arena_alloc(w->arena, sizeof *now);
    *now = *w->s;
    now->forces = w->what_if->state.forces;
    now->force_count = now->force_room = w->what_if->state.force_count;
    Eval *e = eval_new(now, w->arena);
    e->judges_all = true;
    side_new(w, &w->out->before);
    side_read(w, e, &w->out->before);
}

static void read_after(FitWork *w) {
    FitAnswer *out = w->out;
    SubjectId *item = arena_array(w->arena, out->places + 1, sizeof *item);
    double *adjust = arena_array(w->arena, out->places + 1, sizeof *adjust);
    out->stack = arena_array(w->arena, out->places + 1, sizeof *out->stack);
    for (uint32_t p = 0; p < out->places; p++) {
        const FitChoice *c = &out->result.choice[p];
        out->stack[p] = c->stack;
        adjust[p] = w->thick[c->stack];
        item[p] = w->fit->item == CLASS_NONE ? SUBJECT_NONE : out->candidate[c->item];
    }
    seat_all(w, item, adjust);
    side_new(w, &out->after);
    side_read(w, what_if_eval(w->what_if, w->arena), &out->after);
    for (uint32_t p = 0; p < out->places; p++) {
        const FitChoice *c = &out->result.choice[p];
        out->nominal |= combination(w, p, c->item, c->stack)->nominal;
    }
    for (uint32_t l = 0; l < out->limits; l++) {
        const FitMargin *m = &out->after.margin[(size_t)out->places * out->limits + l];
        out->whole_broken |= m->there && m->broken;
    }
}

enum { HINT_MOST = 100000 }; /* combinations that a check may spend */

static bool start(FitWork *w, const State *s, const FitAsk *ask, Arena *a, FitAnswer *out) {
    *out = (FitAnswer){.ask = ask, .job = s->job};
    *w = (FitWork){.s = s,
                   .j = s->job,
                   .v = s->job->vocab,
                   .fit = ask->fit,
                   .ask = ask,
                   .arena = a,
                   .out = out};
    if (!gather(w)) return false;
    moves_find(&w->moves, s, ask->fit, a);
    gather_limits(w);
    double combinations = (double)out->places * w->columns * (double)out->stacks.count;
    if (w->local > FIT_LIMITS || combinations > (ask->whether ? HINT_MOST : FIT_COMBINATIONS))
        out->trouble = FIT_TOO_MANY;
    return out->trouble == FIT_FINE;
}

/* Nothing is called best by a measure that nobody could take. */
static bool can_be_measured(FitWork *w) {
    FitAnswer *out = w->out;
    TagId lacks = w->blame_aim;
    for (uint32_t l = 0; l < w->local && lacks == TAG_NONE; l++)
        if (!out->limit[l].judged) lacks = out->limit[l].missing;
    if (w->aim_set && !out->has_aim)
        out->trouble = FIT_UNKNOWN;
    else if (!out->has_aim && !w->judged)
        out->trouble = lacks == TAG_NONE ? FIT_NO_MEASURE : FIT_UNKNOWN;
    out->missing = lacks;
    return out->trouble == FIT_FINE;
}

/* For the asker who wants to know only whether every limit would hold. */
static void judge_whole(FitWork *w) {
    if (!w->out->result.choice || w->out->limits == w->local) return;
    what_if_limits(w->what_if, w->forces, w->out->limits, w->arena);
    read_after(w);
}

bool fit_job(const State *s, const FitAsk *ask, Arena *a, FitAnswer *out, Err *err) {
    FitWork w;
    if (!start(&w, s, ask, a, out)) return true;
    w.scratch = arena_new();
    set_step(&w);
    w.blame_aim = TAG_NONE;
    try_all(&w);
    bool measured = can_be_measured(&w);
    bool done = !measured || solve(&w, err);
    if (measured) find_lacks(&w);
    if (measured && done && ask->whether) judge_whole(&w);
    if (measured && done && !ask->whether) {
        what_if_limits(w.what_if, w.forces, out->limits, a);
        read_before(&w);
        if (out->result.choice) read_after(&w);
        if (out->result.choice) find_unsure(&w);
        find_reasons(&w);
        if (out->result.status == FIT_NONE) find_near(&w);
    }
    arena_free(w.scratch);
    return done;
}

/* Places, something to choose from, and what it is chosen by can be computed at all. */
static bool ready_for(const State *s, Eval *e, const Fit *fit) {
    const Job *j = s->job;
    if (j->classes[fit->place].count == 0) return false;
    if (fit->aim != TAG_NONE && !tag_possible(e, fit->aim)) return false;
    if (fit->item != CLASS_NONE) return j->classes[fit->item].count > 0;
    if (fit->stock == TAG_NONE) return false;
    for (uint32_t i = 0; i < j->unread_count; i++) {
        if (j->unread[i].tag == fit->stock)
            return true; /* and will be told what is wrong with it */
    }
    return j->chain->row[fit->stock] != CHAIN_NO_ROW;
}

const Fit *fit_default(const State *s) {
    const Vocab *v = s->job->vocab;
    Eval *e = eval_new(s, s->arena);
    for (uint16_t i = 0; i < v->fit_count; i++)
        if (ready_for(s, e, &v->fits[i])) return &v->fits[i];
    return NULL;
}
