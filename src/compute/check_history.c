/* Doubts about a reading by what was read of the same thing before. */
#include "compute/check_parts.h"

#include <math.h>

static inline uint32_t find_earlier(const Job *j, uint32_t i, bool corrections) {
    const Reading *all = j->readings, *r = &all[i];
    uint32_t entry = corrections ? corrected_entry(j, r) : r->entry, looked = 0;
    for (uint32_t k = chain_prev(j, i); k != NO_READING && ++looked < 4096; k = chain_prev(j, k)) {
        const Reading *old = &all[k];
        if ((corrections ? corrected_entry(j, old) : old->entry) == entry) continue;
        if (old->flags & (READ_BAD | READ_REPEATED)) continue;
        if (same_condition(old->at, r->at)) return k;
    }
    return NO_READING;
}

/* Of a log without corrections, as most are, in a loop that calls nothing. */
uint32_t earlier_reading(const Check *c, uint32_t i) {
    return c->job->has_corrections ? find_earlier(c->job, i, true) : find_earlier(c->job, i, false);
}

static void check_trend(Check *c, uint32_t i, uint32_t old, const Tag *tag) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    double by = r->value - j->readings[old].value;
    double wrong = tag->trend == TREND_FALLS ? by : -by;
    if (wrong <= tag->repeatability + 1e-9 * fabs(r->value)) return;
    Str at = say_condition(c->arena, j, r, SYSTEM_NONE);
    doubt(c, AGAINST_TREND, i,
          "%.*s%s%.*s %s from %.*s (%.*s) to %.*s, and it can only %s; measure again, or strike "
          "the wrong one",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)), at.n ? " @ " : "", STR_ARG(at),
          by > 0 ? "rose" : "fell",
          STR_ARG(say_reading(c->arena, j, &j->readings[old], SYSTEM_NONE, true)),
          STR_ARG(place_in(c, j->readings[old].source, j->readings[old].off)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
          tag->trend == TREND_FALLS ? "fall" : "rise");
}

/* The engine has only one of it: no set tells a slipped point, but what was read before does. A
 * reading that repeats within a stated range does not become ten times as much. */
static void check_slipped_since(Check *c, uint32_t i, uint32_t old) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    if (c->said[old]) return;
    double was = j->readings[old].value;
    const char *slip = slip_between(r->value, was * .9, was * 1.1);
    if (!slip) return;
    doubt(c, UNIT_SLIP, i,
          "%.*s = %.*s is about %s what was read before (%.*s, %.*s): another unit, "
          "or a slipped point?",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)), slip,
          STR_ARG(say_reading(c->arena, j, &j->readings[old], SYSTEM_NONE, true)),
          STR_ARG(place_in(c, j->readings[old].source, j->readings[old].off)));
}

static bool worked_between(const Check *c, TagId work, SubjectId id, uint32_t after,
                           uint32_t until) {
    for (; id != SUBJECT_NONE; id = state_up(c->e->state, id)) {
        for (uint32_t i = chain_last(c->job, work, id); i != NO_READING;
             i = chain_prev(c->job, i)) {
            const Reading *r = &c->job->readings[i];
            uint32_t entry = reading_entry(c->job, r);
            if (entry <= after) break;
            if (entry <= until && !(r->flags & READ_BAD)) return true;
        }
        if (id == SUBJECT_ENGINE) break;
    }
    return false;
}

static void check_lowered(Check *c, uint32_t i, uint32_t old, const Tag *tag) {
    const Job *j = c->job;
    const Reading *r = &j->readings[i];
    if (r->value < j->readings[old].value) return;
    if (!worked_between(c, tag->lowered_by, r->subject, reading_entry(j, &j->readings[old]),
                        reading_entry(j, r)))
        return;
    doubt(c, NOT_LOWERED, i,
          "%.*s was %.*s before `%.*s` and is %.*s after it; it should have become less",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_reading(c->arena, j, &j->readings[old], SYSTEM_NONE, true)),
          STR_ARG(j->vocab->tags[tag->lowered_by].name),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)));
}

static bool is_alone(const Tag *tag) {
    return tag->of == CLASS_ENGINE && tag->repeatability > 0;
}

static bool is_lowered(const Check *c, const Tag *tag) {
    return tag->lowered_by != TAG_NONE && c->job->chain->row[tag->lowered_by] != CHAIN_NO_ROW;
}

/* Whether a reading of the subject whose last is given may have gone the way it cannot go, when
 * each is set beside the one before it at its condition. */
static bool goes_against(const Job *j, const Tag *tag, const ChainRow *row, uint32_t last) {
    double newer[EXTENTS_MOST], way = tag->trend == TREND_FALLS ? 1 : -1;
    for (uint8_t k = 0; k < row->extent_count; k++)
        newer[k] = NAN;
    for (uint32_t i = last; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        uint8_t k = 0;
        while (k < row->extent_count && !same_condition(row->extents[k].at, r->at))
            k++;
        if (k == row->extent_count) return true;
        if (way * (newer[k] - r->value) > tag->repeatability) return true;
        newer[k] = r->value;
    }
    return false;
}

/* Whether one may have gone the way it cannot go. Where all count, each once an entry, at
 * conditions that all have their extent, that is told without a search for each. */
static bool may_go_against(const Check *c, const Tag *tag, const ChainRow *row) {
    const Job *j = c->job;
    if (j->has_corrections || row->unbounded || row->flags & (READ_BAD | READ_REPEATED))
        return true;
    for (SubjectId id = 0; id < j->chain->subjects; id++) {
        if (row->last[id] && goes_against(j, tag, row, row->last[id] - 1)) return true;
    }
    return false;
}

static bool has_history(const Check *c, const Tag *tag, const ChainRow *row) {
    if (!row->again && !c->job->has_corrections) return false;
    return is_alone(tag) || is_lowered(c, tag) ||
           (tag->trend != TREND_ANY && may_go_against(c, tag, row));
}

void check_histories(Check *c) {
    const Job *j = c->job;
    const uint64_t *asked = readings_asked(c, has_history);
    for (uint32_t i = 0; (i = next_asked(c, asked, i)) < j->reading_count; i++) {
        if (!counts_here(c, i) || c->said[i]) continue;
        uint32_t old = earlier_reading(c, i);
        if (old == NO_READING) continue;
        const Tag *tag = &j->vocab->tags[j->readings[i].tag];
        if (is_alone(tag)) check_slipped_since(c, i, old);
        if (tag->trend != TREND_ANY) check_trend(c, i, old, tag);
        if (is_lowered(c, tag) && !c->said[i]) check_lowered(c, i, old, tag);
    }
}
