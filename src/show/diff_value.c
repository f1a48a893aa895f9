/* The texts of one row of a comparison. */
#include "show/diff_parts.h"

#include <math.h>

static const Reading *reading_of(const Diff *d, const CompareRow *r, int side) {
    const CompareSide *s = &r->side[side];
    return s->reading == NO_READING ? NULL : &d->j[side]->readings[s->reading];
}

static bool is_number(const CompareRow *r) {
    return r->kind == COMPARE_READING || r->kind == COMPARE_COMPUTED;
}

/* B's unit as written, else A's; of what was worked out the one it is shown in. */
const Unit *diff_unit(const Diff *d, const CompareRow *r) {
    if (!is_number(r)) return NULL;
    for (int side = 1; side >= 0; side--) {
        const Reading *reading = reading_of(d, r, side);
        if (reading) return reading->unit;
    }
    return say_unit(d->j[1], r->tag, SYSTEM_NONE).unit;
}

/* Decimals that show in `to` what `places` show in `from`. */
static int places_in(const Unit *from, const Unit *to, int places) {
    if (from == to) return places;
    int moved = places + (int)lround(log10(to->factor / from->factor));
    return moved < 0 ? 0 : moved > 9 ? 9 : moved;
}

static int side_places(const Diff *d, const CompareRow *r, int side, const Unit *unit) {
    const Reading *reading = reading_of(d, r, side);
    if (reading && !(reading->flags & READ_FRACTION))
        return places_in(reading->unit, unit, reading->places);
    Shown how = say_unit(d->j[side], r->tag, SYSTEM_NONE);
    return places_in(how.unit, unit, how.places);
}

/* What is worked out is given enough places for a difference to show. */
static int row_places(const Diff *d, const CompareRow *r, int side, const Unit *unit) {
    int places = side_places(d, r, side, unit);
    if (r->how != COMPARE_CHANGED) return places;
    return places_to_tell(unit, r->side[0].value, r->side[1].value, places);
}

static Str number_text(const Diff *d, const CompareRow *r, int side) {
    const CompareSide *s = &r->side[side];
    const Unit *unit = diff_unit(d, r);
    const Reading *reading = reading_of(d, r, side);
    Str text;
    if (reading && reading->unit == unit)
        text = say_reading(d->a, d->j[side], reading, SYSTEM_NONE, false);
    else
        text = say_number(d->a, (Shown){unit, row_places(d, r, side, unit)}, s->value, false);
    char mark = s->st & V_SUSPECT                  ? '?'
                : s->st & V_NOMINAL                ? '*'
                : s->on_curve                      ? '^'
                : s->st & (V_CARRIED | V_EXTENDED) ? '~'
                : s->st & V_PARTIAL                ? '+'
                                                   : '\0';
    return mark ? arena_printf(d->a, "%.*s%c", STR_ARG(text), mark) : text;
}

Str diff_side(const Diff *d, const CompareRow *r, int side) {
    const CompareSide *s = &r->side[side];
    if (!s->there) return STR("-");
    return is_number(r) ? number_text(d, r, side) : s->words;
}

static Str with_sign(const Diff *d, double v, int places) {
    Str text = say_number(d->a, (Shown){unit_find(STR(""), DIM_NUMBER), places}, v, false);
    return v > 0 ? arena_printf(d->a, "+%.*s", STR_ARG(text)) : text;
}

Str diff_difference(const Diff *d, const CompareRow *r) {
    const Unit *unit = diff_unit(d, r);
    if (!unit || isnan(r->difference)) return (Str){0};
    int a = row_places(d, r, 0, unit), b = row_places(d, r, 1, unit);
    return with_sign(d, unit_diff_from_si(unit, r->difference), a > b ? a : b);
}

Str diff_percent(const Diff *d, const CompareRow *r) {
    if (isnan(r->part) || isnan(r->difference)) return (Str){0};
    double percent = 100 * r->part, size = fabs(percent);
    return with_sign(d, percent, size == 0 || size >= 0.95 ? 1 : size >= 0.095 ? 2 : 3);
}

Str diff_condition(const Diff *d, const CompareRow *r) {
    if (!r->has_at) return (Str){0};
    const Job *j = d->j[r->at_side];
    return say_condition(d->a, j, &j->readings[r->at_reading], SYSTEM_NONE);
}

static Str name_of(const Diff *d, int side, SubjectId id) {
    return id == SUBJECT_NONE || id == SUBJECT_ENGINE ? str_none
                                                      : subject_name(d->j[side], id, d->a);
}

Str diff_subject(const Diff *d, const CompareRow *r, int side) {
    return name_of(d, side, r->subject[side]);
}

Str diff_place(const Diff *d, const CompareRow *r, int side) {
    return name_of(d, side, r->place[side]);
}

bool diff_moved(const Diff *d, const CompareRow *r) {
    if (r->subject[0] == SUBJECT_NONE || r->subject[1] == SUBJECT_NONE || r->by_place) return false;
    return !str_ieq(diff_place(d, r, 0), diff_place(d, r, 1));
}

Str diff_who(const Diff *d, const CompareRow *r) {
    int side = r->subject[1] != SUBJECT_NONE;
    Str who = diff_subject(d, r, side), was = diff_subject(d, r, 0);
    Str from = diff_place(d, r, 0), to = diff_place(d, r, 1);
    if (r->by_place && to.n)
        return arena_printf(d->a, "%.*s: %.*s / %.*s", STR_ARG(to), STR_ARG(was), STR_ARG(who));
    if (r->by_place) return arena_printf(d->a, "%.*s / %.*s", STR_ARG(was), STR_ARG(who));
    if (!diff_moved(d, r))
        return to.n && side ? arena_printf(d->a, "%.*s at %.*s", STR_ARG(who), STR_ARG(to)) : who;
    return arena_printf(d->a, "%.*s, %s%.*s -> %s%.*s", STR_ARG(who), from.n ? "" : "out",
                        (int)from.n, from.n ? from.p : "", to.n ? "" : "out", (int)to.n,
                        to.n ? to.p : "");
}

static bool is_limited(const State *s, TagId tag) {
    for (uint32_t i = 0; i < s->force_count; i++) {
        if (s->forces[i].kind == EVENT_LIMIT && s->forces[i].tag == tag) return true;
    }
    return false;
}

bool diff_wanted(const Diff *d, const CompareRow *r) {
    if (r->kind != COMPARE_COMPUTED || d->how->computed) return true;
    return is_limited(eval_state(d->e[0]), r->tag) || is_limited(eval_state(d->e[1]), r->tag);
}

bool diff_listed(const Diff *d, const CompareRow *r) {
    if (r->how == COMPARE_NOT_AGAIN || !diff_wanted(d, r)) return false;
    return d->how->all || r->how == COMPARE_CHANGED || r->how == COMPARE_DOUBTED;
}
