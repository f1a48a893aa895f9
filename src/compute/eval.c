/* Columns: what a tag is worth on every subject of its class. */
#include "compute/eval_parts.h"

#include <math.h>

Eval *eval_new(const State *s, Arena *a) {
    return eval_new_after(s, a, NULL);
}

Eval *eval_new_after(const State *s, Arena *a, PossibleSeen *seen) {
    Eval *e = arena_alloc(a, sizeof *e);
    e->job = s->job;
    e->v = s->job->vocab;
    e->state = s;
    e->arena = a;
    e->cols = arena_array(a, e->v->tag_count, sizeof *e->cols);
    e->computed = arena_array(a, e->v->tag_count, sizeof *e->computed);
    e->busy = arena_array(a, e->v->tag_count, sizeof *e->busy);
    possible_start(e, seen);
    return e;
}

const Job *eval_job(const Eval *e) {
    return e->job;
}

const State *eval_state(const Eval *e) {
    return e->state;
}

Col *col_whole(Eval *e, ClassId c) {
    uint32_t n = class_count(e, c);
    Col *col =
        arena_alloc(e->arena, sizeof *col + (size_t)n * (sizeof(double) + sizeof(uint32_t) + 1));
    col->n = n;
    col->v = (double *)(col + 1);
    col->from = (void *)(col->v + n);
    col->st = (uint8_t *)(col->from + n);
    return col;
}

Col *col_new(Eval *e, ClassId c) {
    Col *col = col_whole(e, c);
    memset(col->st, V_MISSING, col->n);
    col->any = V_MISSING;
    return col;
}

static Col *col_missing(Eval *e, ClassId c, TagId blame) {
    Col *col = col_new(e, c);
    for (uint32_t i = 0, n = col->n, *from = col->from; i < n; i++)
        from[i] = blame;
    return col;
}

Col *col_absent(Eval *e, ClassId c, TagId blame) {
    Col *col = col_missing(e, c, blame);
    col->absent = true;
    return col;
}

Col *col_settle(Col *c) {
    uint8_t any = 0;
    for (uint32_t i = 0; i < c->n; i++)
        any |= c->st[i];
    c->any = any;
    return c;
}

/* ---- which subject a name of another class means --------------------------------------------- */

/* From a subject to the one of class `to` it is on, or that sits at a place it is on. */
static SubjectId related(const Eval *e, SubjectId id, ClassId to) {
    const Class *k = &e->v->classes[to];
    ClassId seat = k->kind == CLASS_ITEM ? k->up : to;
    const Subject *s = &e->job->subjects[id];
    if (k->kind == CLASS_SET)
        return s->kind == SUBJECT_ITEM && e->v->classes[s->cls].set == to ? s->up : SUBJECT_NONE;
    while (id != SUBJECT_NONE && e->job->subjects[id].cls != seat) {
        SubjectId up = state_up(e->state, id);
        if (k->kind == CLASS_BANK && up != SUBJECT_NONE &&
            e->job->subjects[up].kind == SUBJECT_CARRIER &&
            e->job->subjects[id].kind == SUBJECT_PLACE && e->job->subjects[id].up != SUBJECT_ENGINE)
            up = e->job->subjects[id].up; /* a bank is asked for: pass the head by */
        id = up;
    }
    if (id == SUBJECT_NONE || k->kind != CLASS_ITEM) return id;
    bool many;
    return state_item_at(e->state, to, id, &many);
}

void class_map_keep(Eval *e, ClassId from, ClassId to, const uint32_t *positions) {
    ClassMap *m = arena_alloc(e->arena, sizeof *m);
    *m = (ClassMap){e->maps, positions, from, to};
    e->maps = m;
}

const uint32_t *class_map_make(Eval *e, ClassId from, ClassId to) {
    uint32_t n = class_count(e, from);
    uint32_t *map = arena_array(e->arena, n + 1, sizeof *map);
    for (uint32_t i = 0; i < n; i++) {
        SubjectId id =
            to == CLASS_ENGINE ? SUBJECT_ENGINE : related(e, class_subject(e, from, i), to);
        map[i] = id == SUBJECT_NONE ? UINT32_MAX : e->state->index[id];
    }
    class_map_keep(e, from, to, map);
    return map;
}

uint32_t eval_related(Eval *e, ClassId from, ClassId to, uint32_t i) {
    const uint32_t *map = class_map(e, from, to);
    return map ? map[i] : i;
}

/* ---- readings -------------------------------------------------------------------------------- */

uint32_t reading_there(const Eval *e, TagId tag, SubjectId id, uint32_t before) {
    uint32_t own = state_reading(e->state, tag, id, before);
    if (!e->state->carried || e->job->subjects[id].kind != SUBJECT_PLACE) return own;
    SubjectId head = e->state->carried[id];
    if (head == SUBJECT_NONE) return own;
    uint32_t there = state_reading(e->state, tag, head, before);
    if (own == NO_READING) return there;
    if (there == NO_READING) return own;
    const Job *j = e->job;
    return reading_entry(j, &j->readings[there]) > reading_entry(j, &j->readings[own]) ? there
                                                                                       : own;
}

/* Whether what sits at a place by this placement came there after an entry. */
static bool seated_after(const Eval *e, TagId placement, SubjectId place, uint32_t entry) {
    const State *s = e->state;
    if (!s->here) return false;
    for (ClassId c = 0; c < e->v->class_count; c++) {
        const Class *k = &e->v->classes[c];
        if (k->kind != CLASS_ITEM || k->up != e->job->subjects[place].cls) continue;
        for (uint8_t i = 0; i < k->slot_count; i++) {
            size_t at = (size_t)place * HERE_MOST + e->job->slot_base[c] + i;
            if (k->placement[i] == placement)
                return s->here[at] != SUBJECT_NONE && s->changed[at] > entry;
        }
    }
    return false;
}

/* Whether a later entry set the reading aside. */
static bool set_aside(const Eval *e, const Tag *tag, SubjectId id, const Reading *r) {
    for (uint8_t i = 0; i < tag->set_aside_count; i++) {
        TagId by = tag->set_aside_by[i];
        if (e->v->tags[by].kind == TAG_PLACEMENT &&
            seated_after(e, by, id, reading_entry(e->job, r)))
            return true;
        if (e->job->chain->row[by] == CHAIN_NO_ROW) continue;
        for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(e->state, at)) {
            uint32_t other = own_reading(e, by, at, UINT32_MAX);
            if (other != NO_READING &&
                reading_entry(e->job, &e->job->readings[other]) > reading_entry(e->job, r))
                return true;
            if (at == SUBJECT_ENGINE) break;
        }
    }
    return false;
}

static double aggregate_spots(const Eval *e, const Tag *tag, TagId id, SubjectId subject,
                              uint8_t *st) {
    double sum = 0, low = INFINITY, high = -INFINITY;
    uint32_t n = 0, entry = UINT32_MAX;
    const Job *j = e->job;
    for (uint32_t i = state_reading(e->state, id, subject, UINT32_MAX); i != NO_READING;
         i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (entry == UINT32_MAX) entry = reading_entry(j, r);
        if (reading_entry(j, r) != entry) break;
        if (!(r->flags & READ_SPOT) || (r->flags & (READ_BAD | READ_REPEATED))) continue;
        if (tag->uses_spot && (uint8_t)r->at == tag->used_spot) return r->value;
        sum += r->value;
        low = fmin(low, r->value);
        high = fmax(high, r->value);
        n++;
    }
    if (tag->uses_spot || n == 0) {
        *st = V_MISSING;
        return NAN;
    }
    if (n < tag->spot_count) *st |= V_PARTIAL;
    switch (tag->used_aggregate) {
    case AGG_LARGEST: return high;
    case AGG_SMALLEST: return low;
    case AGG_SPREAD: return high - low;
    case AGG_SUM: return sum;
    case AGG_COUNT: return n;
    case AGG_MEAN: break;
    }
    return sum / n;
}

/* The same of one that is in doubt, or of a spot. */
static void take_odd(const Eval *e, const Tag *tag, TagId id, Col *c, uint32_t i,
                     const Reading *r) {
    if (r->flags & READ_SUSPECT) {
        c->st[i] = V_MISSING | V_SUSPECT;
        return;
    }
    c->st[i] = 0;
    c->v[i] = aggregate_spots(e, tag, id, r->subject, &c->st[i]);
    if (c->st[i] & V_MISSING) c->from[i] = id;
}

/* Takes a reading as the value of position i. */
static inline void take_reading(const Eval *e, const Tag *tag, TagId id, Col *c, uint32_t i,
                                uint32_t reading) {
    const Reading *r = &e->job->readings[reading];
    c->from[i] = reading;
    if (r->flags & (READ_SUSPECT | READ_SPOT)) {
        take_odd(e, tag, id, c, i, r);
        return;
    }
    c->v[i] = r->value;
    c->st[i] = V_READ;
}

/* Whether anything in the log could set a reading of the tag aside. */
static bool may_be_set_aside(const Eval *e, const Tag *tag) {
    for (uint8_t i = 0; i < tag->set_aside_count; i++) {
        TagId by = tag->set_aside_by[i];
        bool seats = e->v->tags[by].kind == TAG_PLACEMENT && e->state->here;
        if (seats || e->job->chain->row[by] != CHAIN_NO_ROW) return true;
    }
    return false;
}

static uint32_t take_plainly(const Eval *e, const ChainRow *row, Col *c,
                             const SubjectId *subjects) {
    const Reading *all = e->job->readings;
    const uint32_t *last = row->last, known = e->job->chain->subjects, n = c->n;
    double *v = c->v;
    uint8_t *st = c->st;
    uint32_t *from = c->from, open = n;
    for (uint32_t i = 0; i < n; i++) {
        uint32_t behind = subjects[i] < known ? last[subjects[i]] : 0;
        if (!behind) continue;
        from[i] = behind - 1;
        v[i] = all[behind - 1].value;
        st[i] = V_READ;
        open--;
    }
    return open;
}

/* Readings on the subjects themselves. Returns how many are still open; stale[i] where one was set
 * aside. */
static uint32_t own_level(Eval *e, TagId id, Col *c, bool *stale) {
    const Tag *tag = &e->v->tags[id];
    uint32_t open = c->n;
    if (e->job->chain->row[id] == CHAIN_NO_ROW) return open;
    const SubjectId *subjects = e->job->classes[tag->of].ids;
    const ChainRow *row = chain_row(e->job, id);
    bool aside = may_be_set_aside(e, tag);
    if (!aside && counts_plainly(e, row)) return take_plainly(e, row, c, subjects);
    for (uint32_t i = 0, n = c->n; i < n; i++) {
        uint32_t reading = own_reading(e, id, subjects[i], UINT32_MAX);
        if (reading == NO_READING) continue;
        if (aside && set_aside(e, tag, subjects[i], &e->job->readings[reading])) {
            stale[i] = true;
            continue;
        }
        take_reading(e, tag, id, c, i, reading);
        open--;
    }
    return open;
}

static bool is_open(const Col *c, uint32_t i) {
    return (c->st[i] & V_MISSING) && !(c->st[i] & V_SUSPECT);
}

/* Whether a tag is only read here for want of another way: `... else read net lift + lash`. */
static bool read_instead(const Formula *f, TagId tag, bool behind_else) {
    if (!f) return false;
    if (f->kind == F_READ) return behind_else && f->tag == tag;
    return read_instead(f->a, tag, behind_else) ||
           read_instead(f->b, tag, behind_else || f->kind == F_ELSE);
}

/* Takes the values of the tag's formula where it is open. Where it has none either, it is not what
 * is read instead of the tag that is missing, but the tag. */
static uint32_t take_computed(Eval *e, TagId id, Col *c, uint32_t open, const bool *stale) {
    const Col *from = eval_computed(e, id);
    uint32_t asked = UINT32_MAX;
    bool instead = false;
    for (uint32_t i = 0; from && i < c->n; i++) {
        if (!is_open(c, i)) continue;
        c->from[i] = from->from[i];
        c->st[i] = from->st[i];
        if (from->st[i] & V_MISSING) {
            if (c->from[i] != asked) { /* the same for all of them, mostly */
                asked = c->from[i];
                instead = read_instead(e->v->tags[id].is, (TagId)asked, false);
            }
            if (instead) c->from[i] = id;
            continue;
        }
        c->v[i] = from->v[i];
        c->st[i] = (uint8_t)(from->st[i] & ~V_READ);
        if (stale[i]) c->st[i] |= V_CARRIED;
        open--;
    }
    return open;
}

/* Values said higher up: for the cylinder, the bank, the engine; for an item then its set. */
static uint32_t upper_levels(Eval *e, TagId id, Col *c, uint32_t open, const bool *stale) {
    const Tag *tag = &e->v->tags[id];
    const Chain *chain = e->job->chain;
    if (chain->row[id] == CHAIN_NO_ROW ||
        !(chain_row(e->job, id)->classes & ~((uint32_t)1 << tag->of)))
        return open;
    for (uint32_t i = 0; i < c->n; i++) {
        if (!is_open(c, i) || stale[i]) continue;
        SubjectId subject = class_subject(e, tag->of, i);
        uint32_t reading = NO_READING;
        SubjectId at = state_up(e->state, subject);
        for (; at != SUBJECT_NONE && reading == NO_READING; at = state_up(e->state, at)) {
            reading = own_reading(e, id, at, UINT32_MAX);
            if (at == SUBJECT_ENGINE) break;
        }
        const Subject *s = &e->job->subjects[subject];
        if (reading == NO_READING && s->kind == SUBJECT_ITEM) {
            reading = state_reading(e->state, id, SUBJECT_ENGINE, UINT32_MAX);
            if (reading == NO_READING && s->up != SUBJECT_NONE)
                reading = state_reading(e->state, id, s->up, UINT32_MAX);
        }
        if (reading == NO_READING) continue;
        take_reading(e, tag, id, c, i, reading);
        c->st[i] |= V_ABOVE;
        open--;
    }
    return open;
}

bool card_reading(Eval *e, TagId tag, SubjectId id, const Job **card, uint32_t *reading) {
    const Job *j = e->job;
    for (uint8_t i = 0; i < j->card_count; i++) {
        const CardUse *use = &j->cards[i];
        if (!use->card) continue;
        uint32_t found = chain_last(use->card, tag, SUBJECT_ENGINE);
        while (found != NO_READING && (use->card->readings[found].flags & READ_BAD))
            found = chain_prev(use->card, found);
        if (found == NO_READING || !state_card_applies(e->state, use, id)) continue;
        *card = use->card;
        *reading = found;
        return true;
    }
    return false;
}

static void card_level(Eval *e, TagId id, Col *c, const bool *stale) {
    const Tag *tag = &e->v->tags[id];
    for (uint32_t i = 0; i < c->n; i++) {
        const Job *card;
        uint32_t reading;
        if (!is_open(c, i) || stale[i] ||
            !card_reading(e, id, class_subject(e, tag->of, i), &card, &reading))
            continue;
        c->v[i] = card->readings[reading].value;
        c->st[i] = V_READ | V_NOMINAL;
        c->from[i] = reading;
    }
}

/* Of a tag that the log never reads, and that can be worked out everywhere: what was worked out is
 * its column. NULL when that is not so. */
static const Col *computed_whole(Eval *e, TagId id) {
    const Tag *tag = &e->v->tags[id];
    if (!tag->is || tag->kind != TAG_NUMBER || e->job->chain->row[id] != CHAIN_NO_ROW) return NULL;
    const Col *from = eval_computed(e, id);
    return col_is_sound(from) ? from : NULL;
}

static const Col *tag_column(Eval *e, TagId id) {
    const Tag *tag = &e->v->tags[id];
    if (!tag_possible(e, id)) return col_absent(e, tag->of, e->blame[id]);
    const Col *whole = computed_whole(e, id);
    if (whole) return whole;
    Col *c = col_missing(e, tag->of, id);
    if (tag->has_curve || (tag->kind != TAG_NUMBER && tag->kind != TAG_CHOICE &&
                           tag->kind != TAG_STOCK && tag->kind != TAG_DATE))
        return c;
    bool *stale = arena_array(e->arena, c->n + 1, sizeof *stale);
    uint32_t open = own_level(e, id, c, stale);
    if (open && tag->is) open = take_computed(e, id, c, open, stale);
    if (open) open = upper_levels(e, id, c, open, stale);
    if (open && e->job->card_count) card_level(e, id, c, stale);
    return col_settle(c);
}

const Col *eval_tag(Eval *e, TagId id) {
    if (e->cols[id]) return e->cols[id];
    if (e->busy[id]) return col_new(e, e->v->tags[id].of);
    e->busy[id] = true;
    const Col *c = tag_column(e, id);
    e->busy[id] = false;
    return e->cols[id] = c;
}

const Col *eval_computed(Eval *e, TagId id) {
    const Tag *tag = &e->v->tags[id];
    if (!tag->is) return NULL;
    if (!e->computed[id]) e->computed[id] = formula_column(e, tag->is);
    return e->computed[id];
}

const Col *eval_node(Eval *e, const Formula *f) {
    return formula_column(e, f);
}

/* Mostly the log says the number itself, a few lines above. */
static const Reading *said_so_far(const Job *j, TagId tag) {
    for (uint32_t i = j->reading_count; i-- > 0;) {
        const Reading *r = &j->readings[i];
        if (r->tag == tag && r->subject == SUBJECT_ENGINE && !(r->flags & READ_STRUCK)) return r;
    }
    return NULL;
}

double engine_value_so_far(Job *j, TagId tag) {
    const Reading *said = said_so_far(j, tag);
    if (said) return said->flags & READ_SUSPECT ? NAN : said->value;
    chain_build(j);
    State *s = state_at(j, INT32_MAX, j->arena);
    const Col *c = eval_tag(eval_new(s, j->arena), tag);
    return c->st[0] & V_MISSING ? NAN : c->v[0];
}
