/*
 * Values in words: in the unit a builder uses, with the digits they were given (readings) or the
 * vocabulary's (computed), and never printed so that they contradict their verdict.
 */
#ifndef THOU_COMPUTE_SAY_H
#define THOU_COMPUTE_SAY_H

#include "compute/eval.h"

/* What a value of a tag is shown in: the tag's unit in the asked-for system (SYSTEM_NONE: the job's
 * own, then the shop's, then the vocabulary's), and how many decimals there. */
typedef struct Shown {
    const Unit *unit;
    int places;
} Shown;
Shown say_unit(const Job *j, TagId tag, System system);
/* What the condition of a curve is shown in, and taken for where no unit is said. */
const Unit *say_over(const Job *j, const Tag *tag);
/* "1.220 in"; "1.220" without the unit. A plain number has no unit behind it. */
Str say_number(Arena *a, Shown how, double si, bool with_unit);
Str say_value(Arena *a, const Job *j, TagId tag, double si);
/* A difference (of temperatures: without the offset). */
Str say_difference(Arena *a, Shown how, double si, bool with_unit);
/* A reading with its digits as written, in its own unit: "1.7220 in"; in another system it is
 * converted, with the digits that unit needs for the same resolution. */
Str say_reading(Arena *a, const Job *j, const Reading *r, System system, bool with_unit);
/* Its condition ("1.720 in"), or its spot's name, or empty. */
Str say_condition(Arena *a, const Job *j, const Reading *r, System system);
/* As many decimals as are needed for a and b to look different, at least `places`, at most 9. */
int places_to_tell(const Unit *u, double a, double b, int places);
/* "at least .060 in" as written by its author; the shop's and cards' likewise. */
Str say_range(Arena *a, const Force *f);
/* "bind clearance I3", "chamber spread", with a condition where a limit has one. */
Str say_subject(Arena *a, const Job *j, TagId tag, SubjectId id);
/* "26-014.job:31": where a reading, limit or formula stands. */
Str say_place(Arena *a, const Source *s, uint32_t off);

#endif
