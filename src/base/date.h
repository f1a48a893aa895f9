/*
 * ISO 8601 calendar dates and local times of day (no zone), proleptic Gregorian, years 1000 to
 * 9999. No clock is read here: whoever needs today is handed it.
 */
#ifndef THOU_BASE_DATE_H
#define THOU_BASE_DATE_H

#include "base/str.h"

typedef struct Date {
    int32_t day;    /* days since 1970-01-01 */
    int16_t minute; /* of the day; -1 when no time was written */
} Date;

typedef enum DateFault { DATE_OK = 0, DATE_NONE, DATE_MALFORMED, DATE_NO_SUCH_DAY } DateFault;

/* Whether what date_read finds can begin with c: a digit, a month's letter or one that is like a
 * digit. Every line of a log is asked, and half of them begin otherwise. */
static inline bool date_begins(char c) {
    static const uint32_t letters = 1u << ('a' - 'a') | 1u << ('d' - 'a') | 1u << ('f' - 'a') |
                                    1u << ('i' - 'a') | 1u << ('j' - 'a') | 1u << ('l' - 'a') |
                                    1u << ('m' - 'a') | 1u << ('n' - 'a') | 1u << ('o' - 'a') |
                                    1u << ('s' - 'a');
    return is_digit(c) || (is_alpha(c) && letters >> (to_lower(c) - 'a') & 1);
}

/* Reads `YYYY-MM-DD` or `YYYY-MM-DD HH:MM` (also with a T between) at the start of s; *len gets the
 * bytes taken. DATE_MALFORMED: it looks like a date (also 3/2/2026, 02.03.2026, 2026-3-2, 3 March
 * 2026, 2O26-03-02 with a letter O) or a bare time but is not ISO. */
DateFault date_read(Str s, Date *out, size_t *len);
int date_cmp(Date a, Date b); /* a missing time sorts as the start of its day */
/* Writes `YYYY-MM-DD` (10 bytes and a NUL) or with the time (16 and a NUL). */
enum { DATE_TEXT = 17 };
const char *date_text(Date d, char out[DATE_TEXT]);

#endif
