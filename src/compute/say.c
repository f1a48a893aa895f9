#include "compute/say.h"

#include "base/buf.h"
#include "base/number.h"

#include <math.h>

enum { PLACES_MOST = 9 };

static const Unit *job_unit(const Job *j, const Tag *tag) {
    if (j->units != SYSTEM_NONE) return unit_in(tag->unit, j->units);
    if (!tag->unit_from_shop && j->vocab->units != SYSTEM_NONE)
        return unit_in(tag->unit, j->vocab->units);
    return tag->unit;
}

/* Decimals that show the same step in another unit: .001 in is 0.02 mm, so 3 become 2. */
static int moved_places(const Unit *from, const Unit *to, int places) {
    if (from == to) return places;
    int shift = from->other && to->name && strcmp(from->other, to->name) == 0
                    ? from->places_shift
                    : (int)lround(log10(to->factor / from->factor));
    int moved = places + shift;
    return moved < 0 ? 0 : moved > PLACES_MOST ? PLACES_MOST : moved;
}

Shown say_unit(const Job *j, TagId id, System system) {
    const Tag *tag = &j->vocab->tags[id];
    const Unit *unit = system == SYSTEM_NONE ? job_unit(j, tag) : unit_in(tag->unit, system);
    return (Shown){unit, moved_places(tag->unit, unit, tag->places)};
}

const Unit *say_over(const Job *j, const Tag *tag) {
    System system = j->units != SYSTEM_NONE ? j->units : j->vocab->units;
    return system == SYSTEM_NONE ? tag->over : unit_in(tag->over, system);
}

static Str fixed(Arena *a, double v, int places, const Unit *unit, bool with_unit) {
    Buf b = {0};
    buf_fixed(&b, v, places);
    Str digits = buf_str(&b);
    bool named = with_unit && unit && unit->name[0];
    Str out =
        arena_printf(a, "%.*s%s%s", STR_ARG(digits), named ? " " : "", named ? unit->name : "");
    buf_release(&b);
    return out;
}

Str say_number(Arena *a, Shown how, double si, bool with_unit) {
    return fixed(a, unit_from_si(how.unit, si), how.places, how.unit, with_unit);
}

Str say_difference(Arena *a, Shown how, double si, bool with_unit) {
    return fixed(a, unit_diff_from_si(how.unit, si), how.places, how.unit, with_unit);
}

Str say_value(Arena *a, const Job *j, TagId tag, double si) {
    return say_number(a, say_unit(j, tag, SYSTEM_NONE), si, true);
}

static Str as_written(Arena *a, Str digits, const Unit *unit, bool with_unit) {
    bool named = with_unit && unit && unit->name[0];
    return arena_printf(a, "%.*s%s%s", STR_ARG(digits), named ? " " : "", named ? unit->name : "");
}

static Str say_stock(Arena *a, const Job *j, const Reading *r) {
    const Source *s = j->sources[r->source];
    return arena_str(a, (Str){s->text.p + r->off, r->len});
}

Str say_reading(Arena *a, const Job *j, const Reading *r, System system, bool with_unit) {
    if (r->flags & READ_WORDS) return say_stock(a, j, r);
    const Unit *unit = system == SYSTEM_NONE ? r->unit : unit_in(r->unit, system);
    if (unit == r->unit && !(r->flags & READ_GAUGED))
        return as_written(a, reading_text(j, r), unit, with_unit);
    int places = moved_places(r->unit, unit, r->flags & READ_FRACTION ? 3 : r->places);
    return fixed(a, unit_from_si(unit, r->value), places, unit, with_unit);
}

Str say_condition(Arena *a, const Job *j, const Reading *r, System system) {
    if (isnan(r->at)) return (Str){0};
    if (r->flags & READ_SPOT) return j->vocab->tags[r->tag].spots[(size_t)r->at];
    const Unit *unit = system == SYSTEM_NONE ? r->at_unit : unit_in(r->at_unit, system);
    Str text = {j->sources[r->source]->text.p + r->at_off, r->at_len};
    if (unit == r->at_unit) return as_written(a, text, unit, true);
    size_t dot = str_find_char(text, '.', 0);
    int places = dot == SIZE_MAX ? 0 : (int)(text.n - dot - 1);
    return fixed(a, unit_from_si(unit, r->at), moved_places(r->at_unit, unit, places), unit, true);
}

int places_to_tell(const Unit *u, double a, double b, int places) {
    double x = unit_from_si(u, a), y = unit_from_si(u, b);
    if (x == y || !isfinite(x) || !isfinite(y)) return places;
    for (; places < PLACES_MOST; places++) {
        if (number_steps(x, (unsigned)places) != number_steps(y, (unsigned)places)) break;
    }
    return places;
}

Str say_range(Arena *a, const Force *f) {
    return arena_str(a, f->text);
}

Str say_subject(Arena *a, const Job *j, TagId tag, SubjectId id) {
    Str name = j->vocab->tags[tag].name;
    if (id == SUBJECT_ENGINE) return name;
    Str subject = subject_name(j, id, a);
    return arena_printf(a, "%.*s %.*s", STR_ARG(name), STR_ARG(subject));
}

Str say_place(Arena *a, const Source *s, uint32_t off) {
    Str name = s->path;
    for (size_t i = name.n; i-- > 0;) {
        if (name.p[i] != '/') continue;
        name = str_skip(name, i + 1);
        break;
    }
    uint32_t line = 1;
    if (s->lines) {
        line = source_line_at(s, off);
    } else {
        for (const char *p = s->text.p, *end = p + off; (p = memchr(p, '\n', (size_t)(end - p)));
             p++)
            line++;
    }
    return arena_printf(a, "%.*s:%u", STR_ARG(name), line);
}
