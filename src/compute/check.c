#include "compute/check_parts.h"

#include <stdarg.h>

const FindingKind check_kinds[CHECK_CODES] = {
    [LIMIT_BROKEN] = {"limit-broken", LEVEL_ERROR,
                      "a value beyond a limit, by its author and margin"},
    [LIMIT_UNJUDGED] = {"limit-unjudged", LEVEL_WARNING, "a limit that cannot be judged yet"},
    [AIM_OUTSIDE] = {"aim-outside", LEVEL_WARNING,
                     "an aim that a limit at the same place excludes"},
    [IMPLAUSIBLE] = {"implausible", LEVEL_ERROR,
                     "a value outside its plausible range: a slip of the pen"},
    [SET_CONTRADICTS] = {"set-contradicts", LEVEL_WARNING,
                         "a value that the others of its set contradict"},
    [DIGITS_SWAPPED] = {"digits-swapped", LEVEL_WARNING,
                        "a value that fits its set with two digits swapped"},
    [UNIT_SLIP] =
        {"unit-slip", LEVEL_WARNING,
         "a value 10, 25.4 or 100 times off its set, its curve or what it was; or too fine"},
    [CHANGE_UNLIKE] = {"change-unlike", LEVEL_WARNING,
                       "a change since last time unlike the neighbours'"},
    [AGAINST_TREND] = {"against-trend", LEVEL_WARNING, "a reading that went the way it cannot go"},
    [NOT_LOWERED] = {"not-lowered", LEVEL_WARNING, "a reading that work should have lowered"},
    [NOT_STOCKED] = {"not-stocked", LEVEL_WARNING, "a stack that no stocked sizes make"},
    [STATED_DIFFERS] = {"stated-differs", LEVEL_WARNING,
                        "a stated value that the readings contradict"},
    [REPEAT_DIFFERS] = {"repeat-differs", LEVEL_WARNING, "two readings of one thing that disagree"},
    [SUSPECT_UNREPEATED] = {"suspect-unrepeated", LEVEL_WARNING,
                            "a doubted reading nobody took again"},
    [GAP] = {"gap", LEVEL_WARNING, "a place without what its neighbours have"},
    [WORDS_NEAR] = {"words-near", LEVEL_WARNING, "words that are nearly usual ones"},
    [ORDER_FORM] = {"order-form", LEVEL_WARNING, "an order without each place once"},
    [HEAD_LOOSE] = {"head-loose", LEVEL_WARNING, "work on a head that sits nowhere"},
    [RELATION] = {"relation", LEVEL_ERROR, "a relation of the vocabulary that does not hold"},
    [RELATION_DOUBTED] = {"relation", LEVEL_WARNING,
                          "a relation of the vocabulary that is in doubt"},
};
const size_t check_kinds_count = CHECK_CODES;

static Finding *say(Check *c, CheckCode code, Span span, const char *format, va_list args) {
    char text[1024];
    (void)vsnprintf(text, sizeof text, format, args);
    return finding_add(c->findings, &check_kinds[code], c->job->sources[0], span, "%s", text);
}

bool accepted(const Check *c, TagId tag, SubjectId id) {
    const State *s = c->e->state;
    for (uint32_t i = 0; i < s->force_count; i++) {
        const Force *f = &s->forces[i];
        if (f->kind == EVENT_ACCEPT && f->tag == tag && state_under(s, id, f->subject)) return true;
    }
    return false;
}

static void mark_all(const Job *j, const ChainRow *row, uint64_t *bits) {
    for (SubjectId id = 0; id < j->chain->subjects; id++) {
        for (uint32_t i = row->last[id] - 1; i != NO_READING; i = chain_prev(j, i))
            bits[i / 64] |= (uint64_t)1 << i % 64;
    }
}

const uint64_t *readings_asked(const Check *c, AsksOfRow *may_find) {
    const Job *j = c->job;
    uint64_t *bits = arena_array(c->arena, j->reading_count / 64 + 1, sizeof *bits);
    for (uint32_t k = 0; k < j->chain->row_count; k++) {
        const ChainRow *row = chain_row(j, j->chain->tags[k]);
        if (may_find(c, &j->vocab->tags[j->chain->tags[k]], row)) mark_all(j, row, bits);
    }
    return bits;
}

Str place_in(Check *c, uint8_t source, uint32_t off) {
    Source *map = &c->maps[source];
    if (!map->lines) {
        *map = *c->job->sources[source];
        source_map(map, c->arena);
    }
    return say_place(c->arena, map, off);
}

void list_subject(const Check *c, Str *list, SubjectId id) {
    Str name = subject_name(c->job, id, c->arena);
    *list = arena_printf(c->findings->arena, "%.*s%s%.*s", STR_ARG(*list), list->n ? " " : "",
                         STR_ARG(name));
}

Finding *doubt(Check *c, CheckCode code, uint32_t reading, const char *format, ...) {
    const Reading *r = &c->job->readings[reading];
    if (r->source != 0 || accepted(c, r->tag, r->subject)) return NULL;
    c->said[reading] = 1;
    va_list args;
    va_start(args, format);
    Finding *f = say(c, code, (Span){r->off, r->len}, format, args);
    va_end(args);
    f->tag = c->job->vocab->tags[r->tag].name;
    f->subject = subject_name(c->job, r->subject, c->findings->arena);
    f->value = say_reading(c->findings->arena, c->job, r, SYSTEM_NONE, false);
    if (r->unit) f->unit = str_from(r->unit->name);
    return f;
}

Finding *doubt_at(Check *c, CheckCode code, Span span, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Finding *f = say(c, code, span, format, args);
    va_end(args);
    return f;
}

Finding *doubt_value(Check *c, CheckCode code, TagId tag, SubjectId id, const char *format, ...) {
    if (accepted(c, tag, id)) return NULL;
    uint32_t reading = newest_input(c, tag, id);
    Span span = c->job->continues;
    if (reading != NO_READING)
        span = (Span){c->job->readings[reading].off, c->job->readings[reading].len};
    va_list args;
    va_start(args, format);
    Finding *f = say(c, code, span, format, args);
    va_end(args);
    f->tag = c->job->vocab->tags[tag].name;
    f->subject = subject_name(c->job, id, c->findings->arena);
    return f;
}

/* ---- where a computed value comes from ------------------------------------------------------- */

static uint32_t later(uint32_t a, uint32_t b) {
    if (a == NO_READING) return b;
    return b == NO_READING || a > b ? a : b;
}

static uint32_t own_newest(Check *c, TagId tag, SubjectId id) {
    uint32_t found = NO_READING;
    for (; id != SUBJECT_NONE; id = state_up(c->e->state, id)) {
        uint32_t r = own_reading(c->e, tag, id, UINT32_MAX);
        if (r != NO_READING) c->met_said |= c->said[r];
        if (r != NO_READING && c->job->readings[r].source == 0) found = later(found, r);
        if (r != NO_READING || id == SUBJECT_ENGINE) break;
    }
    return found;
}

enum { DEPTH_MOST = 12 };

static uint32_t inputs_of(Check *c, TagId tag, SubjectId id, unsigned depth);

/* The inputs of a formula seen from one subject; an aggregate's members are all looked at. */
static uint32_t formula_newest(Check *c, const Formula *f, SubjectId id, unsigned depth) {
    if (!f || depth > DEPTH_MOST) return NO_READING;
    Eval *e = c->e;
    if (f->kind == F_AGGREGATE) {
        uint32_t found = NO_READING;
        const uint32_t *map = class_map(e, f->over, f->context);
        for (uint32_t i = 0; i < class_count(e, f->over); i++) {
            if (map && map[i] != e->state->index[id]) continue;
            found = later(found, formula_newest(c, f->a, class_subject(e, f->over, i), depth + 1));
        }
        return found;
    }
    uint32_t found =
        later(formula_newest(c, f->a, id, depth + 1), formula_newest(c, f->b, id, depth + 1));
    if (f->kind > F_SPOT || f->kind == F_NUMBER || f->kind == F_AIM) return found;
    ClassId of = c->job->vocab->tags[f->tag].of;
    uint32_t at = eval_related(e, c->job->subjects[id].cls, of, e->state->index[id]);
    if (at == UINT32_MAX) return found;
    return later(found, inputs_of(c, f->tag, class_subject(e, of, at), depth + 1));
}

static uint32_t inputs_of(Check *c, TagId tag, SubjectId id, unsigned depth) {
    uint32_t own = own_newest(c, tag, id);
    if (own != NO_READING || depth > DEPTH_MOST) return own;
    return formula_newest(c, c->job->vocab->tags[tag].is, id, depth);
}

uint32_t newest_input(Check *c, TagId tag, SubjectId id) {
    c->met_said = false;
    return inputs_of(c, tag, id, 0);
}

uint32_t newest_in_formula(Check *c, const Formula *f, SubjectId id) {
    return formula_newest(c, f, id, 0);
}

/* Doubts about single readings come before those about sets, so that one slip is named once. */
static void (*const checks[])(Check *) = {
    check_readings,  check_sets,   check_curves, check_computed_sets, check_changes,
    check_histories, check_gaps,   check_seats,  check_heads,         check_words,
    check_stated,    check_limits, check_aims,   check_relations,     check_computed_plausible,
};

static void run_checks(Eval *e, bool brief, Findings *findings) {
    Check c = {.e = e, .job = e->job, .arena = e->arena, .findings = findings, .brief = brief};
    c.said = arena_array(e->arena, e->job->reading_count + 1, 1);
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++)
        checks[i](&c);
}

void check_job(Eval *e, Findings *findings) {
    run_checks(e, false, findings);
}

void check_job_briefly(Eval *e, Findings *findings) {
    run_checks(e, true, findings);
}
