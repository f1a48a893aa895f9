/*
 * Numbers as builders write them, read so that no locale can bend them and no digit is lost:
 * `44.8` `.500` `-0.005` `+.010` `5/16` `1-1/2`. No exponents. A decimal comma or a thousands
 * separator is refused with advice, never guessed.
 */
#ifndef THOU_BASE_NUMBER_H
#define THOU_BASE_NUMBER_H

#include "base/str.h"

typedef enum NumberFault {
    NUMBER_OK = 0,
    NUMBER_NONE,     /* no number starts here */
    NUMBER_COMMA,    /* 1,234 or 44,8 */
    NUMBER_EXPONENT, /* 1e3 */
    NUMBER_FRACTION, /* n/0, or a fraction's part is no whole number */
    NUMBER_LONG,     /* more than NUMBER_DIGITS digits */
    NUMBER_DOTS,     /* 1.2.3, or a dot with no digit beside it */
} NumberFault;

enum { NUMBER_DIGITS = 18, NUMBER_PLAIN = 15 };

typedef struct Number {
    double value;
    uint32_t len;   /* bytes taken, sign included */
    uint8_t places; /* decimals as written; 0 for a fraction */
    bool fraction;
} Number;

/* Reads the number at the start of s. What follows it (a unit glued to it, a blank) is not looked
 * at, except where it makes the number a wrong one (a second dot, a comma and a digit, e and a
 * digit). On a fault *out has the length of what looks like the bad number, and value 0. */
NumberFault number_read(Str s, Number *out);
/* Where the plain decimal that p begins with ends, as `1.720` or `.5`: digits and at most one
 * point, NUMBER_PLAIN bytes at most. NULL when there is none. What follows it is not looked at. */
const char *number_plain(const char *p, const char *end, Number *out);
const char *number_fault_text(NumberFault fault); /* what, and what to do */
/* What digits with so many decimals are divided by: 1000 for 3. NUMBER_DIGITS at most. */
double number_divisor(unsigned places);
/* v in whole last places of so many decimals, as it is shown: half a place goes away from 0. What
 * lies less than a thousandth of a place below the half goes with it, for that is no difference:
 * 113.45 is shown as 113.5 however it was come by. */
double number_steps(double v, unsigned places);
/* What one in the last of so many decimals is worth: .001 of 3. NUMBER_DIGITS at most. */
double number_tenth(unsigned places);

#endif
