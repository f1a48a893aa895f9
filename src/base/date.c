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

static bool ends_word(Str s, size_t at) {
    return at >= s.n || is_blank(s.p[at]);
}

static size_t blanks_at(Str s, size_t at) {
    size_t i = at;
    while (i < s.n && is_blank(s.p[i]))
        i++;
    return i - at;
}

/* Up to three digits as a number; -1 for more or none. */
static int small(Str s, size_t at) {
    size_t digits = digits_at(s, at);
    return digits >= 1 && digits <= 3 ? fixed(s, at, digits) : -1;
}

static bool may_be_month(int n) {
    return n >= 1 && n <= MONTHS;
}

static bool may_be_day(int n) {
    return n >= 1 && n <= 31;
}

/* A year of four digits, or with one too many. */
static bool may_be_year(Str s, size_t digits) {
    int century = fixed(s, 0, 2);
    return (digits == 4 || digits == 5) && (century == 19 || century == 20);
}

/* `0302`, of four digits. */
static bool month_day(const char *digits) {
    Str s = {digits, 4};
    return may_be_month(fixed(s, 0, 2)) && may_be_day(fixed(s, 2, 2));
}

/* Month and day written together at s.p[at]. */
static bool month_and_day(Str s, size_t at) {
    return digits_at(s, at) == 4 && ends_word(s, at + 4) && month_day(s.p + at);
}

/* Bytes of whatever stands between two numbers of a slipped date: marks, doubled or mixed, and
 * blanks beside them; blanks alone with `bare`. */
static size_t slipped_mark(Str s, size_t at, bool bare) {
    size_t i = at, marks = 0;
    for (size_t n; i < s.n && i - at < 6; i += n) {
        bool other = s.p[i] == '_' || s.p[i] == '=' || s.p[i] == ':' || s.p[i] == ',';
        n = other ? 1 : mark_at(s, i);
        if (n)
            marks++;
        else if (!(n = is_blank(s.p[i])))
            break;
    }
    return marks ? (marks < 3 ? i - at : 0) : bare ? blanks_at(s, at) : 0;
}

/* Length of a date with the year in front whose marks or digits slipped: `2026--03-02`,
 * `2026_03_02`, `2026 03 02`, `2026-0302`, `20260-03-02`; 0 for anything else. */
static size_t slipped_date(Str s) {
    size_t first = digits_at(s, 0);
    if (!may_be_year(s, first)) return 0;
    bool pairs = digits_at(s, first + 1) == 2; /* blanks alone part no other numbers */
    size_t at = first + slipped_mark(s, first, pairs);
    if (at == first) return 0;
    if (month_and_day(s, at)) return at + 4;
    if (!may_be_month(small(s, at))) return 0;
    size_t end = at + digits_at(s, at), mark = slipped_mark(s, end, pairs);
    at = end + mark;
    if (!mark || !may_be_day(small(s, at)) || (pairs && digits_at(s, at) != 2)) return 0;
    end = at + digits_at(s, at);
    return ends_word(s, end) ? end : 0;
}

/* Length of a date with the year in front whose digits slipped past its marks, `202603-02`,
 * `2026-030-2`, or that has one too many or too few, `2026003-02`, `206-03-02`; 0 for anything
 * else.
 */
static size_t misdivided_date(Str s) {
    enum { DIGITS_MOST = 9 };
    char digits[DIGITS_MOST];
    size_t n = 0, at = 0, marks = 0;
    for (; at < s.n && !is_blank(s.p[at]); at++) {
        if (is_digit(s.p[at]) && n < DIGITS_MOST)
            digits[n++] = s.p[at];
        else if (s.p[at] == '-')
            marks++;
        else
            return 0;
    }
    if (marks == 2 && n == 7) return digits_at(s, 0) == 3 && month_day(digits + 3) ? at : 0;
    if (!marks || n < 8 || !may_be_year((Str){digits, n}, 4)) return 0;
    for (size_t skip = 4; skip < 9; skip++) { /* without one of nine, or as they are */
        char four[5] = {0};
        size_t k = 0;
        for (size_t i = 4; i < n && k < 5; i++)
            if (n == 8 || i != skip) four[k++] = digits[i];
        if (month_day(four)) return at;
    }
    return 0;
}

/* `5.1.26`, `5-1-26`: 1-5-3 and 1-12-5 are firing orders, which no cylinder above 16 is in, and
 * 1-3-42 is a slip in one. */
static bool short_date(Str s, size_t third_at) {
    int year = fixed(s, third_at, 2);
    return ends_word(s, third_at + 2) && may_be_day(small(s, 0)) &&
           may_be_month(small(s, digits_at(s, 0) + 1)) && year > 16 && year < 40;
}

/* Length of three numbers that somebody would take for a date, 0 for anything else. A two-digit
 * year with dashes must be written in full pairs, or be no cylinder's number. */
static size_t loose_date(Str s) {
    size_t first = digits_at(s, 0), mark = mark_at(s, first);
    if (first == 8) /* 20260302 */
        return may_be_year(s, 4) && month_and_day(s, 4) ? 8 : 0;
    if (!first || !mark) return 0;
    size_t at = first + mark;
    size_t second = digits_at(s, at), mark_again = mark_at(s, at + second);
    if (second < 1 || second > 2 || mark_again != mark || s.p[at + second] != s.p[first]) return 0;
    at += second + mark_again;
    size_t third = digits_at(s, at);
    bool year_first = first == 4 && (third == 1 || third == 2);
    bool year_last = first <= 2 && third == 4;
    bool short_year =
        first <= 2 && third == 2 && (s.p[first] == '/' || first + second == 4 || short_date(s, at));
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

/* Length of a month's name, 0 for anything else. The first three letters tell them apart, and from
 * nearly all else. */
static size_t month_at(Str s) {
    static const char *const names[] = {"january",   "february", "march",    "april",
                                        "may",       "june",     "july",     "august",
                                        "september", "october",  "november", "december"};
    if (s.n < 3 || !date_begins(s.p[0])) return 0;
    const char first[] = {to_lower(s.p[0]), to_lower(s.p[1]), to_lower(s.p[2])};
    for (int m = 0; m < MONTHS; m++) {
        if (memcmp(first, names[m], sizeof first) == 0) return cut_name(s, str_from(names[m]));
    }
    return 0;
}

/* `3.`, `3rd`, `3,`: the length of a day of the month in words, blanks included. */
static size_t spoken_day(Str s, size_t at) {
    size_t digits = digits_at(s, at), end = at + digits;
    if (digits < 1 || digits > 2) return 0;
    while (end < s.n && (is_alpha(s.p[end]) || s.p[end] == '.' || s.p[end] == ',') &&
           end < at + digits + 3)
        end++;
    return ends_word(s, end) ? end + blanks_at(s, end) - at : 0;
}

/* `5 may have cracked` is a sentence. */
static bool is_verb(Str s, size_t at, size_t n) {
    return str_eq((Str){s.p + at, n}, STR("may")) || str_eq((Str){s.p + at, n}, STR("march"));
}

/* Length of `3 March 2026`, `March 3, 2026` or, without a year, `3 March` and `Mar. 3`; 0 for
 * anything else. */
static size_t spoken_date(Str s) {
    size_t day = spoken_day(s, 0), month_from = day, month = month_at(str_skip(s, month_from));
    if (!month) return 0;
    size_t at = month_from + month + blanks_at(s, month_from + month);
    if (!month_from) {
        day = spoken_day(s, at);
        at += day;
    }
    if (!day) return 0;
    if (digits_at(s, at) == 4 && may_be_year(str_skip(s, at), 4)) return at + 4;
    return is_verb(s, month_from, month) ? 0 : at;
}

/* Length of `2026-Mar-02`, 0 for anything else. */
static size_t half_spoken_date(Str s) {
    size_t first = digits_at(s, 0), mark = mark_at(s, first);
    if (first != 4 || !may_be_year(s, first) || !mark) return 0;
    Str name = str_skip(s, first + mark);
    size_t letters = 0;
    while (letters < name.n && is_alpha(name.p[letters]))
        letters++;
    size_t at = first + mark + letters, mark_again = mark_at(s, at);
    bool month = month_at((Str){name.p, letters}) == letters && letters;
    return month && mark_again && may_be_day(small(s, at + mark_again))
               ? at + mark_again + digits_at(s, at + mark_again)
               : 0;
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
    size_t (*const forms[])(Str) = {loose_date,    slipped_date,     misdivided_date, loose_time,
                                    lettered_date, half_spoken_date, spoken_date};
    size_t len = 0;
    for (size_t i = 0; i < sizeof forms / sizeof *forms && !len; i++)
        len = forms[i](s);
    return len;
}

DateFault date_read(Str s, Date *out, size_t *len) {
    *len = 0;
    if (!s.n || !date_begins(s.p[0])) return DATE_NONE;
    if (is_alpha(s.p[0])) { /* every such line of a log is asked, and few begin with a digit */
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
