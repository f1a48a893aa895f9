#include "base/number.h"
#include "base/clocale.h"
#include <math.h>

/* Whole numbers up to here are exact in a double (IEEE 754, 53 bits). */
#define MANTISSA_MOST ((uint64_t)1 << 53)

enum {
    POWERS = NUMBER_DIGITS + 1,
    RULE_INCHES = 12, /* 17/16 is read off a rule; 119/2 is 119.2 */
};

/* Each is exact in a double, which holds up to ten to the 22nd. */
static const double power_of_ten[POWERS] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,
                                            1e7,  1e8,  1e9,  1e10, 1e11, 1e12, 1e13,
                                            1e14, 1e15, 1e16, 1e17, 1e18};

static char at(Str s, size_t i) {
    return i < s.n ? s.p[i] : '\0';
}

/* One run of digits: where it ends, and its value when it has no more than NUMBER_DIGITS. */
static uint64_t digits(Str s, size_t *i) {
    uint64_t value = 0;
    for (; is_digit(at(s, *i)); (*i)++)
        value = value * 10 + (uint64_t)(s.p[*i] - '0');
    return value;
}

/* Two exact operands and one division: the result is the nearest double. Longer ones go to the
 * library, copied so that it sees neither sign nor what follows. */
static double decimal(Str text, uint64_t mantissa, unsigned places) {
    if (mantissa <= MANTISSA_MOST) return (double)mantissa / power_of_ten[places];
    char copy[NUMBER_DIGITS + 2];
    memcpy(copy, text.p, text.n);
    copy[text.n] = '\0';
    return strtod_l(copy, NULL, clocale());
}

/* The whole of what looks like a number, to underline it. */
static size_t length_of_bad(Str s, size_t i) {
    while (is_digit(at(s, i)) || (at(s, i) && strchr(".,/", at(s, i)) && is_digit(at(s, i + 1))) ||
           (at(s, i) == '.' && i > 0 && s.p[i - 1] == '.'))
        i++;
    return i;
}

/* What stands right behind a number and makes it a wrong one. */
static NumberFault fault_behind(Str s, size_t i) {
    char c = at(s, i), next = at(s, i + 1);
    if (c == '.') return NUMBER_DOTS;
    if (c == ',' && is_digit(next)) return NUMBER_COMMA;
    if (c != 'e' && c != 'E') return NUMBER_OK;
    bool is_signed = next == '-' || next == '+';
    return is_digit(is_signed ? at(s, i + 2) : next) ? NUMBER_EXPONENT : NUMBER_OK;
}

static NumberFault refuse(NumberFault fault, Str s, size_t i, Number *out) {
    size_t len = length_of_bad(s, i);
    if (fault == NUMBER_EXPONENT) {
        len = i + 1 + (is_digit(at(s, i + 1)) ? 0 : 1);
        digits(s, &len);
    }
    *out = (Number){.len = (uint32_t)len};
    return fault;
}

/* `5/16`, `1-1/2`: i stands on the slash, or on the dash of a mixed one; `first` was read before.
 */
static NumberFault fraction(Str s, size_t start, size_t i, uint64_t first, Number *out) {
    uint64_t whole = 0, over = first;
    bool mixed = at(s, i) == '-';
    if (mixed) {
        whole = first;
        i++;
        over = digits(s, &i);
    }
    i++;
    bool whole_under = is_digit(at(s, i));
    uint64_t under = digits(s, &i);
    if (i - start > NUMBER_DIGITS) return refuse(NUMBER_LONG, s, i, out);
    NumberFault behind = fault_behind(s, i);
    bool another = (at(s, i) == '/' && is_digit(at(s, i + 1))) || behind == NUMBER_DOTS;
    /* An inch rule is divided in halves down to 64ths; 94/100 and 10/10 are two readings. */
    bool ruled = under >= 2 && under <= 64 && (under & (under - 1)) == 0;
    if (!whole_under || another || !ruled || (mixed && over >= under) || over == under ||
        over > under * RULE_INCHES)
        return refuse(NUMBER_FRACTION, s, i, out);
    if (behind != NUMBER_OK) return refuse(behind, s, i, out);
    bool negative = s.p[0] == '-';
    /* One division of exact wholes, so that 1-1/2 rounds once. */
    double value = (double)(whole * under + over) / (double)under;
    *out = (Number){.value = negative ? -value : value, .len = (uint32_t)i, .fraction = true};
    return NUMBER_OK;
}

/* Whether a dash here opens the fraction of a mixed number, and is no minus and no glued text. */
static bool is_mixed(Str s, size_t i) {
    if (at(s, i) != '-' || !is_digit(at(s, i + 1))) return false;
    i++;
    digits(s, &i);
    return at(s, i) == '/' && is_digit(at(s, i + 1));
}

/* Whether a slash here is a fraction's; in `44/rev` it belongs to the unit. */
static bool is_over(Str s, size_t i) {
    if (at(s, i) != '/') return false;
    return is_digit(at(s, i + 1)) || (at(s, i + 1) == '.' && is_digit(at(s, i + 2)));
}

const char *number_plain(const char *p, const char *end, Number *out) {
    uint64_t value = 0;
    const char *q = p;
    size_t places = 0;
    for (; q < end && is_digit(*q); q++)
        value = value * 10 + (uint64_t)(*q - '0');
    size_t before = (size_t)(q - p);
    if (q < end && *q == '.') {
        const char *point = q++;
        for (; q < end && is_digit(*q); q++)
            value = value * 10 + (uint64_t)(*q - '0');
        places = (size_t)(q - point) - 1;
    }
    size_t len = (size_t)(q - p);
    if (before + places == 0 || len > NUMBER_PLAIN) return NULL;
    *out = (Number){.value = (double)value / power_of_ten[places], /* both exact: digits are few */
                    .len = (uint32_t)len,
                    .places = (uint8_t)places};
    return q;
}

NumberFault number_read(Str s, Number *out) {
    const char *plain = s.n ? number_plain(s.p, s.p + s.n, out) : NULL;
    if (plain && (plain == s.p + s.n || is_blank(*plain))) return NUMBER_OK;
    *out = (Number){0};
    size_t start = at(s, 0) == '-' || at(s, 0) == '+' ? 1 : 0;
    size_t i = start;
    uint64_t value = digits(s, &i);
    size_t before = i - start, places = 0;
    bool dot = at(s, i) == '.';
    if (before && !dot && (is_over(s, i) || is_mixed(s, i)))
        return before > NUMBER_DIGITS ? refuse(NUMBER_LONG, s, i, out)
                                      : fraction(s, start, i, value, out);
    if (dot) {
        size_t point = i++;
        for (; is_digit(at(s, i)); i++)
            value = value * 10 + (uint64_t)(s.p[i] - '0');
        places = i - point - 1;
    }
    if (before + places == 0) { /* `..` parts a range; one dot alone has lost its digits */
        if (dot && at(s, i) != '.') return refuse(NUMBER_DOTS, s, i, out);
        if (at(s, start) == ',' && is_digit(at(s, start + 1)))
            return refuse(NUMBER_COMMA, s, start, out);
        return NUMBER_NONE;
    }
    NumberFault fault = fault_behind(s, i);
    if (fault != NUMBER_OK) return refuse(fault, s, i, out);
    if (dot && (is_over(s, i) || is_mixed(s, i))) return refuse(NUMBER_FRACTION, s, i, out);
    if (before + places > NUMBER_DIGITS) return refuse(NUMBER_LONG, s, i, out);
    double size = decimal((Str){s.p + start, i - start}, value, (unsigned)places);
    *out = (Number){
        .value = s.p[0] == '-' ? -size : size, .len = (uint32_t)i, .places = (uint8_t)places};
    return NUMBER_OK;
}

double number_divisor(unsigned places) {
    return power_of_ten[places < POWERS ? places : POWERS - 1];
}

double number_steps(double v, unsigned places) {
    double steps = v * number_divisor(places);
    return copysign(floor(fabs(steps) + .5005), steps);
}

double number_tenth(unsigned places) {
    return 1 / number_divisor(places);
}

const char *number_fault_text(NumberFault fault) {
    switch (fault) {
    case NUMBER_OK: return "";
    case NUMBER_NONE: return "there is no number here";
    case NUMBER_COMMA:
        return "a comma inside a number can mean two things: write a point for decimals and "
               "nothing "
               "between thousands";
    case NUMBER_EXPONENT: return "exponents are not read: write the number out";
    case NUMBER_FRACTION:
        return "this is no fraction of an inch rule, as 5/16 or 1-1/2 (over 2, 4, 8 to 64): write "
               "a decimal; two readings have a blank between";
    case NUMBER_LONG: return "a number has 18 digits at most";
    case NUMBER_DOTS: return "a number has one decimal point, with a digit beside it";
    }
    return "";
}
