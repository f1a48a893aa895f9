/* What the check_*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_CHECK_PARTS_H
#define THOU_COMPUTE_CHECK_PARTS_H

#include "compute/check.h"
#include "compute/eval_parts.h"
#include "compute/fit.h"
#include "compute/say.h"

typedef enum CheckCode {
    LIMIT_BROKEN,
    LIMIT_UNJUDGED,
    AIM_OUTSIDE,
    IMPLAUSIBLE,
    SET_CONTRADICTS,
    DIGITS_SWAPPED,
    UNIT_SLIP,
    CHANGE_UNLIKE,
    AGAINST_TREND,
    NOT_LOWERED,
    NOT_STOCKED,
    STATED_DIFFERS,
    REPEAT_DIFFERS,
    SUSPECT_UNREPEATED,
    GAP,
    WORDS_NEAR,
    ORDER_FORM,
    HEAD_LOOSE,
    RELATION,
    RELATION_DOUBTED,
    CHECK_CODES
} CheckCode;

typedef struct Check {
    Eval *e;
    const Job *job;
    Arena *arena;
    Findings *findings;
    uint8_t *said; /* per reading: a doubt was raised about it already */
    FitHints hints;
    bool brief;
    Source maps[SOURCE_MOST]; /* of the job's sources, with their lines: made when asked for */
    bool met_said;            /* the last search for inputs met one that is in doubt */
    uint32_t row_said;        /* where the condition stands that was named last */
} Check;

/* A finding about a reading; NULL when the person accepted it, or it stands in another log. */
Finding *doubt(Check *c, CheckCode code, uint32_t reading, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* A finding about a computed value: it points at the newest reading the value rests on. */
Finding *doubt_value(Check *c, CheckCode code, TagId tag, SubjectId id, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
Finding *doubt_at(Check *c, CheckCode code, Span span, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* `26-014.job:12`, of a source of the job; a log with many doubts is not counted through for each.
 */
Str place_in(Check *c, uint8_t source, uint32_t off);
/* Puts its name behind those in the list, for a finding: "I1 I2". */
void list_subject(const Check *c, Str *list, SubjectId id);
/* Where a limit or an aim stands. */
Str force_place(Check *c, const Force *f);
/* The newest reading of the log itself that a value rests on; NO_READING. */
uint32_t newest_input(Check *c, TagId tag, SubjectId id);
uint32_t newest_in_formula(Check *c, const Formula *f, SubjectId id);
bool accepted(const Check *c, TagId tag, SubjectId id);
/* Good, in force within its entry, and written in this log. */
static inline bool counts_here(const Check *c, uint32_t reading) {
    const Reading *r = &c->job->readings[reading];
    return r->source == 0 && !(r->flags & (READ_BAD | READ_REPEATED | READ_WORDS));
}
/* Whether a check may find something in the readings of a tag: a question about all of them at
 * once, which spares most logs most looks at single ones. */
typedef bool AsksOfRow(const Check *c, const Tag *tag, const ChainRow *row);
/* A bit per reading: whether it is of a tag in which the check may find something. */
const uint64_t *readings_asked(const Check *c, AsksOfRow *may_find);
/* The first such reading from i on, in the order of the file; reading_count. */
static inline uint32_t next_asked(const Check *c, const uint64_t *asked, uint32_t i) {
    uint32_t count = c->job->reading_count;
    while (i < count) {
        uint64_t left = asked[i / 64] >> i % 64;
        if (left) return i + (unsigned)__builtin_ctzll(left);
        i = (i | 63) + 1;
    }
    return count;
}
/* The good reading of the same thing and condition in an earlier entry; NO_READING. */
uint32_t earlier_reading(const Check *c, uint32_t reading);

/* The slip that brings a value between two others: what it is of what it should be ("10 times", "a
 * tenth of"); NULL. */
const char *slip_between(double value, double a, double b);

/* check_reading.c, check_history.c, check_set.c, check_curve.c, check_head.c, check_value.c: one
 * function a check */
void check_readings(Check *c);
void check_histories(Check *c);
void check_sets(Check *c);
void check_computed_sets(Check *c);
void check_curves(Check *c);
void check_changes(Check *c);
void check_gaps(Check *c);  /* check_gap.c */
void check_seats(Check *c); /* check_seat.c */
void check_heads(Check *c);
void check_words(Check *c); /* check_words.c */
void check_limits(Check *c);
void check_aims(Check *c); /* check_aim.c */
void check_computed_plausible(Check *c);
void check_stated(Check *c);
void check_relations(Check *c);

#endif
