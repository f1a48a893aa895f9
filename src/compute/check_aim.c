/* Aims that a limit in force at the same place excludes: whoever meets the one breaks the other. */
#include "compute/check_parts.h"

#include "compute/verdict.h"
#include <math.h>

typedef struct Pair {
    const Force *aim, *limit;
} Pair;

typedef struct Told {
    Pair *items;
    uint32_t count, room;
} Told;

/* In this log, not in one it continues, a card or shop.vocab. */
static bool is_own(const Check *c, const Force *f) {
    return f->event && f->owner == c->job && f->event->source == 0;
}

static bool is_later(const Check *c, const Force *a, const Force *b) {
    if (!is_own(c, a) || !is_own(c, b)) return is_own(c, a);
    return a->event->span.off > b->event->span.off;
}

/* One line may set an aim or a limit for several places: a force each. */
static bool same_line(const Force *a, const Force *b) {
    return a == b ||
           (a->event && b->event && a->owner == b->owner && a->event->source == b->event->source &&
            a->event->span.off == b->event->span.off);
}

static bool told_already(const Told *told, const Pair *p) {
    for (uint32_t i = 0; i < told->count; i++) {
        if (same_line(told->items[i].aim, p->aim) && same_line(told->items[i].limit, p->limit))
            return true;
    }
    return false;
}

static bool same_at(const Force *a, const Force *b) {
    return a->has_at == b->has_at && (!a->has_at || same_condition(a->at, b->at));
}

static bool excludes(const Check *c, const Force *limit, const Force *aim) {
    if (aim->kind != EVENT_AIM || limit->kind != EVENT_LIMIT || limit->tag != aim->tag)
        return false;
    double bound;
    return same_at(limit, aim) &&
           range_margin(&c->job->vocab->tags[aim->tag], &limit->range, aim->range.low, &bound) < 0;
}

/* Of several aims the nearest is in force; of a curve's, each at its condition. */
static bool aimed_at(const Check *c, const Force *aim, SubjectId id) {
    if (c->job->vocab->tags[aim->tag].has_curve) return force_applies(c->e, aim, id);
    const Force *whose;
    (void)eval_aim(c->e, aim->tag, id, &whose);
    return whose == aim;
}

/* A place where both are in force, and nobody lets it stand; SUBJECT_NONE. */
static SubjectId where_both(const Check *c, const Pair *p) {
    ClassId of = c->job->vocab->tags[p->aim->tag].of;
    for (uint32_t i = 0; i < class_count(c->e, of); i++) {
        SubjectId id = class_subject(c->e, of, i);
        if (force_applies(c->e, p->limit, id) && aimed_at(c, p->aim, id) &&
            !accepted(c, p->aim->tag, id))
            return id;
    }
    return SUBJECT_NONE;
}

static void tell(Check *c, const Pair *p, SubjectId id) {
    Shown how = say_unit(c->job, p->aim->tag, SYSTEM_NONE);
    double bound;
    (void)range_margin(&c->job->vocab->tags[p->aim->tag], &p->limit->range, p->aim->range.low,
                       &bound);
    how.places = places_to_tell(how.unit, p->aim->range.low, bound, how.places);
    Str name = say_subject(c->arena, c->job, p->aim->tag, id),
        aim = say_number(c->arena, how, p->aim->range.low, true);
    bool aim_last = is_later(c, p->aim, p->limit);
    const Force *last = aim_last ? p->aim : p->limit, *first = aim_last ? p->limit : p->aim;
    Finding *f =
        doubt_at(c, AIM_OUTSIDE, last->event->span,
                 "the aim of %.*s is %.*s, and its limit is %.*s by %.*s: nothing meets both; the "
                 "other line is %.*s",
                 STR_ARG(name), STR_ARG(aim), STR_ARG(say_range(c->arena, p->limit)),
                 STR_ARG(p->limit->by), STR_ARG(force_place(c, first)));
    f->tag = c->job->vocab->tags[p->aim->tag].name;
    f->by = p->limit->by;
    f->limit = say_range(c->findings->arena, p->limit);
}

void check_aims(Check *c) {
    const State *s = c->e->state;
    Told told = {0};
    for (uint32_t a = 0; a < s->force_count; a++) {
        if (s->forces[a].kind != EVENT_AIM) continue;
        for (uint32_t l = 0; l < s->force_count; l++) {
            Pair p = {&s->forces[a], &s->forces[l]};
            if (!excludes(c, p.limit, p.aim) || (!is_own(c, p.aim) && !is_own(c, p.limit)) ||
                told_already(&told, &p))
                continue;
            SubjectId id = where_both(c, &p);
            if (id == SUBJECT_NONE) continue;
            arena_grow(c->arena, told.items, told.count, told.room);
            told.items[told.count++] = p;
            tell(c, &p, id);
        }
    }
}
