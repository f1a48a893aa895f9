/* Doubts about single readings: plausibility, conditions, repeats, stacks. */
#include "compute/check_parts.h"

#include <math.h>

static bool within(const Range *r, double value) {
    return value != 0 && value >= r->low && value <= r->high;
}

/* The slips that would explain an implausible value: " (10 or 25.4 times too large?)" or nothing.
 */
static Str slip_hint(Check *c, const Tag *tag, double value) {
    static const double factors[] = {10, 25.4, 100, 1000};
    const Range *can = &tag->plausible;
    Str large = {0}, small = {0};
    for (size_t i = 0; i < sizeof factors / sizeof *factors; i++) {
        double f = factors[i];
        if (can->low > -INFINITY && within(can, value / f))
            large = arena_printf(c->arena, "%.*s%s%g", STR_ARG(large), large.n ? " or " : "", f);
        if (can->high < INFINITY && within(can, value * f))
            small = arena_printf(c->arena, "%.*s%s%g", STR_ARG(small), small.n ? " or " : "", f);
    }
    if (large.n) return arena_printf(c->arena, " (%.*s times too large?)", STR_ARG(large));
    if (small.n) return arena_printf(c->arena, " (%.*s times too small?)", STR_ARG(small));
    return (Str){0};
}

/* Decimals at which a bound is what the vocabulary says, to two digits, and the value that is
 * outside looks it. */
static int bound_places(const Unit *u, double bound, double value, int places) {
    double exact = unit_from_si(u, bound);
    if (!isfinite(exact)) return places;
    int most = places + 4;
    for (; places < most; places++) {
        double step = pow(10, places);
        if (fabs(nearbyint(exact * step) / step - exact) <= .005 * fabs(exact)) break;
    }
    return places_to_tell(u, value, bound, places);
}

/* The range that the value lies outside of. */
static Str range_text(Check *c, Shown how, const Range *r, double value) {
    int low_places = bound_places(how.unit, r->low, value, how.places);
    how.places = bound_places(how.unit, r->high, value, low_places);
    Str low = say_number(c->arena, how, r->low, isinf(r->high)),
        high = say_number(c->arena, how, r->high, true);
    if (isinf(r->low)) return arena_printf(c->arena, "at most %.*s", STR_ARG(high));
    if (isinf(r->high)) return arena_printf(c->arena, "at least %.*s", STR_ARG(low));
    return arena_printf(c->arena, "%.*s .. %.*s", STR_ARG(low), STR_ARG(high));
}

static void check_plausible(Check *c, uint32_t i, const Tag *tag) {
    const Reading *r = &c->job->readings[i];
    if (range_has(&tag->plausible, r->value)) return;
    Str value = say_reading(c->arena, c->job, r, SYSTEM_NONE, true);
    Shown how = say_unit(c->job, r->tag, SYSTEM_NONE);
    if (r->unit && r->unit != how.unit) how = (Shown){r->unit, 0}; /* to be compared at a glance */
    doubt(c, IMPLAUSIBLE, i,
          "%.*s = %.*s is not plausible%.*s: it should lie in %.*s; measure again and strike "
          "this one with x",
          STR_ARG(say_subject(c->arena, c->job, r->tag, r->subject)), STR_ARG(value),
          STR_ARG(slip_hint(c, tag, r->value)),
          STR_ARG(range_text(c, how, &tag->plausible, r->value)));
}

/* A small unit alone is written by mistake: the digits of `1.7200000 in` may be a program's. */
static bool is_mistakable(const Unit *u) {
    static const double small_unit = 1e-4;
    return u && u->factor < small_unit && u->dim == DIM_LENGTH;
}

/* `.015 thou` for .015 in: to the thousandth of a thousandth, which no gauge of a shop tells. */
static void check_fineness(Check *c, uint32_t i) {
    static const double finest = 1e-7 * (1 - 1e-9);
    const Reading *r = &c->job->readings[i];
    const Unit *u = r->unit;
    if (!r->places || !is_mistakable(u)) return;
    if (r->value == 0 || reading_step(r) >= finest) return;
    doubt(c, UNIT_SLIP, i,
          "%.*s = %.*s is told to a part of a %s that no gauge shows: is it in another unit?",
          STR_ARG(say_subject(c->arena, c->job, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, c->job, r, SYSTEM_NONE, true)), u->name);
}

/* `3/4 bar` for 3.4 bar: only a rule in inches has fractions. */
static void check_fraction(Check *c, uint32_t i) {
    const Reading *r = &c->job->readings[i];
    if (!r->unit || r->unit->system != SYSTEM_METRIC) return;
    doubt(c, UNIT_SLIP, i,
          "%.*s = %.*s is a fraction of a %s, which no gauge shows: is the slash a point?",
          STR_ARG(say_subject(c->arena, c->job, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, c->job, r, SYSTEM_NONE, true)), r->unit->name);
}

enum { NAMED_MOST = 64 }; /* as many as a grid's head can hold */

typedef struct Conditions {            /* implausible ones */
    uint32_t named[NAMED_MOST], count; /* where the last of them stand */
    uint32_t curve;                    /* a reading of the curve that was doubted last */
} Conditions;

/* In a grid's head it stands once for many readings, and is named once. */
static bool named_already(Conditions *known, uint32_t off) {
    for (uint32_t k = 0; k < known->count && k < NAMED_MOST; k++) {
        if (known->named[k] == off) return true;
    }
    known->named[known->count++ % NAMED_MOST] = off;
    return false;
}

/* What rests on the curve is in doubt with it. */
static void doubt_curve(Check *c, uint32_t i, Conditions *known) {
    const Reading *all = c->job->readings, *r = &all[i];
    c->said[i] = 1;
    if (known->curve != NO_READING && all[known->curve].tag == r->tag &&
        all[known->curve].subject == r->subject && all[known->curve].entry == r->entry)
        return;
    known->curve = i;
    uint32_t looked = 0;
    for (uint32_t k = chain_last(c->job, r->tag, r->subject); k != NO_READING && ++looked < 4096;
         k = chain_prev(c->job, k)) {
        if (all[k].entry == r->entry) c->said[k] = 1;
        if (all[k].entry < r->entry) break;
    }
}

/* `@ 17.20` for 1.720. */
static void check_condition(Check *c, uint32_t i, const Tag *tag, Conditions *known) {
    const Reading *r = &c->job->readings[i];
    const Range *can = &tag->over_plausible;
    if (!r->at_unit || range_has(can, r->at)) return;
    doubt_curve(c, i, known);
    if (named_already(known, r->at_off)) return;
    Str at = say_condition(c->arena, c->job, r, SYSTEM_NONE);
    Shown how = r->at_unit == tag->over ? (Shown){tag->over, 3} : (Shown){r->at_unit, 0};
    Str range = range_text(c, how, can, r->at);
    Finding *f = doubt_at(c, IMPLAUSIBLE, (Span){r->at_off, r->at_len},
                          "%.*s was read at %.*s, and its %.*s should lie in %.*s: a slip of the "
                          "pen? Strike what was read there with x and write it again",
                          STR_ARG(tag->name), STR_ARG(at), STR_ARG(tag->over_name), STR_ARG(range));
    f->tag = tag->name;
}

static bool repeats(const Reading *n, const Reading *r) {
    return n->entry == r->entry && same_condition(n->at, r->at) && !(n->flags & READ_STRUCK);
}

/* The reading that made this one a repeat: the next of the same thing. Mostly it stands close
 * below; else it is found from the newest, which takes long where one thing was read thousands of
 * times. */
static uint32_t repeated_by(const Check *c, uint32_t old) {
    enum { CLOSE = 64 };
    const Reading *all = c->job->readings, *r = &all[old];
    uint32_t found = NO_READING;
    for (uint32_t i = old + 1; i < c->job->reading_count && i - old <= CLOSE; i++) {
        if (all[i].tag == r->tag && all[i].subject == r->subject && repeats(&all[i], r)) return i;
    }
    for (uint32_t i = chain_last(c->job, r->tag, r->subject); i != NO_READING && i != old;
         i = chain_prev(c->job, i)) {
        if (repeats(&all[i], r)) found = i;
    }
    return found;
}

/* How far two readings of one thing may lie apart. A tag that states nothing repeats exactly: two
 * test pressures or two shims in one entry are two states of the work, not the scatter of a gauge.
 */
static double may_differ(const Tag *tag, const Reading *a, const Reading *b) {
    if (tag->repeatability > 0) return tag->repeatability * (1 + 1e-6);
    double exact = 1e-9 * fmax(fabs(a->value), fabs(b->value));
    if (a->unit == b->unit) return exact;
    return exact + (reading_step(a) + reading_step(b)) / 2; /* each rounded in its own unit */
}

static void check_repeat(Check *c, uint32_t i, const Tag *tag) {
    const Reading *r = &c->job->readings[i];
    if (r->flags & (READ_BAD | READ_WORDS)) return;
    uint32_t by = repeated_by(c, i);
    if (by == NO_READING || c->job->readings[by].flags & READ_BAD) return;
    const Reading *later = &c->job->readings[by];
    double apart = fabs(later->value - r->value);
    if (apart <= may_differ(tag, r, later)) return;
    Shown how = say_unit(c->job, r->tag, SYSTEM_NONE);
    Str subject = say_subject(c->arena, c->job, r->tag, r->subject),
        was = say_reading(c->arena, c->job, r, SYSTEM_NONE, true),
        now = say_reading(c->arena, c->job, later, SYSTEM_NONE, true);
    if (tag->repeatability <= 0) {
        doubt(c, REPEAT_DIFFERS, by,
              "%.*s was read %.*s and %.*s in this entry, and only the later one counts, for all "
              "of the entry; strike the wrong one with x, or begin another entry between them",
              STR_ARG(subject), STR_ARG(was), STR_ARG(now));
        return;
    }
    doubt(c, REPEAT_DIFFERS, by,
          "%.*s was read %.*s and %.*s in this entry, %.*s apart, and should repeat within "
          "%.*s; the later one counts",
          STR_ARG(subject), STR_ARG(was), STR_ARG(now),
          STR_ARG(say_difference(c->arena, how, apart, true)),
          STR_ARG(say_difference(c->arena, how, tag->repeatability, true)));
}

static bool sets_aside(const Tag *tag, TagId by) {
    for (uint8_t i = 0; i < tag->set_aside_count; i++) {
        if (tag->set_aside_by[i] == by) return true;
    }
    return false;
}

/* A good reading of the tag before reading i in the same entry, of the same thing. */
static uint32_t beside(const Check *c, uint32_t i, TagId tag) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    for (uint32_t k = chain_last(j, tag, r->subject); k != NO_READING; k = chain_prev(j, k)) {
        const Reading *other = &j->readings[k];
        if (reading_entry(j, other) < reading_entry(j, r)) break;
        if (k < i && counts_here(c, k) && reading_entry(j, other) == reading_entry(j, r)) return k;
    }
    return NO_READING;
}

/* Two tags that set each other aside are the two sides of one quantity, as above and below deck: of
 * one thing, at one time, only one can be. */
static void check_opposed(Check *c, uint32_t i, const Tag *tag) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    for (uint8_t k = 0; k < tag->set_aside_count; k++) {
        TagId opposite = tag->set_aside_by[k];
        if (!sets_aside(&j->vocab->tags[opposite], r->tag)) continue;
        uint32_t other = beside(c, i, opposite);
        if (other == NO_READING || (r->value == 0 && j->readings[other].value == 0)) continue;
        doubt(c, REPEAT_DIFFERS, i,
              "%.*s = %.*s and %.*s = %.*s (%.*s) are the two sides of one reading, and this entry "
              "has both; strike the wrong one with x, or begin another entry between them",
              STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
              STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
              STR_ARG(j->vocab->tags[opposite].name),
              STR_ARG(say_reading(c->arena, j, &j->readings[other], SYSTEM_NONE, true)),
              STR_ARG(place_in(c, 0, j->readings[other].off)));
    }
}

/* A suspect reading that is still the last word on its thing and condition. */
static void check_suspect(Check *c, uint32_t i) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    if (r->source || (r->flags & (READ_STRUCK | READ_REPLACED))) return;
    bool again = false;
    uint32_t looked = 0;
    for (uint32_t k = chain_last(j, r->tag, r->subject);
         k != i && k != NO_READING && ++looked < 4096; k = chain_prev(j, k))
        again |= same_condition(j->readings[k].at, r->at) &&
                 !(j->readings[k].flags & (READ_STRUCK | READ_REPLACED));
    if (again) return;
    doubt(c, SUSPECT_UNREPEATED, i,
          "%.*s is doubted and was not read again: until it is, the value is missing",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)));
}

/* ---- stacks of stocked sizes ----------------------------------------------------------------- */

enum { SIZES_MOST = 16, PIECES_MOST = 6 };

typedef struct Sizes {
    double size[SIZES_MOST];
    uint32_t count;
    uint32_t said; /* the reading that lists them; NO_READING: they are those of the trade */
} Sizes;

enum { STACKS_MOST = 8 };

typedef struct Stocked { /* of the tag looked at last */
    TagId tag;
    Sizes sizes;
    double sound[STACKS_MOST]; /* stacks that leave no doubt: most places have one of a few */
    uint32_t sound_count;
} Stocked;

static bool makes(const Sizes *s, double rest, uint32_t from, unsigned pieces) {
    if (fabs(rest) < 1e-6) return true; /* a micrometre */
    if (rest < 0 || pieces == 0) return false;
    for (uint32_t i = from; i < s->count; i++) {
        if (makes(s, rest - s->size[i], i, pieces - 1)) return true;
    }
    return false;
}

static Sizes stocked_sizes(const Check *c, const Tag *tag) {
    const Job *j = c->job;
    Sizes s = {.said = NO_READING};
    for (uint32_t i = chain_last(j, tag->made_of, SUBJECT_ENGINE); i != NO_READING;
         i = chain_prev(j, i)) {
        if (j->readings[i].flags & READ_BAD) continue;
        const Stock *stock = &j->stocks[(size_t)j->readings[i].value];
        for (uint32_t k = 0; k < stock->count && s.count < SIZES_MOST; k++)
            s.size[s.count++] = stock->sizes[k].size;
        if (s.count) s.said = i;
        break;
    }
    if (s.count) return s; /* the drawer is stated: it counts */
    for (uint8_t k = 0; k < tag->stocked_count && s.count < SIZES_MOST; k++)
        s.size[s.count++] = tag->stocked[k];
    return s;
}

/* Those that were tried; with its line where the log lists them. */
static Str sizes_text(Check *c, const Tag *tag, const Sizes *s) {
    const Job *j = c->job;
    Shown how = say_unit(j, (TagId)(tag - j->vocab->tags), SYSTEM_NONE);
    Str list = {0};
    for (uint32_t i = 0; i < s->count; i++) {
        Shown one = {how.unit, bound_places(how.unit, s->size[i], s->size[i], how.places)};
        list = arena_printf(c->arena, "%.*s%s%.*s", STR_ARG(list), i ? ", " : "",
                            STR_ARG(say_number(c->arena, one, s->size[i], i + 1 == s->count)));
    }
    if (s->said == NO_READING)
        return arena_printf(c->arena, "the usual sizes (%.*s)", STR_ARG(list));
    const Reading *r = &j->readings[s->said];
    return arena_printf(c->arena, "the sizes in `%.*s` (%.*s; %.*s)",
                        STR_ARG(j->vocab->tags[tag->made_of].name), STR_ARG(list),
                        STR_ARG(place_in(c, r->source, r->off)));
}

/* The most that any other place of its kind has. */
static double most_elsewhere(const Check *c, const Reading *r, const Tag *tag) {
    double most = 0;
    for (uint32_t i = 0; i < class_count(c->e, tag->of); i++) {
        SubjectId id = class_subject(c->e, tag->of, i);
        bool alike = c->job->subjects[id].letter == c->job->subjects[r->subject].letter;
        if (id == r->subject || !alike) continue;
        uint32_t other = own_reading(c->e, r->tag, id, UINT32_MAX);
        if (other != NO_READING) most = fmax(most, c->job->readings[other].value);
    }
    return most;
}

/* Whether a tenth of it is a stack of the sizes, too, with a thick piece among them. */
static bool makes_tenth(const Sizes *s, double value) {
    double tenth = value / 10;
    bool large = false;
    for (uint32_t k = 0; k < s->count; k++)
        large |= tenth > s->size[k] * (1 - 1e-9);
    return large && makes(s, tenth, 0, PIECES_MOST);
}

/* `0.15` for .015: a stack of many thick pieces, where a tenth of it is one too, and no other place
 * has half as much. */
static void check_tenfold_stack(Check *c, uint32_t i, const Tag *tag) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    double most = most_elsewhere(c, r, tag);
    if (most <= 0 || most * 2 >= r->value) return;
    doubt(c, UNIT_SLIP, i, "%.*s = %.*s, and no other has more than %.*s: a slipped point?",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
          STR_ARG(say_number(c->arena, say_unit(j, r->tag, SYSTEM_NONE), most, true)));
}

/* Whether it is a stack that leaves no doubt. */
static bool is_sound(Stocked *known, double value) {
    for (uint32_t k = 0; k < known->sound_count && k < STACKS_MOST; k++) {
        if (known->sound[k] == value) return true;
    }
    if (!makes(&known->sizes, value, 0, PIECES_MOST) || makes_tenth(&known->sizes, value))
        return false;
    known->sound[known->sound_count++ % STACKS_MOST] = value;
    return true;
}

static void check_stocked(Check *c, uint32_t i, const Tag *tag, Stocked *known) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    if (known->tag != r->tag) *known = (Stocked){.tag = r->tag, .sizes = stocked_sizes(c, tag)};
    if (!known->sizes.count || is_sound(known, r->value)) return;
    if (makes(&known->sizes, r->value, 0, PIECES_MOST))
        check_tenfold_stack(c, i, tag);
    else
        doubt(c, NOT_STOCKED, i,
              "%.*s = %.*s is no sum of %.*s: a slip, or a size that is not listed?",
              STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
              STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
              STR_ARG(sizes_text(c, tag, &known->sizes)));
}

static bool all_stocked(const Check *c, const Tag *tag, const ChainRow *row) {
    if (row->unbounded) return false;
    Stocked known = {.sizes = stocked_sizes(c, tag)};
    for (SubjectId id = 0; known.sizes.count && id < c->job->chain->subjects; id++) {
        for (uint32_t i = row->last[id] - 1; i != NO_READING; i = chain_prev(c->job, i))
            if (!is_sound(&known, c->job->readings[i].value)) return false;
    }
    return true;
}

/* What is made of a stock; NULL. */
static const Tag *made_of_stock(const Vocab *v, TagId stock) {
    for (TagId t = 0; t < v->tag_count; t++) {
        if (v->tags[t].made_of == stock && v->tags[t].has_plausible) return &v->tags[t];
    }
    return NULL;
}

/* `10 x .60 in` for .060: a stack of it would be chosen. */
static void check_stock(Check *c, uint32_t i) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    const Tag *tag = made_of_stock(j->vocab, r->tag);
    if (!tag || r->source != 0 || r->flags & READ_BAD) return;
    const Stock *stock = &j->stocks[(size_t)r->value];
    for (uint32_t k = 0; k < stock->count; k++) {
        double size = stock->sizes[k].size;
        if (size == 0 || range_has(&tag->plausible, size)) continue;
        Shown how = say_unit(j, (TagId)(tag - j->vocab->tags), SYSTEM_NONE);
        doubt(c, IMPLAUSIBLE, i,
              "a %.*s of %.*s is not plausible%.*s: it should lie in %.*s; mend the size",
              STR_ARG(tag->name), STR_ARG(say_number(c->arena, how, size, true)),
              STR_ARG(slip_hint(c, tag, size)), STR_ARG(range_text(c, how, &tag->plausible, size)));
        return;
    }
}

/* ---- all of them -------------------------------------------------------------------------- */

static bool all_within(const ChainRow *row, const Range *can) {
    bool within = !row->unbounded;
    for (uint8_t k = 0; k < row->extent_count; k++) {
        const Extent *x = &row->extents[k];
        within &=
            isfinite(x->low) && isfinite(x->high) && x->low >= can->low && x->high <= can->high;
    }
    return within;
}

static bool all_at(const ChainRow *row, const Range *can) {
    bool within = !row->unbounded;
    for (uint8_t k = 0; k < row->extent_count; k++)
        within &= range_has(can, row->extents[k].at);
    return within;
}

static bool opposite_read(const Check *c, const Tag *tag) {
    const Vocab *v = c->job->vocab;
    for (uint8_t k = 0; k < tag->set_aside_count; k++) {
        TagId by = tag->set_aside_by[k];
        if (c->job->chain->row[by] != CHAIN_NO_ROW &&
            sets_aside(&v->tags[by], (TagId)(tag - v->tags)))
            return true;
    }
    return false;
}

static bool may_be_doubted(const Check *c, const Tag *tag, const ChainRow *row) {
    return row->flags & (READ_REPEATED | READ_SUSPECT | READ_FRACTION) || tag->kind == TAG_STOCK ||
           row->units_differ || is_mistakable(row->unit) ||
           (tag->has_plausible && !all_within(row, &tag->plausible)) ||
           (tag->has_over_plausible && !all_at(row, &tag->over_plausible)) ||
           opposite_read(c, tag) || (tag->made_of != TAG_NONE && !all_stocked(c, tag, row));
}

static void check_reading(Check *c, uint32_t i, const Tag *tag, Stocked *known,
                          Conditions *conditions) {
    const Reading *r = &c->job->readings[i];
    if (tag->kind == TAG_STOCK) {
        check_stock(c, i);
    } else if (r->flags & READ_REPEATED) {
        check_repeat(c, i, tag);
    } else if (r->flags & READ_SUSPECT) {
        check_suspect(c, i);
    } else if (counts_here(c, i)) {
        if (tag->has_plausible) check_plausible(c, i, tag);
        if (!c->said[i]) check_fineness(c, i);
        if (r->flags & READ_FRACTION) check_fraction(c, i);
        if (tag->set_aside_count && !c->said[i]) check_opposed(c, i, tag);
        if (tag->has_over_plausible) check_condition(c, i, tag, conditions);
        if (tag->made_of != TAG_NONE && !c->said[i]) check_stocked(c, i, tag, known);
    }
}

void check_readings(Check *c) {
    Stocked known = {.tag = TAG_NONE};
    Conditions conditions = {.curve = NO_READING};
    const Job *j = c->job;
    const uint64_t *asked = readings_asked(c, may_be_doubted);
    for (uint32_t i = 0; (i = next_asked(c, asked, i)) < j->reading_count; i++)
        check_reading(c, i, &j->vocab->tags[j->readings[i].tag], &known, &conditions);
}
