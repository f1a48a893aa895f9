/*
 * Units and dimensions. Inside thou every number is in coherent SI (m, kg, s, K, rad), so formulas
 * need no conversions; a unit is met when a reading comes in and when a value is shown.
 * Factors are exact where the unit is defined exactly (NIST SP 811); the table in units_table.c
 * gives the source of each.
 *
 * A dimension counts twice its exponents (so that roots of areas stay whole), packed one signed
 * byte each: length, mass, time, temperature, angle. Angle is a dimension of its own: adding a
 * speed in rpm to a frequency is an error; a formula divides by `1 rad` where it must.
 */
#ifndef THOU_UNITS_UNITS_H
#define THOU_UNITS_UNITS_H

#include "base/str.h"

typedef uint64_t Dim;

#define DIM(length, mass, time, temperature, angle)                               \
    ((Dim)(uint8_t)(2 * (length)) | (Dim)(uint8_t)(2 * (mass)) << 8 |             \
     (Dim)(uint8_t)(2 * (time)) << 16 | (Dim)(uint8_t)(2 * (temperature)) << 24 | \
     (Dim)(uint8_t)(2 * (angle)) << 32)
#define DIM_NUMBER DIM(0, 0, 0, 0, 0) /* a plain number: ratios, percent, counts */
#define DIM_LENGTH DIM(1, 0, 0, 0, 0)
#define DIM_AREA DIM(2, 0, 0, 0, 0)
#define DIM_VOLUME DIM(3, 0, 0, 0, 0)
#define DIM_MASS DIM(0, 1, 0, 0, 0)
#define DIM_TIME DIM(0, 0, 1, 0, 0)
#define DIM_FORCE DIM(1, 1, -2, 0, 0)
#define DIM_RATE DIM(0, 1, -2, 0, 0) /* force over length */
#define DIM_TORQUE DIM(2, 1, -2, 0, 0)
#define DIM_PRESSURE DIM(-1, 1, -2, 0, 0)
#define DIM_FLOW DIM(3, 0, -1, 0, 0)
#define DIM_POWER DIM(2, 1, -3, 0, 0)
#define DIM_SPEED DIM(1, 0, -1, 0, 0)
#define DIM_TURNING DIM(0, 0, -1, 0, 1) /* rpm */
#define DIM_FREQUENCY DIM(0, 0, -1, 0, 0)
#define DIM_ANGLE DIM(0, 0, 0, 0, 1)
#define DIM_TEMPERATURE DIM(0, 0, 0, 1, 0)
#define DIM_OVER ((Dim)-1) /* of nothing: an exponent ran over; no unit has it */

/* DIM_OVER when an exponent leaves its byte, or did in what they are made of. */
Dim dim_mul(Dim a, Dim b);
Dim dim_div(Dim a, Dim b);
bool dim_pow(Dim a, int num, int den, Dim *out); /* false: no whole exponents, or over +/-31 */
const char *dim_name(Dim d); /* "length", "force over length", or "" when it has no name */

typedef enum System { SYSTEM_NONE, SYSTEM_US, SYSTEM_METRIC } System;

/* A row of the table, or one made from an expression (interned for the life of the program). */
typedef struct Unit {
    const char *name; /* as it is shown: "in", "lbf/in", "degC" */
    const char *also; /* other spellings, blank-separated; '_' stands for a blank; may be NULL */
    Dim dim;
    double factor;     /* SI value of 1 */
    double offset;     /* SI = value * factor + offset; for degC, degF only */
    System system;     /* which system a builder counts it to; NONE is both (cc, deg, percent) */
    const char *other; /* name of its counterpart in the other system; NULL when it has none */
    int places_shift;  /* decimals to add (or take away) when a value moves to the counterpart */
    const char *source;
} Unit;

/* The unit that text names, where a value of dimension `want` is expected: `lb` is lbf for a force
 * and a mass for a mass, `lb/in` is lbf/in for a rate. `lb-ft`, `"`, `in^3`, `N/mm`, `ft lbf / s`
 * are read as expressions of known units: products written with a blank, '-', '*' or U+00B7,
 * quotients with '/', powers with a digit or ^digit. NULL when it is unknown (a wrong dimension is
 * still found: compare unit->dim). Deliberately unknown, with unit_advice: "tenth", "mil",
 * "point", "ton", and a product behind a slash (`lb/ft s`). "psi" where a force is wanted is found
 * with its own dimension. Case is folded only where it cannot change the meaning. Empty text is the
 * plain number (a row with an empty name) where one is wanted, else NULL. Any thread may call. */
const Unit *unit_find(Str text, Dim want);
/* Why a name that could mean two things is refused ("a tenth is ..."), or NULL. */
const char *unit_advice(Str text);
/* The counterpart in `system`; the unit itself when it belongs there already or has none. */
const Unit *unit_in(const Unit *u, System system);
static inline double unit_to_si(const Unit *u, double value) { /* for every reading */
    return value * u->factor + u->offset;
}
double unit_from_si(const Unit *u, double si);
/* A difference (for temperatures: no offset). */
double unit_diff_to_si(const Unit *u, double value);
double unit_diff_from_si(const Unit *u, double si);
/* What one in the last of so many decimals is worth: SI. */
double unit_step(const Unit *u, unsigned places);

/* The table, for help, near names, tests and editor files. */
const Unit *unit_rows(size_t *count);

#endif
