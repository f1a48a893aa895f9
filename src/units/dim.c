#include "units/units.h"

enum { BASES = 5, HALVES_MOST = 2 * 31 };

static int halves_of(Dim d, int base) {
    return (int8_t)(uint8_t)(d >> (8 * base));
}

static Dim with(Dim d, int base, int halves) {
    return d | (Dim)(uint8_t)halves << (8 * base);
}

/* An exponent that ran over makes a dimension of nothing, and so is all that is worked out of it:
 * it must never come round, or back, to a valid one. */
static Dim combined(Dim a, Dim b, int sign) {
    Dim d = 0;
    if (a == DIM_OVER || b == DIM_OVER) return DIM_OVER;
    for (int i = 0; i < BASES; i++) {
        int halves = halves_of(a, i) + sign * halves_of(b, i);
        if (halves > INT8_MAX || halves < INT8_MIN) return DIM_OVER;
        d = with(d, i, halves);
    }
    return d;
}

Dim dim_mul(Dim a, Dim b) {
    return combined(a, b, 1);
}

Dim dim_div(Dim a, Dim b) {
    return combined(a, b, -1);
}

bool dim_pow(Dim a, int num, int den, Dim *out) {
    Dim d = 0;
    if (den == 0 || a == DIM_OVER) return false;
    for (int i = 0; i < BASES; i++) {
        int64_t halves = (int64_t)halves_of(a, i) * num;
        if (halves % den != 0) return false;
        halves /= den;
        if (halves > HALVES_MOST || halves < -HALVES_MOST) return false;
        d = with(d, i, (int)halves);
    }
    *out = d;
    return true;
}

const char *dim_name(Dim d) {
    static const struct {
        Dim dim;
        const char *name;
    } names[] = {
        {DIM_NUMBER, "plain number"},
        {DIM_LENGTH, "length"},
        {DIM_AREA, "area"},
        {DIM_VOLUME, "volume"},
        {DIM_MASS, "mass"},
        {DIM_TIME, "time"},
        {DIM_FORCE, "force"},
        {DIM_RATE, "force over length"},
        {DIM_TORQUE, "torque or energy"},
        {DIM_PRESSURE, "pressure"},
        {DIM_FLOW, "flow"},
        {DIM_POWER, "power"},
        {DIM_SPEED, "speed"},
        {DIM_TURNING, "turning speed"},
        {DIM_FREQUENCY, "frequency"},
        {DIM_ANGLE, "angle"},
        {DIM_TEMPERATURE, "temperature"},
        {DIM(1, 0, -2, 0, 0), "acceleration"},
        {DIM(-3, 1, 0, 0, 0), "density"},
        {DIM(0, 0, 0, -1, 0), "expansion per degree"},
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i].dim == d) return names[i].name;
    return "";
}
