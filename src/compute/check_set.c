/*
 * What the others of a set contradict. A set is the items of one set, or the places of one letter,
 * at one condition. The scale is 1.4826 times the median absolute deviation, but at least what the
 * vocabulary calls alike, so that a set that agrees to the last digit does not accuse its
 * neighbours; median and deviation stand firm with nearly half of the values bad, so the bad one
 * cannot hide.
 */
#include "compute/check_parts.h"

#include "base/number.h"

#include <math.h>

enum { SET_LEAST = 4 };
static const double FAR = 5;       /* scales from the median: the set contradicts it */
static const double FAR_SWAP = 3;  /* already enough when swapping two digits explains it */
static const double NEAR_BY = 1.5; /* within so many scales a value belongs */

typedef struct Member {
    uint64_t key;    /* set, or letter */
    double at;       /* condition; 0 for none */
    double value;    /* what is compared */
    double now, was; /* of a change: both readings */
    uint32_t entry;  /* of an older one; else 0: the last of each, whenever it was read */
    uint32_t reading;
} Member;

typedef struct Members {
    Member *items;
    uint32_t count, room;
} Members;

static uint64_t set_of(const Subject *s) {
    return s->kind == SUBJECT_ITEM && s->up != SUBJECT_NONE ? (uint64_t)s->up << 8
                                                            : (uint64_t)(uint8_t)s->letter;
}

static void add_member(Check *c, Members *m, uint32_t reading, double value) {
    const Reading *r = &c->job->readings[reading];
    const Subject *s = &c->job->subjects[r->subject];
    arena_grow(c->arena, m->items, m->count, m->room);
    m->items[m->count++] = (Member){
        .key = set_of(s), .at = isnan(r->at) ? 0 : r->at, .value = value, .reading = reading};
}

static int by_group(const void *pa, const void *pb) {
    const Member *a = pa, *b = pb;
    if (a->key != b->key) return a->key < b->key ? -1 : 1;
    if (a->entry != b->entry) return a->entry < b->entry ? -1 : 1;
    if (!same_condition(a->at, b->at)) return a->at < b->at ? -1 : 1;
    return a->reading < b->reading ? -1 : a->reading > b->reading;
}

static bool same_group(const Member *a, const Member *b) {
    return a->key == b->key && a->entry == b->entry && same_condition(a->at, b->at);
}

/* The members with each group together. Mostly there are two or three, which one pass finds. */
static const Member *grouped(Check *c, const Members *m) {
    enum { FEW = 8 };
    uint32_t first[FEW], count[FEW], groups = 0;
    uint8_t *of = arena_array(c->arena, m->count, 1);
    for (uint32_t i = 0; i < m->count; i++) {
        uint32_t g = 0;
        while (g < groups && !same_group(&m->items[first[g]], &m->items[i]))
            g++;
        if (g == FEW) {
            qsort(m->items, m->count, sizeof *m->items, by_group);
            return m->items;
        }
        if (g == groups) first[groups] = i, count[groups++] = 0;
        of[i] = (uint8_t)g;
        count[g]++;
    }
    if (groups == 1) return m->items;
    Member *out = arena_array(c->arena, m->count, sizeof *out);
    uint32_t at[FEW] = {0};
    for (uint32_t g = 1; g < groups; g++)
        at[g] = at[g - 1] + count[g - 1];
    for (uint32_t i = 0; i < m->count; i++)
        out[at[of[i]]++] = m->items[i];
    return out;
}

static int by_value(const void *pa, const void *pb) {
    double a = *(const double *)pa, b = *(const double *)pb;
    return a < b ? -1 : a > b;
}

static double median_of(double *v, uint32_t n) {
    if (n <= 32) {
        for (uint32_t i = 1; i < n; i++) {
            double x = v[i];
            uint32_t k = i;
            for (; k > 0 && v[k - 1] > x; k--)
                v[k] = v[k - 1];
            v[k] = x;
        }
    } else {
        qsort(v, n, sizeof *v, by_value);
    }
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

typedef struct Centre {
    double median, scale;
    double now, was; /* of a change: the middles of both readings */
} Centre;

static double middle_of(const Member *m, uint32_t n, size_t field, double *v) {
    for (uint32_t i = 0; i < n; i++)
        memcpy(&v[i], (const char *)&m[i] + field, sizeof *v);
    return median_of(v, n);
}

static Centre centre_of(Check *c, const Member *m, uint32_t n, double least, double least_part) {
    double *v = arena_array(c->arena, n, sizeof *v);
    Centre centre = {.median = middle_of(m, n, offsetof(Member, value), v)};
    for (uint32_t i = 0; i < n; i++)
        v[i] = fabs(m[i].value - centre.median);
    double scale = 1.4826 * median_of(v, n);
    if (m[0].now != 0) { /* changes */
        centre.now = middle_of(m, n, offsetof(Member, now), v);
        centre.was = middle_of(m, n, offsetof(Member, was), v);
    }
    centre.scale = fmax(scale, fmax(least, least_part * fabs(centre.median)));
    return centre;
}

/* ---- what a bad value might have been -------------------------------------------------------- */

/* The value with two neighbouring digits swapped that lies near the centre; NAN. The text is as
 * written. */
static double swapped_value(const Check *c, const Reading *r, const Centre *centre, char *out,
                            size_t room) {
    Str text = reading_text(c->job, r);
    if (text.n + 1 > room || r->flags & READ_FRACTION) return NAN;
    for (size_t i = 0; i + 1 < text.n; i++) {
        size_t k = text.p[i + 1] == '.'
                       ? i + 2
                       : i + 1; /* digits either side of the point count as neighbours */
        if (k >= text.n || !is_digit(text.p[i]) || !is_digit(text.p[k]) || text.p[i] == text.p[k])
            continue;
        memcpy(out, text.p, text.n);
        out[i] = text.p[k];
        out[k] = text.p[i];
        out[text.n] = 0;
        Number n;
        if (number_read((Str){out, text.n}, &n) != NUMBER_OK) continue;
        double si = unit_to_si(r->unit, n.value);
        if (fabs(si - centre->median) <= NEAR_BY * centre->scale) return si;
    }
    return NAN;
}

const char *slip_between(double value, double a, double b) {
    static const struct {
        double factor;
        const char *words;
    } slips[] = {{10, "10 times"},   {25.4, "25.4 times"},    {100, "100 times"},
                 {.1, "a tenth of"}, {1 / 25.4, "1/25.4 of"}, {.01, "a hundredth of"}};
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
        double mended = value / slips[i].factor;
        if (mended >= fmin(a, b) && mended <= fmax(a, b)) return slips[i].words;
    }
    return NULL;
}

static void name_member(Check *c, TagId tag, const Member *m, uint32_t others,
                        const Centre *centre) {
    (void)tag;
    const Job *j = c->job;
    if (c->said[m->reading]) return;
    const Reading *r = &j->readings[m->reading];
    double off = fabs(m->value - centre->median);
    if (off <= FAR_SWAP * centre->scale) return;
    Str what = say_subject(c->arena, j, r->tag, r->subject),
        value = say_reading(c->arena, j, r, SYSTEM_NONE, true);
    Str middle = say_number(c->arena, say_unit(j, r->tag, SYSTEM_NONE), centre->median, true);
    char digits[64];
    double near = NEAR_BY * centre->scale;
    const char *slip = slip_between(m->value, centre->median - near, centre->median + near);
    if (slip) {
        doubt(c, UNIT_SLIP, m->reading,
              "%.*s = %.*s is about %s what the %u others read (their middle is %.*s): "
              "another unit, or a slipped point?",
              STR_ARG(what), STR_ARG(value), slip, others, STR_ARG(middle));
    } else if (!isnan(swapped_value(c, r, centre, digits, sizeof digits))) {
        doubt(c, DIGITS_SWAPPED, m->reading,
              "%.*s = %.*s does not fit the %u others (their middle is %.*s), and %s would: two "
              "digits swapped?",
              STR_ARG(what), STR_ARG(value), others, STR_ARG(middle), digits);
    } else if (off > FAR * centre->scale) {
        doubt(c, SET_CONTRADICTS, m->reading,
              "%.*s = %.*s does not fit the %u others (their middle is %.*s); measure again, or "
              "accept it with a reason",
              STR_ARG(what), STR_ARG(value), others, STR_ARG(middle));
    }
}

/* Whether values lie so close that, whatever their middle is, none can be far off it. */
static bool are_close(double low, double high, double least, double least_part) {
    double middle = low > 0 ? low : high < 0 ? -high : 0; /* no less than this */
    return high - low <= FAR_SWAP * fmax(least, least_part * middle);
}

static bool agree(const Member *m, uint32_t n, double least, double least_part) {
    double low = m[0].value, high = low;
    for (uint32_t i = 1; i < n; i++) {
        low = m[i].value < low ? m[i].value : low;
        high = m[i].value > high ? m[i].value : high;
    }
    return are_close(low, high, least, least_part);
}

/* Whether, at each condition, all that was ever read of a tag agrees: then so does every set of it,
 * and none need be put together. */
static bool all_agree(const ChainRow *row, double least, double least_part) {
    for (uint8_t k = 0; k < row->extent_count; k++) {
        if (!are_close(row->extents[k].low, row->extents[k].high, least, least_part)) return false;
    }
    return !row->unbounded;
}

typedef void (*Judge)(Check *, TagId, const Member *, uint32_t, const Centre *);

/* Hands on whoever is far off the others. */
static void judge_groups(Check *c, TagId tag, Members *m, double least, double least_part,
                         Judge judge) {
    if (m->count < SET_LEAST) return;
    const Member *all = grouped(c, m);
    for (uint32_t from = 0, to; from < m->count; from = to) {
        for (to = from + 1; to < m->count && same_group(&all[from], &all[to]);)
            to++;
        if (to - from < SET_LEAST || agree(&all[from], to - from, least, least_part)) continue;
        Centre centre = centre_of(c, &all[from], to - from, least, least_part);
        for (uint32_t i = from; i < to; i++) {
            if (fabs(all[i].value - centre.median) > FAR_SWAP * centre.scale)
                judge(c, tag, &all[i], to - from - 1, &centre);
        }
    }
}

/* Every point of the newest entry of a curve, or the one reading that counts; spots are no set. */
static void collect(Check *c, TagId tag, Members *m) {
    const Tag *t = &c->job->vocab->tags[tag];
    for (uint32_t i = 0; i < class_count(c->e, t->of); i++) {
        SubjectId id = class_subject(c->e, t->of, i);
        if (c->e->state->scrapped && c->e->state->scrapped[id])
            continue; /* judged by who scrapped it */
        uint32_t r = state_last(c->e->state, tag, id);
        uint32_t entry = r == NO_READING ? 0 : reading_entry(c->job, &c->job->readings[r]),
                 looked = 0;
        for (; r != NO_READING && ++looked < 256; r = chain_prev(c->job, r)) {
            const Reading *reading = &c->job->readings[r];
            if (reading_entry(c->job, reading) != entry) break;
            if (reading->flags & (READ_BAD | READ_REPEATED | READ_EACH)) continue;
            add_member(c, m, r, reading->value);
            if (!t->has_curve && !t->spot_count) break;
        }
    }
}

static uint32_t newest_entry(const Check *c, TagId tag) {
    const Job *j = c->job;
    ClassId of = j->vocab->tags[tag].of;
    uint32_t newest = 0;
    for (uint32_t i = 0; i < class_count(c->e, of); i++) {
        uint32_t r = chain_last(j, tag, class_subject(c->e, of, i));
        uint32_t entry = r == NO_READING ? 0 : reading_entry(j, &j->readings[r]);
        if (entry > newest) newest = entry;
    }
    return newest;
}

/* A notebook may be typed in years at a time, and a trend rests on the old as on the new: what the
 * entries before the last read of it. */
static void judge_older(Check *c, TagId tag, const Tag *t) {
    const Job *j = c->job;
    Members m = {0};
    uint32_t newest = newest_entry(c, tag);
    for (uint32_t i = 0; i < class_count(c->e, t->of); i++) {
        uint32_t looked = 0;
        for (uint32_t r = chain_last(j, tag, class_subject(c->e, t->of, i));
             r != NO_READING && ++looked < 256; r = chain_prev(j, r)) {
            uint32_t entry = reading_entry(j, &j->readings[r]);
            if (entry == newest || !counts_here(c, r)) continue;
            if (j->readings[r].flags & (READ_EACH | READ_SPOT)) continue;
            add_member(c, &m, r, j->readings[r].value);
            m.items[m.count - 1].entry = entry;
        }
    }
    judge_groups(c, tag, &m, t->alike, t->alike_part, name_member);
}

/* A check spring, read anew in each entry: its own readings are the set. */
static bool is_own_set(const Tag *tag) {
    return tag->of == CLASS_ENGINE && tag->holds_entry && tag->repeatability > 0 && !tag->has_curve;
}

static void judge_own_set(Check *c, TagId tag) {
    Members m = {0};
    uint32_t looked = 0;
    for (uint32_t r = chain_last(c->job, tag, SUBJECT_ENGINE); r != NO_READING && ++looked < 256;
         r = chain_prev(c->job, r)) {
        if (counts_here(c, r)) add_member(c, &m, r, c->job->readings[r].value);
    }
    judge_groups(c, tag, &m, c->job->vocab->tags[tag].repeatability, 0, name_member);
}

void check_sets(Check *c) {
    const Chain *chain = c->job->chain;
    for (uint32_t k = 0; k < chain->row_count; k++) {
        TagId t = chain->tags[k];
        const Tag *tag = &c->job->vocab->tags[t];
        const ChainRow *row = chain_row(c->job, t);
        if (is_own_set(tag) && !all_agree(row, tag->repeatability, 0)) judge_own_set(c, t);
        bool compared = tag->alike > 0 || tag->alike_part > 0;
        if (!compared || all_agree(row, tag->alike, tag->alike_part)) continue;
        Members m = {0};
        collect(c, t, &m);
        judge_groups(c, t, &m, tag->alike, tag->alike_part, name_member);
        judge_older(c, t, tag);
    }
}

/* ---- what is computed of each ---------------------------------------------------------------- */

/* m->reading is its position here. */
static void name_computed(Check *c, TagId tag, const Member *m, uint32_t others,
                          const Centre *centre) {
    if (fabs(m->value - centre->median) <= FAR * centre->scale) return;
    SubjectId id = class_subject(c->e, c->job->vocab->tags[tag].of, m->reading);
    uint32_t from = newest_input(c, tag, id);
    if (from == NO_READING || c->met_said) return;
    if (!doubt_value(
            c, SET_CONTRADICTS, tag, id,
            "%.*s comes to %.*s, which does not fit the %u others (their middle is %.*s): "
            "one of the readings behind it is wrong (`thou why` shows them), or the part is",
            STR_ARG(say_subject(c->arena, c->job, tag, id)),
            STR_ARG(say_value(c->arena, c->job, tag, m->value)), others,
            STR_ARG(say_value(c->arena, c->job, tag, centre->median))))
        return;
    c->said[from] = 1;
}

/* Whether all of it lies so close that no set of its values can contradict one. */
static bool column_agrees(const Col *col, const Tag *tag) {
    double low = INFINITY, high = -INFINITY;
    for (uint32_t i = 0; i < col->n; i++) {
        if (col->st[i] & V_MISSING) continue;
        if (isnan(col->v[i])) return false;
        low = col->v[i] < low ? col->v[i] : low;
        high = col->v[i] > high ? col->v[i] : high;
    }
    return are_close(low, high, tag->alike, tag->alike_part);
}

/* A load may pass among its own, and give the spring a rate that no other has. */
void check_computed_sets(Check *c) {
    const Vocab *v = c->job->vocab;
    for (uint16_t k = 0; k < v->compared_count; k++) {
        TagId id = v->compared[k];
        if (c->job->chain->row[id] != CHAIN_NO_ROW || !tag_possible(c->e, id)) continue;
        const Tag *tag = &v->tags[id];
        const Col *col = eval_tag(c->e, id);
        if (column_agrees(col, tag)) continue;
        Members m = {0};
        for (uint32_t i = 0; i < col->n; i++) {
            SubjectId at = class_subject(c->e, tag->of, i);
            bool scrapped = c->e->state->scrapped && c->e->state->scrapped[at];
            if (scrapped || col->st[i] & (V_MISSING | V_ABOVE | V_DOUBTS)) continue;
            arena_grow(c->arena, m.items, m.count, m.room);
            m.items[m.count++] =
                (Member){.key = set_of(&c->job->subjects[at]), .value = col->v[i], .reading = i};
        }
        judge_groups(c, id, &m, tag->alike, tag->alike_part, name_computed);
    }
}

/* ---- changes since the last entry ------------------------------------------------------------ */

static void name_change(Check *c, TagId tag, const Member *m, uint32_t others,
                        const Centre *centre) {
    (void)tag;
    const Job *j = c->job;
    if (c->said[m->reading]) return;
    const Reading *r = &j->readings[m->reading];
    if (fabs(m->value - centre->median) <= (FAR_SWAP + 1) * centre->scale) return;
    /* what had left the others and came back to them was mended, not misread */
    if (fabs(m->now - centre->now) < fabs(m->was - centre->was)) return;
    Shown how = say_unit(j, r->tag, SYSTEM_NONE);
    doubt(c, CHANGE_UNLIKE, m->reading,
          "%.*s = %.*s changed by %.*s since it was last read, the %u others by about %.*s; "
          "measure again",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
          STR_ARG(say_difference(c->arena, how, m->value, true)), others,
          STR_ARG(say_difference(c->arena, how, centre->median, true)));
}

void check_changes(Check *c) {
    const Chain *chain = c->job->chain;
    for (uint32_t k = 0; k < chain->row_count; k++) {
        TagId t = chain->tags[k];
        const Tag *tag = &c->job->vocab->tags[t];
        if (tag->change_alike <= 0) continue;
        Members now = {0}, changes = {0};
        collect(c, t, &now);
        for (uint32_t i = 0; i < now.count; i++) {
            uint32_t old = earlier_reading(c, now.items[i].reading);
            if (old == NO_READING) continue;
            double was = c->job->readings[old].value, is = now.items[i].value;
            add_member(c, &changes, now.items[i].reading, is - was);
            changes.items[changes.count - 1].now = is;
            changes.items[changes.count - 1].was = was;
        }
        judge_groups(c, t, &changes, tag->change_alike, 0, name_change);
    }
}
