/* Quantities that are only measured, and curves: straight from the chains of readings. */
#include "compute/series_parts.h"

#include "base/number.h"
#include "compute/repeated.h"

#include <math.h>

typedef struct Visit { /* the readings of one subject in one entry */
    uint32_t entry;
    uint32_t last, before; /* chain: the last reading of the entry, the one before the entry */
} Visit;

static bool counts(const Reading *r) {
    return !(r->flags & (READ_BAD | READ_REPEATED));
}

/* In the order in which they follow each other. */
static Visit *visits_of(Follow *f, SubjectId id, uint32_t *count) {
    const Job *j = f->j;
    uint32_t n = 0, room = 0;
    Visit *v = NULL;
    for (uint32_t i = chain_last(j, f->ask->tag, id); i != NO_READING;) {
        Visit visit = {.entry = reading_entry(j, &j->readings[i]), .last = i};
        while (i != NO_READING && reading_entry(j, &j->readings[i]) == visit.entry)
            i = chain_prev(j, i);
        visit.before = i;
        arena_grow(f->scratch, v, n, room);
        v[n++] = visit;
    }
    for (uint32_t i = 0; i < n / 2; i++) {
        Visit swap = v[i];
        v[i] = v[n - 1 - i];
        v[n - 1 - i] = swap;
    }
    *count = n;
    return v;
}

static void count_out(Follow *f, const Visit *v, LeftOut *out) {
    const Job *j = f->j;
    for (uint32_t i = v->last; i != v->before; i = chain_prev(j, i)) {
        uint16_t flags = j->readings[i].flags;
        if (flags & READ_STRUCK)
            out->struck++;
        else if (flags & READ_REPLACED)
            out->replaced++;
        else if ((flags & READ_SUSPECT) && !(flags & READ_REPEATED))
            out->suspect++;
    }
}

/* ---- repeats ----------------------------------------------------------------------------------
 */

static void take_repeats(Follow *f, const Visit *v) {
    for (uint32_t i = v->last; i != v->before; i = chain_prev(f->j, i))
        repeated_add(f->j, i, &f->out->repeats);
}

/* ---- the condition -----------------------------------------------------------------------------
 */

/* What the vocabulary compares at; else the most common condition, the earlier of equals. */
static double common_condition(Follow *f, const SubjectId *ids, uint32_t count) {
    const Job *j = f->j;
    double at[64];
    uint32_t times[64], n = 0;
    for (uint32_t s = 0; s < count; s++) {
        uint32_t visits;
        Visit *v = visits_of(f, ids[s], &visits);
        for (uint32_t k = 0; k < visits; k++) {
            for (uint32_t i = v[k].last; i != v[k].before; i = chain_prev(j, i)) {
                if (!counts(&j->readings[i])) continue;
                uint32_t h = 0;
                while (h < n && !same_condition(at[h], j->readings[i].at))
                    h++;
                if (h == 64) continue;
                if (h == n) {
                    at[n] = j->readings[i].at;
                    times[n++] = 0;
                }
                times[h]++;
            }
        }
    }
    uint32_t best = 0; /* chains run backwards: of equals the last found was written first */
    for (uint32_t h = 1; h < n; h++) {
        if (times[h] >= times[best]) best = h;
    }
    return n ? at[best] : NAN;
}

static double compared_at(Follow *f, uint32_t position) {
    if (!isnan(f->ask->at)) return f->ask->at;
    TagId by = f->tag->compared_at;
    if (by == TAG_NONE || !f->end_eval) return NAN;
    const Col *c = eval_tag(f->end_eval, by);
    ClassId of = f->v->tags[by].of;
    uint32_t i = eval_related(f->end_eval, f->tag->of, of, position);
    return i == UINT32_MAX || (c->st[i] & (V_MISSING | V_NOMINAL)) ? NAN : c->v[i];
}

/* ---- points ------------------------------------------------------------------------------------
 */

static void keep_curve(Follow *f, const Curve *c, Series *s) {
    if (c->count < 2 || (c->st & (V_MISSING | V_EXTENDED))) return;
    SeriesCurve *kept = arena_alloc(f->a, sizeof *kept);
    kept->count = c->count < SERIES_CONDITIONS ? c->count : SERIES_CONDITIONS;
    kept->at = arena_array(f->a, (size_t)kept->count * 2, sizeof(double));
    kept->value = kept->at + kept->count;
    for (uint32_t i = 0; i < kept->count; i++) {
        kept->at[i] = c->points[i].at;
        kept->value[i] = c->points[i].value;
    }
    *(s->first ? &s->last : &s->first) = kept;
}

static void curve_point_of(Follow *f, Series *s, SubjectId id, const Visit *v) {
    uint32_t i = v->last;
    Curve c = curve_as_of(f->j, &i, f->scratch);
    if (c.count == 0) return;
    uint8_t st = 0;
    double y = curve_at(&c, s->at, f->tag->reach, &st);
    if (st & V_MISSING) {
        s->left_out.beyond++;
        return;
    }
    const Point *own = curve_point(&c, s->at);
    const Reading *r = &f->j->readings[own ? own->reading : c.points[0].reading];
    if (!s->at_text.n && own) s->at_text = say_condition(f->a, f->j, r, SYSTEM_NONE);
    keep_curve(f, &c, s);
    follow_point(f, s, id, v->entry, y, reading_step(r), st);
}

static double as_read(const Job *j, const Reading *r) {
    Number n;
    if (!(r->flags & READ_GAUGED) || number_read(reading_text(j, r), &n) != NUMBER_OK)
        return r->value;
    return unit_to_si(r->unit, n.value);
}

/* The last that counts; of spots what the vocabulary makes of them. */
static void plain_point_of(Follow *f, Series *s, SubjectId id, const Visit *v) {
    const Job *j = f->j;
    double sum = 0, low = INFINITY, high = -INFINITY, used = NAN, step = 0;
    uint32_t n = 0;
    for (uint32_t i = v->last; i != v->before; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (!counts(r)) continue;
        step = fmax(step, reading_step(r));
        if (!(r->flags & READ_SPOT)) {
            double y = f->ask->as_read ? as_read(j, r) : r->value;
            follow_point(f, s, id, v->entry, y, step, V_READ);
            return;
        }
        if (f->tag->uses_spot && (uint8_t)r->at == f->tag->used_spot) used = r->value;
        sum += r->value;
        low = fmin(low, r->value);
        high = fmax(high, r->value);
        n++;
    }
    if (n == 0 || (f->tag->uses_spot && isnan(used))) return;
    double y = f->tag->uses_spot                        ? used
               : f->tag->used_aggregate == AGG_LARGEST  ? high
               : f->tag->used_aggregate == AGG_SMALLEST ? low
               : f->tag->used_aggregate == AGG_SPREAD   ? high - low
                                                        : sum / n;
    follow_point(f, s, id, v->entry, y, step, 0);
}

/* Where an item sat in an entry: there at its end, else where the same log puts it next. */
static SubjectId *places_in_time(Follow *f, SubjectId id, const Visit *v, uint32_t count) {
    const Job *j = f->j;
    SubjectId *at = arena_array(f->scratch, count + 1, sizeof *at);
    for (uint32_t k = 0; k < count; k++) {
        at[k] = SUBJECT_NONE;
        uint8_t source = j->entries[v[k].entry].source;
        for (uint32_t i = 0; i < j->event_count; i++) {
            const Event *e = &j->events[i];
            bool later = e->entry > v[k].entry;
            if (later && (at[k] != SUBJECT_NONE || e->source != source)) break;
            if (e->kind == EVENT_PLACE && e->subject == id) at[k] = e->subject2;
            if (later) continue;
            bool out = (e->kind == EVENT_PLACE && e->subject != id && at[k] == e->subject2) ||
                       (e->kind == EVENT_EMPTY && at[k] == e->subject2);
            if (out) at[k] = SUBJECT_NONE;
        }
    }
    return at;
}

static Str place_name(Follow *f, SubjectId at) {
    return at == SUBJECT_NONE ? str_none : subject_name(f->j, at, f->a);
}

static void follow_visits(Follow *f, SubjectId id, const Visit *v, uint32_t count, double at) {
    SubjectId now = f->is_item && f->end->sits_at ? f->end->sits_at[id] : SUBJECT_NONE;
    bool look = f->is_item && (f->ask->by_place || now == SUBJECT_NONE);
    SubjectId *sat = look ? places_in_time(f, id, v, count) : NULL;
    uint32_t series = 0;
    for (uint32_t k = 0; k < count; k++) {
        if (f->j->entries[v[k].entry].date.day == DAY_NONE) continue;
        uint32_t when = 0;
        TagId by = k && f->tag->set_aside_count
                       ? follow_aside(f, id, v[k - 1].entry, v[k].entry, &when)
                       : TAG_NONE;
        bool moved = k && f->ask->by_place && sat && sat[k - 1] != SUBJECT_NONE &&
                     sat[k] != SUBJECT_NONE && sat[k] != sat[k - 1];
        if (!series || by != TAG_NONE || moved) {
            Str began = by == TAG_NONE ? str_none : follow_began(f, by, when);
            follow_series(f, id, place_name(f, sat ? sat[k] : now), (Str){0}, began, count - k);
            series = f->out->count;
            f->out->items[series - 1].at = at;
        }
        Series *s = &f->out->items[series - 1];
        if (!follow_skips(f, v[k].entry)) {
            count_out(f, &v[k], &s->left_out);
            take_repeats(f, &v[k]);
        }
        if (sat && sat[k] != SUBJECT_NONE) s->place = place_name(f, sat[k]);
        if (f->tag->has_curve)
            curve_point_of(f, s, id, &v[k]);
        else
            plain_point_of(f, s, id, &v[k]);
    }
}

/* Of the subjects that stand for one condition: those of a set, or all there are. */
static double shared_condition(Follow *f, uint32_t position) {
    double at = compared_at(f, position);
    if (!isnan(at) || !f->tag->has_curve) return at;
    const SubjectList *all = &f->j->classes[f->tag->of];
    SubjectId up = f->j->subjects[all->ids[position]].up;
    SubjectId *ids = arena_array(f->scratch, all->count + 1, sizeof *ids);
    uint32_t n = 0;
    for (uint32_t i = 0; i < all->count; i++) {
        if (!f->is_item || f->j->subjects[all->ids[i]].up == up) ids[n++] = all->ids[i];
    }
    return common_condition(f, ids, n);
}

/* An item whose readings are above it (its set's) or of another class has none of its own. */
void follow_readings(Follow *f) {
    const SubjectList *all = &f->j->classes[f->tag->of];
    SubjectId set = SUBJECT_NONE;
    double at = NAN;
    for (uint32_t i = 0; i < all->count; i++) {
        SubjectId up = f->j->subjects[all->ids[i]].up;
        if (f->tag->has_curve && (i == 0 || up != set || !f->is_item || isnan(at)))
            at = i && !f->is_item && !isnan(at) ? at : shared_condition(f, i);
        set = up;
        uint32_t count;
        Visit *v = visits_of(f, all->ids[i], &count);
        if (count) follow_visits(f, all->ids[i], v, count, at);
    }
}
