#include "compute/lost.h"

#include "compute/eval_parts.h"

enum { ABOVE_MOST = 16 };

typedef struct Find {
    const Eval *e;
    const Job *j;
    const Formula *f;
    SubjectId things[ABOVE_MOST]; /* the thing and what it is on, and a head's places there */
    int count;
    SubjectId own; /* whose readings are followed */
    Lost *lost;
} Find;

static const Reading *reading_at(const Find *f, uint32_t i) {
    return &f->j->readings[i];
}

static uint32_t entry_of(const Find *f, uint32_t i) {
    return reading_entry(f->j, reading_at(f, i));
}

static bool is_good(const Reading *r) {
    return !(r->flags & (READ_BAD | READ_REPEATED));
}

/* Told at all: not struck, and not set right by a later entry. */
static bool stands(const Find *f, const Reading *r) {
    return !(r->flags & (READ_STRUCK | READ_REPLACED)) && reading_counts(f->e->state, r);
}

/* ---- the thing and what it is on --------------------------------------------------------------
 */

static void add_thing(Find *f, SubjectId id) {
    for (int i = 0; i < f->count; i++) {
        if (f->things[i] == id) return;
    }
    if (f->count < ABOVE_MOST) f->things[f->count++] = id;
}

static void add_above(Find *f, SubjectId id) {
    const State *s = f->e->state;
    for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(s, at)) {
        add_thing(f, at);
        if (s->carried && f->j->subjects[at].kind == SUBJECT_PLACE &&
            s->carried[at] != SUBJECT_NONE)
            add_thing(f, s->carried[at]);
        if (at == SUBJECT_ENGINE) break;
    }
}

/* ---- the work ---------------------------------------------------------------------------------
 */

static bool later(const Find *f, uint32_t a, uint32_t b) {
    if (entry_of(f, a) != entry_of(f, b)) return entry_of(f, a) > entry_of(f, b);
    return a > b;
}

static void find_work(Find *f) {
    Lost *l = f->lost;
    for (int k = 0; k < f->count; k++) {
        uint32_t i = chain_last(f->j, f->f->tag2, f->things[k]);
        for (; i != NO_READING; i = chain_prev(f->j, i)) {
            if (!stands(f, reading_at(f, i))) continue;
            if (l->work == NO_READING || later(f, i, l->work)) l->work = i;
        }
    }
}

/* Told again between the readings, or in the same entry: two cuts, and no reading between them. */
static uint32_t other_work(const Find *f) {
    const Lost *l = f->lost;
    for (int k = 0; k < f->count; k++) {
        uint32_t i = chain_last(f->j, f->f->tag2, f->things[k]);
        for (; i != NO_READING; i = chain_prev(f->j, i)) {
            uint32_t entry = entry_of(f, i);
            if (i == l->work || !stands(f, reading_at(f, i))) continue;
            if (entry >= entry_of(f, l->before) && entry <= entry_of(f, l->after)) return i;
        }
    }
    return NO_READING;
}

/* ---- the two readings --------------------------------------------------------------------------
 */

/* Below the work, in the entry that tells it. */
static bool is_below_work(const Find *f, const Reading *r) {
    const Reading *work = reading_at(f, f->lost->work);
    return r->entry == work->entry && r->off > work->off;
}

static LostWhy find_pair(Find *f) {
    Lost *l = f->lost;
    uint32_t cut = entry_of(f, l->work);
    uint32_t i = chain_last(f->j, f->f->tag, f->own);
    for (; i != NO_READING && l->before == NO_READING; i = chain_prev(f->j, i)) {
        const Reading *r = reading_at(f, i);
        if (!stands(f, r)) continue;
        uint32_t entry = entry_of(f, i);
        if (entry == cut && !is_below_work(f, r)) {
            l->other = i;
            return LOST_SAME_ENTRY;
        }
        if (is_good(r)) *(entry < cut ? &l->before : &l->after) = i;
    }
    if (l->after == NO_READING) return LOST_NO_AFTER;
    if (l->before == NO_READING) return LOST_NO_BEFORE;
    const Entry *first = &f->j->entries[entry_of(f, l->before)];
    if (first->date.day == DAY_NONE) return LOST_NO_BEFORE;
    bool own = !reading_at(f, l->work)->source && !reading_at(f, l->before)->source &&
               !reading_at(f, l->after)->source;
    return own ? LOST_KNOWN : LOST_OTHER_LOG;
}

/* ---- what else was between ----------------------------------------------------------------------
 */

static bool among(const TagId *tags, uint8_t count, TagId tag) {
    for (uint8_t i = 0; i < count; i++) {
        if (tags[i] == tag) return true;
    }
    return false;
}

static bool changes_it(const Find *f, TagId tag) {
    const Tag *t = &f->e->v->tags[f->f->tag];
    if (tag == f->f->tag2) return false; /* looked for where the thing is */
    return among(t->changed_by, t->changed_count, tag) ||
           among(t->set_aside_by, t->set_aside_count, tag);
}

/* Behind the first reading; the whole entry of the second, for a person writes up a day's work in
 * any order. */
static bool is_between(const Find *f, uint32_t i) {
    uint32_t entry = entry_of(f, i), first = entry_of(f, f->lost->before);
    if (entry == first) return reading_at(f, i)->off > reading_at(f, f->lost->before)->off;
    return entry > first && entry <= entry_of(f, f->lost->after);
}

static uint32_t other_change(const Find *f) {
    for (uint32_t i = 0; i < f->j->reading_count; i++) {
        const Reading *r = reading_at(f, i);
        if (changes_it(f, r->tag) && stands(f, r) && is_between(f, i)) return i;
    }
    return NO_READING;
}

static double gathered(const Find *f, TagId tag, uint32_t entry, uint32_t *reading) {
    uint32_t i = state_reading(f->e->state, tag, SUBJECT_ENGINE, entry + 1);
    if (i == NO_READING) return NAN;
    *reading = i;
    return reading_at(f, i)->value;
}

/* A reading after and none before is no proof that it did not run. */
static uint32_t other_run(const Find *f) {
    const Vocab *v = f->e->v;
    for (TagId t = 0; t < v->tag_count; t++) {
        const Tag *tag = &v->tags[t];
        if (tag->of != CLASS_ENGINE || tag->kind != TAG_NUMBER || tag->trend != TREND_RISES ||
            tag->is)
            continue;
        uint32_t reading = NO_READING;
        double before = gathered(f, t, entry_of(f, f->lost->before), &reading);
        double after = gathered(f, t, entry_of(f, f->lost->after), &reading);
        if (!same_condition(before, after)) return reading;
    }
    return NO_READING;
}

static LostWhy look_between(Find *f) {
    Lost *l = f->lost;
    if ((l->other = other_work(f)) != NO_READING) return LOST_TWICE;
    if ((l->other = other_change(f)) != NO_READING) return LOST_CHANGED;
    if ((l->other = other_run(f)) != NO_READING) return LOST_RAN;
    return LOST_KNOWN;
}

/* ---- all of it --------------------------------------------------------------------------------
 */

static LostWhy work_out(Find *f, uint32_t at) {
    const Eval *e = f->e;
    Lost *l = f->lost;
    if (at == UINT32_MAX) return LOST_NO_AFTER;
    SubjectId id = class_subject(e, e->v->tags[f->f->tag].of, at);
    uint32_t newest = own_reading(e, f->f->tag, id, UINT32_MAX);
    f->own = newest == NO_READING ? id : reading_at(f, newest)->subject;
    add_above(f, id);
    add_above(f, f->own);
    find_work(f);
    if (l->work == NO_READING) return LOST_NO_WORK;
    if (reading_at(f, l->work)->flags & READ_SUSPECT) return LOST_DOUBTED;
    LostWhy why = find_pair(f);
    if (why == LOST_KNOWN) why = look_between(f);
    if (why == LOST_KNOWN)
        l->value = reading_at(f, l->before)->value - reading_at(f, l->after)->value;
    return why;
}

Lost eval_lost(Eval *e, const Formula *formula, uint32_t i) {
    Lost lost = {.value = NAN,
                 .work = NO_READING,
                 .before = NO_READING,
                 .after = NO_READING,
                 .other = NO_READING};
    Find f = {.e = e, .j = e->job, .f = formula, .own = SUBJECT_NONE, .lost = &lost};
    const uint32_t *map = class_map(e, formula->context, e->v->tags[formula->tag].of);
    lost.why = work_out(&f, map ? map[i] : i);
    return lost;
}

const char *lost_text(LostWhy why) {
    static const char *const texts[] = {
        [LOST_KNOWN] = "known",
        [LOST_NO_WORK] = "no such work is told of it",
        [LOST_DOUBTED] = "the work's own reading is doubted",
        [LOST_NO_BEFORE] = "there is no good reading before the work, in an entry with a day",
        [LOST_NO_AFTER] = "there is no good reading after the work",
        [LOST_OTHER_LOG] = "the work or a reading stands in a log that this one continues",
        [LOST_SAME_ENTRY] =
            ("a reading stands above the work in its own entry: before or after it? "
             "A heading between them says so"),
        [LOST_TWICE] = "the work is told twice between the readings",
        [LOST_CHANGED] = "something else that changes it stands between the readings",
        [LOST_RAN] = "the engine may have run between the readings",
    };
    return texts[why];
}
