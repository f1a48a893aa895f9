#include "base/date.h"

enum { MONTHS = 12, YEAR_FIRST = 1000, DAY_MINUTES = 24 * 60, DATE_LEN = 10, TIME_LEN = 5 };

static bool is_leap(int year) {
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int days_in(int year, int month) {
    static const signed char days[MONTHS] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year));
}

/* Days before the first of January of `year`, counted from the year 1. */
static int days_before(int year) {
    int y = year - 1;
    return y * 365 + y / 4 - y / 100 + y / 400;
}

static int32_t day_of(int year, int month, int day) {
    int days = days_before(year) - days_before(1970) + day - 1;
    for (int m = 1; m < month; m++)
        days += days_in(year, m);
    return days;
}

/* Digits from s.p[at], exactly `count` of them, as a number; -1 when one is none. */
static int fixed(Str s, size_t at, size_t count) {
    int value = 0;
    if (s.n < at + count) return -1;
    for (size_t i = at; i < at + count; i++) {
        if (!is_digit(s.p[i])) return -1;
        value = value * 10 + (s.p[i] - '0');
    }
    return value;
}

static bool char_is(Str s, size_t at, char c) {
    return at < s.n && s.p[at] == c;
}

static size_t digits_at(Str s, size_t at) {
    size_t i = at;
    while (i < s.n && is_digit(s.p[i]))
        i++;
    return i - at;
}

/* Whether more of the same word follows: a letter, a digit, or a mark that a date's parts have. */
static bool is_glued(Str s, size_t at) {
    if (at >= s.n) return false;
    char c = s.p[at];
    if (is_digit(c) || is_alpha(c)) return true;
    bool joins = c == '-' || c == '/' || c == '.' || c == ':' || c == '+';
    return joins && at + 1 < s.n && is_digit(s.p[at + 1]);
}

/* Bytes of what parts the numbers of a date: one mark, or a typographic dash (U+2010..2015, 2212).
 */
static size_t mark_at(Str s, size_t at) {
    if (at < s.n && (s.p[at] == '-' || s.p[at] == '/' || s.p[at] == '.')) return 1;
    Str rest = str_skip(s, at);
    if (str_starts(rest, STR("\xE2\x88\x92"))) return 3;
    bool dash = str_starts(rest, STR("\xE2\x80")) && rest.n > 2 &&
                (unsigned char)rest.p[2] >= 0x90 && (unsigned char)rest.p[2] <= 0x95;
    return dash ? 3 : 0;
}

/* Length of three numbers that somebody would take for a date, 0 for anything else. A two-digit
 * year with dashes must be written in full pairs: 1-5-3 is a firing order. */
static size_t loose_date(Str s) {
    size_t first = digits_at(s, 0), mark = mark_at(s, first);
    if (first == 8) { /* 20260302 */
        int month = fixed(s, 4, 2), day = fixed(s, 6, 2), century = fixed(s, 0, 2);
        bool fits = (century == 19 || century == 20) && month >= 1 && month <= MONTHS && day >= 1 &&
                    day <= 31 && (s.n == 8 || is_blank(s.p[8]));
        return fits ? 8 : 0;
    }
    if (!first || !mark) return 0;
    size_t at = first + mark;
    size_t second = digits_at(s, at), mark_again = mark_at(s, at + second);
    if (second < 1 || second > 2 || mark_again != mark || s.p[at + second] != s.p[first]) return 0;
    at += second + mark_again;
    size_t third = digits_at(s, at);
    bool year_first = first == 4 && (third == 1 || third == 2);
    bool year_last = first <= 2 && third == 4;
    bool short_year = first <= 2 && third == 2 && (s.p[first] == '/' || first + second == 4);
    if (!year_first && !year_last && !short_year) return 0;
    return mark_at(s, at + third) && digits_at(s, at + third + 1) ? 0 : at + third;
}

/* Length of a name or what it is cut to (`Mar`, `Sept.`) at the start, 0 for anything else. */
static size_t cut_name(Str s, Str name) {
    Str rest = s, word = str_word(&rest);
    size_t n = word.n;
    while (n && (word.p[n - 1] == '.' || word.p[n - 1] == ','))
        n--;
    return n >= 3 && n <= name.n && str_ieq((Str){name.p, n}, (Str){word.p, n}) ? word.n : 0;
}

static bool begins_month(char c) {
    static const uint32_t letters = 1u << ('j' - 'a') | 1u << ('f' - 'a') | 1u << ('m' - 'a') |
                                    1u << ('a' - 'a') | 1u << ('s' - 'a') | 1u << ('o' - 'a') |
                                    1u << ('n' - 'a') | 1u << ('d' - 'a');
    return is_alpha(c) && letters >> (to_lower(c) - 'a') & 1;
}

/* Length of a month's name, 0 for anything else. Every line of a log that begins with a letter is
 * asked: the first tells most of them apart from all months, the first three nearly all. */
static size_t month_at(Str s) {
    static const char *const names[] = {"january",   "february", "march",    "april",
                                        "may",       "june",     "july",     "august",
                                        "september", "october",  "november", "december"};
    if (s.n < 3 || !begins_month(s.p[0])) return 0;
    const char first[] = {to_lower(s.p[0]), to_lower(s.p[1]), to_lower(s.p[2])};
    for (int m = 0; m < MONTHS; m++) {
        if (memcmp(first, names[m], sizeof first) == 0) return cut_name(s, str_from(names[m]));
    }
    return 0;
}

static size_t blanks_at(Str s, size_t at) {
    size_t i = at;
    while (i < s.n && is_blank(s.p[i]))
        i++;
    return i - at;
}

/* `3.`, `3rd`, `3,`: the length of a day of the month in words, blanks included. */
static size_t spoken_day(Str s, size_t at) {
    size_t digits = digits_at(s, at), end = at + digits;
    if (digits < 1 || digits > 2) return 0;
    while (end < s.n && (is_alpha(s.p[end]) || s.p[end] == '.' || s.p[end] == ',') &&
           end < at + digits + 3)
        end++;
    size_t blanks = blanks_at(s, end);
    return blanks ? end + blanks - at : 0;
}

/* Length of `3 March 2026` or `March 3, 2026`, 0 for anything else. */
static size_t spoken_date(Str s) {
    size_t at = spoken_day(s, 0), month = month_at(str_skip(s, at));
    if (!month) return 0;
    bool day_first = at > 0;
    at += month;
    at += blanks_at(s, at);
    if (!day_first) {
        size_t day = spoken_day(s, at);
        if (!day) return 0;
        at += day;
    }
    int century = fixed(s, at, 2);
    return digits_at(s, at) == 4 && (century == 19 || century == 20) ? at + 4 : 0;
}

/* Length of `2O26-O3-l2`, a date with letters for digits, 0 for anything else. */
static size_t lettered_date(Str s) {
    static const char shape[] = "dddd-dd-dd";
    size_t digits = 0;
    if (s.n < DATE_LEN) return 0;
    for (size_t i = 0; i < DATE_LEN; i++) {
        char c = s.p[i];
        digits += is_digit(c);
        bool like = shape[i] == '-' ? c == '-'
                                    : is_digit(c) || c == 'O' || c == 'o' || c == 'l' || c == 'I';
        if (!like) return 0;
    }
    return digits >= 4 ? DATE_LEN : 0;
}

/* Length of `14:20` or `9:05` alone at the start, 0 for anything else. */
static size_t loose_time(Str s) {
    size_t hours = digits_at(s, 0);
    if (hours < 1 || hours > 2 || !char_is(s, hours, ':')) return 0;
    if (digits_at(s, hours + 1) != 2) return 0;
    size_t at = hours + 3;
    while (is_glued(s, at)) /* seconds, a zone, am or pm */
        at++;
    return at;
}

/* The time of day that may follow a date, from `at` behind it. */
static DateFault read_time(Str s, size_t at, Date *out, size_t *len) {
    size_t start = at;
    if (char_is(s, at, 'T'))
        start++;
    else
        while (start < s.n && is_blank(s.p[start]))
            start++;
    size_t loose = loose_time(str_skip(s, start));
    if (start == at || loose == 0) return char_is(s, at, 'T') ? DATE_MALFORMED : DATE_OK;
    *len = start + loose;
    int hour = fixed(s, start, 2), minute = fixed(s, start + 3, 2);
    if (loose != TIME_LEN || hour < 0 || minute < 0) return DATE_MALFORMED;
    if (hour > 23 || minute > 59) return DATE_NO_SUCH_DAY;
    out->minute = (int16_t)(hour * 60 + minute);
    return DATE_OK;
}

/* Length of what somebody would take for a date or a time, 0 for anything else. */
static size_t other_date(Str s) {
    size_t len = loose_date(s);
    if (!len) len = loose_time(s);
    if (!len) len = lettered_date(s);
    return len ? len : spoken_date(s);
}

DateFault date_read(Str s, Date *out, size_t *len) {
    *len = 0;
    if (!s.n || !(is_digit(s.p[0]) || is_alpha(s.p[0]))) return DATE_NONE;
    if (is_alpha(s.p[0])) { /* every line of a log is asked, and few begin with a digit */
        *len = lettered_date(s);
        if (!*len && month_at(s)) *len = spoken_date(s);
        return *len ? DATE_MALFORMED : DATE_NONE;
    }
    int year = fixed(s, 0, 4), month = fixed(s, 5, 2), day = fixed(s, 8, 2);
    bool iso = year >= 0 && month >= 0 && day >= 0 && char_is(s, 4, '-') && char_is(s, 7, '-');
    if (!iso) {
        *len = other_date(s);
        return *len ? DATE_MALFORMED : DATE_NONE;
    }
    *len = DATE_LEN;
    if (is_glued(s, DATE_LEN) && !char_is(s, DATE_LEN, 'T')) return DATE_MALFORMED;
    if (year < YEAR_FIRST || month < 1 || month > MONTHS || day < 1 || day > days_in(year, month))
        return DATE_NO_SUCH_DAY;
    Date read = {.day = day_of(year, month, day), .minute = -1};
    DateFault fault = read_time(s, DATE_LEN, &read, len);
    if (fault == DATE_OK) *out = read;
    return fault;
}

int date_cmp(Date a, Date b) {
    int minute_a = a.minute < 0 ? 0 : a.minute, minute_b = b.minute < 0 ? 0 : b.minute;
    if (a.day != b.day) return a.day < b.day ? -1 : 1;
    return (minute_a > minute_b) - (minute_a < minute_b);
}

static char *put(char *p, int value, int count) {
    for (int i = count - 1; i >= 0; i--, value /= 10)
        p[i] = (char)('0' + value % 10);
    return p + count;
}

const char *date_text(Date d, char out[DATE_TEXT]) {
    int days = d.day + days_before(1970); /* since 0001-01-01 */
    int year = days / 366 + 1;            /* never late, and mended below */
    while (days_before(year + 1) <= days)
        year++;
    int day = days - days_before(year) + 1, month = 1;
    for (; day > days_in(year, month); month++)
        day -= days_in(year, month);
    char *p = put(out, year, 4);
    *p++ = '-';
    p = put(p, month, 2);
    *p++ = '-';
    p = put(p, day, 2);
    if (d.minute >= 0 && d.minute < DAY_MINUTES) {
        *p++ = ' ';
        p = put(p, d.minute / 60, 2);
        *p++ = ':';
        p = put(p, d.minute % 60, 2);
    }
    *p = '\0';
    return out;
}
