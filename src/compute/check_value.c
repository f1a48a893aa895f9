/* Doubts about what is computed: limits, relations, stated against computed. */
#include "compute/check_parts.h"

#include "compute/fitted.h"
#include <math.h>

Str force_place(Check *c, const Force *f) {
    if (f->shop) return say_place(c->arena, f->shop->where, f->shop->span.off);
    if (f->owner == c->job) return place_in(c, f->event->source, f->event->span.off);
    return say_place(c->arena, f->owner->sources[f->event->source], f->event->span.off);
}

/* Enough decimals that a margin is told to a tenth of itself, and no more than three beyond the
 * usual. */
static int margin_places(const Unit *u, double margin, int places) {
    double shown = fabs(unit_diff_from_si(u, margin));
    int most = places + 3;
    for (; places < most; places++) {
        double step = pow(10, places);
        if (fabs(nearbyint(shown * step) / step - shown) <= .1 * shown) break;
    }
    return places;
}

static void broken(Check *c, const Verdict *v) {
    const Force *f = v->force;
    Shown how = say_unit(c->job, f->tag, SYSTEM_NONE);
    how.places = places_to_tell(how.unit, v->value, v->bound, how.places);
    Arena *a = c->findings->arena;
    Str hint = {0};
    if (!c->brief) hint = fit_hint(c->e->state, f->tag, &c->hints, c->arena);
    Shown off = {how.unit, margin_places(how.unit, v->margin, how.places)};
    Str value = say_number(a, how, v->value, true), by = say_difference(a, off, -v->margin, true);
    Finding *out = doubt_value(
        c, LIMIT_BROKEN, f->tag, v->subject,
        "%.*s is %.*s%s, but the limit is %.*s by %.*s (%.*s): %s by %.*s%s%s%.*s",
        STR_ARG(say_subject(c->arena, c->job, f->tag, v->subject)), STR_ARG(value),
        v->alone ? " for this part alone" : "", STR_ARG(say_range(a, f)), STR_ARG(f->by),
        STR_ARG(force_place(c, f)), v->value < f->range.low ? "under" : "over", STR_ARG(by),
        v->st & V_NOMINAL ? " (by the card's value; nothing was measured)" : "", hint.n ? "; " : "",
        STR_ARG(hint));
    if (!out) return;
    out->value = say_number(a, how, v->value, false);
    out->unit = str_from(how.unit->name);
    out->limit = say_range(a, f);
    out->by = f->by;
    out->margin = say_difference(a, off, v->margin, false);
}

/* One line may set a limit for several places: a force each. */
static bool same_line(const Force *a, const Force *b) {
    return a == b ||
           (a->event && b->event && a->owner == b->owner && a->tag == b->tag &&
            a->event->source == b->event->source && a->event->span.off == b->event->span.off);
}

/* What is missing for a limit, and where: all of one line, in the order of their places. */
typedef struct Unjudged {
    const Verdict *first; /* NULL: it can be judged everywhere */
    Str places, missing;  /* " I1 I2", "`valve lift` or `lash`" */
    TagId named[4];
    uint8_t named_count;
    uint32_t count;
} Unjudged;

static void name_missing(Check *c, Unjudged *u, const Verdict *v) {
    if ((v->st & V_SUSPECT) || v->missing >= c->job->vocab->tag_count ||
        v->missing == v->force->tag || u->named_count == sizeof u->named / sizeof *u->named)
        return;
    for (uint8_t i = 0; i < u->named_count; i++) {
        if (u->named[i] == v->missing) return;
    }
    u->missing =
        arena_printf(c->arena, "%.*s%s`%.*s`", STR_ARG(u->missing), u->named_count ? " or " : "",
                     STR_ARG(c->job->vocab->tags[v->missing].name));
    u->named[u->named_count++] = v->missing;
}

/* Of the line that verdict *i is of; leaves *i at the last of them. */
static Unjudged unjudged_of(Check *c, const Verdicts *all, uint32_t *i) {
    enum { PLACES_MOST = 24 };
    Unjudged u = {0};
    const Force *force = all->items[*i].force;
    for (; *i < all->count && same_line(all->items[*i].force, force); ++*i) {
        const Verdict *v = &all->items[*i];
        if (v->kind != VERDICT_UNJUDGED) continue;
        if (!u.first) u.first = v;
        name_missing(c, &u, v);
        if (++u.count > PLACES_MOST || v->subject == SUBJECT_ENGINE) continue;
        u.places = arena_printf(c->arena, "%.*s %.*s", STR_ARG(u.places),
                                STR_ARG(subject_name(c->job, v->subject, c->arena)));
    }
    if (u.count > PLACES_MOST) u.places = arena_printf(c->arena, "%.*s ...", STR_ARG(u.places));
    --*i;
    return u;
}

static void unjudged(Check *c, const Unjudged *u) {
    const Force *f = u->first->force;
    if (!f->event || f->event->source != 0) return;
    const Tag *tag = &c->job->vocab->tags[f->tag];
    bool doubted = u->first->st & V_SUSPECT, known = !doubted && u->named_count;
    bool fitted = known && fitted_asked(tag->is, u->named[0]);
    Str what = known ? u->missing : arena_printf(c->arena, "no %.*s", STR_ARG(tag->name));
    Finding *out =
        doubt_at(c, LIMIT_UNJUDGED, f->event->span, "this limit cannot be judged yet%s%.*s: %.*s%s",
                 u->places.n ? " at" : "", STR_ARG(u->places), STR_ARG(what),
                 fitted    ? " is not known for all of the time it was fitted; `thou why` says more"
                 : known   ? " is missing"
                 : doubted ? " is known until what is doubted has been read again"
                           : " was measured or can be computed");
    out->tag = tag->name;
    out->by = f->by;
    out->limit = say_range(c->findings->arena, f);
}

void check_limits(Check *c) {
    Verdicts all = verdicts_of(c->e, c->arena);
    for (uint32_t i = 0; i < all.count; i++) {
        uint32_t from = i;
        Unjudged u = unjudged_of(c, &all, &i);
        if (u.first) unjudged(c, &u);
        for (; from <= i; from++) {
            const Verdict *v = &all.items[from];
            if (v->kind == VERDICT_BROKEN && !v->accepted) broken(c, v);
        }
    }
}

/* The first computed value from position i on that is not plausible; n when there is none. */
static uint32_t next_implausible(const Col *col, const Range *can, uint32_t i) {
    while (i < col->n && ((col->st[i] & (V_MISSING | V_READ | V_ABOVE)) ||
                          (col->v[i] >= can->low && col->v[i] <= can->high)))
        i++;
    return i;
}

void check_computed_plausible(Check *c) {
    const Vocab *v = c->job->vocab;
    for (uint16_t k = 0; k < v->ranged_count; k++) {
        TagId id = v->ranged[k];
        if (!tag_possible(c->e, id)) continue;
        const Tag *tag = &v->tags[id];
        const Col *col = eval_tag(c->e, id);
        for (uint32_t i = 0; (i = next_implausible(col, &tag->plausible, i)) < col->n; i++) {
            SubjectId subject = class_subject(c->e, tag->of, i);
            uint32_t from = newest_input(c, id, subject);
            if (from == NO_READING || c->met_said) continue;
            c->said[from] = 1;
            Finding *f = doubt_value(c, IMPLAUSIBLE, id, subject,
                                     "%.*s comes to %.*s, which is not plausible: one of the "
                                     "readings behind it is wrong (`thou why` shows them)",
                                     STR_ARG(say_subject(c->arena, c->job, id, subject)),
                                     STR_ARG(say_value(c->arena, c->job, id, col->v[i])));
            if (f)
                f->value = say_number(c->findings->arena, say_unit(c->job, id, SYSTEM_NONE),
                                      col->v[i], false);
        }
    }
}

void check_stated(Check *c) {
    const Vocab *v = c->job->vocab;
    for (uint16_t k = 0; k < v->stated_count; k++) {
        TagId id = v->stated[k];
        if (c->job->chain->row[id] == CHAIN_NO_ROW) continue;
        const Tag *tag = &v->tags[id];
        const Col *computed = eval_computed(c->e, id), *stated = eval_tag(c->e, id);
        for (uint32_t i = 0; i < stated->n; i++) {
            if ((computed->st[i] & V_MISSING) || (stated->st[i] & (V_MISSING | V_NOMINAL)) ||
                !(stated->st[i] & V_READ))
                continue;
            double apart = fabs(stated->v[i] - computed->v[i]);
            if (apart <= tag->agrees * fabs(stated->v[i]) * (1 + 1e-9)) continue;
            Shown how = say_unit(c->job, id, SYSTEM_NONE);
            how.places = places_to_tell(how.unit, stated->v[i], computed->v[i], how.places);
            doubt(c, STATED_DIFFERS, stated->from[i],
                  "%.*s is stated as %.*s, but the readings make it %.*s (%.1f percent apart): one "
                  "of them is wrong",
                  STR_ARG(say_subject(c->arena, c->job, id, class_subject(c->e, tag->of, i))),
                  STR_ARG(say_reading(c->arena, c->job, &c->job->readings[stated->from[i]],
                                      SYSTEM_NONE, true)),
                  STR_ARG(say_number(c->arena, how, computed->v[i], true)),
                  100 * apart / fabs(stated->v[i]));
        }
    }
}

/* By which two numbers may differ for rounding alone. */
static double slack(double a, double b) {
    return 1e-9 * (fabs(a) + fabs(b));
}

static bool relation_holds(const Rule *r, double left, double right) {
    switch (r->relation) {
    case RULE_LESS: return left < right;
    case RULE_AT_MOST: return left <= right || left <= right + slack(left, right);
    case RULE_MORE: return left > right;
    case RULE_AT_LEAST: return left >= right || left >= right - slack(left, right);
    }
    return true;
}

/* Whether the person let stand what a side names. */
static bool side_accepted(const Check *c, const Formula *f, SubjectId id) {
    if (!f) return false;
    bool names = f->kind >= F_TAG && f->kind <= F_SPOT && f->tag != TAG_NONE;
    return (names && accepted(c, f->tag, id)) || side_accepted(c, f->a, id) ||
           side_accepted(c, f->b, id);
}

/* What cannot be stays an error: an `accept` may be older, and was meant for a limit. */
static bool relation_accepted(const Check *c, const Rule *r, SubjectId id) {
    return r->level != LEVEL_ERROR &&
           (side_accepted(c, r->left, id) || side_accepted(c, r->right, id));
}

static void relation_broken(Check *c, const Rule *r, SubjectId id) {
    uint32_t a = newest_in_formula(c, r->left, id), b = newest_in_formula(c, r->right, id);
    uint32_t at = a == NO_READING ? b : b == NO_READING || a > b ? a : b;
    Span span = c->job->continues;
    if (at != NO_READING) {
        if (c->said[at]) return; /* the reading is in doubt already */
        span = (Span){c->job->readings[at].off, c->job->readings[at].len};
    }
    Str subject = subject_name(c->job, id, c->findings->arena);
    CheckCode code = r->level == LEVEL_ERROR ? RELATION : RELATION_DOUBTED;
    Finding *f =
        doubt_at(c, code, span, "%.*s%s%.*s: %.*s", STR_ARG(r->name),
                 id == SUBJECT_ENGINE ? "" : " does not hold at ",
                 STR_ARG(id == SUBJECT_ENGINE ? STR(" does not hold") : subject), STR_ARG(r->says));
    f->subject = subject;
    f->tag = r->name;
}

void check_relations(Check *c) {
    const Vocab *v = c->job->vocab;
    for (uint16_t k = 0; k < v->rule_count; k++) {
        const Rule *r = &v->rules[k];
        if (class_count(c->e, r->of) == 0 || !formula_possible(c->e, r->left) ||
            !formula_possible(c->e, r->right))
            continue;
        const Col *left = operand(c->e, r->left), *right = operand(c->e, r->right);
        for (uint32_t i = 0; i < left->n; i++) {
            if ((left->st[i] | right->st[i]) & V_MISSING) continue;
            SubjectId id = class_subject(c->e, r->of, i);
            if (!relation_holds(r, left->v[i], right->v[i]) && !relation_accepted(c, r, id))
                relation_broken(c, r, id);
        }
    }
}
