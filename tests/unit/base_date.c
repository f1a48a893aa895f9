#include "base/date.h"
#include "unit/rows.h"

typedef struct Row {
    const char *name; /* the input too */
    DateFault fault;
    const char *text; /* as written back */
    size_t len;
} Row;

static const Row rows[] = {
    {"2026-03-02", DATE_OK, "2026-03-02", 10},
    {"2026-03-02 08:30", DATE_OK, "2026-03-02 08:30", 16},
    {"2026-03-02T08:30", DATE_OK, "2026-03-02 08:30", 16},
    {"2026-03-02   08:30", DATE_OK, "2026-03-02 08:30", 18},
    {"2026-03-02 08:30  Head back", DATE_OK, "2026-03-02 08:30", 16},
    {"2026-03-02  Head back", DATE_OK, "2026-03-02", 10},
    {"2026-03-02: head back", DATE_OK, "2026-03-02", 10},
    {"2026-03-02 08:30: head", DATE_OK, "2026-03-02 08:30", 16},
    {"2026-03-02 10:1 pistons", DATE_OK, "2026-03-02", 10},
    {"2026-03-02 12 valves", DATE_OK, "2026-03-02", 10},
    {"2026-03-02 00:00", DATE_OK, "2026-03-02 00:00", 16},
    {"2026-03-02 23:59", DATE_OK, "2026-03-02 23:59", 16},
    {"1000-01-01", DATE_OK, "1000-01-01", 10},
    {"9999-12-31", DATE_OK, "9999-12-31", 10},
    {"2024-02-29", DATE_OK, "2024-02-29", 10},
    {"2000-02-29", DATE_OK, "2000-02-29", 10},
    {"2026-02-29", DATE_NO_SUCH_DAY, "", 10},
    {"1900-02-29", DATE_NO_SUCH_DAY, "", 10},
    {"2026-04-31", DATE_NO_SUCH_DAY, "", 10},
    {"2026-00-10", DATE_NO_SUCH_DAY, "", 10},
    {"2026-13-10", DATE_NO_SUCH_DAY, "", 10},
    {"2026-03-00", DATE_NO_SUCH_DAY, "", 10},
    {"0999-12-31", DATE_NO_SUCH_DAY, "", 10},
    {"2026-03-02 24:00", DATE_NO_SUCH_DAY, "", 16},
    {"2026-03-02 08:60", DATE_NO_SUCH_DAY, "", 16},
    {"2026-03-02 8:30", DATE_MALFORMED, "", 15},
    {"2026-03-02 08:30:15", DATE_MALFORMED, "", 19},
    {"2026-03-02 08:30Z", DATE_MALFORMED, "", 17},
    {"2026-03-02 2:30pm", DATE_MALFORMED, "", 17},
    {"2026-03-02T", DATE_MALFORMED, "", 10},
    {"2026-03-02x", DATE_MALFORMED, "", 10},
    {"2026-03-021", DATE_MALFORMED, "", 10},
    {"2026-03-02-1", DATE_MALFORMED, "", 10},
    {"3/2/2026", DATE_MALFORMED, "", 8},
    {"3/2/26", DATE_MALFORMED, "", 6},
    {"02.03.2026", DATE_MALFORMED, "", 10},
    {"02.03.26 head", DATE_MALFORMED, "", 8},
    {"2026-3-2", DATE_MALFORMED, "", 8},
    {"2026/03/02", DATE_MALFORMED, "", 10},
    {"02-03-2026", DATE_MALFORMED, "", 10},
    {"26-03-02", DATE_MALFORMED, "", 8},
    {"20260302 head", DATE_MALFORMED, "", 8},
    {"2026\u201303\u201302", DATE_MALFORMED, "", 14},
    {"14:20 head back", DATE_MALFORMED, "", 5},
    {"9:05", DATE_MALFORMED, "", 4},
    {"", DATE_NONE, "", 0},
    {"head back", DATE_NONE, "", 0},
    {"2026", DATE_NONE, "", 0},
    {"2026-03", DATE_NONE, "", 0},
    {"5/16 bolts", DATE_NONE, "", 0},
    {"10:1 pistons", DATE_NONE, "", 0},
    {"1-5-3-6-2-4", DATE_NONE, "", 0},
    {"1-3-42", DATE_NONE, "", 0},
    {"1.2.3 steps", DATE_NONE, "", 0},
    {"26-014", DATE_NONE, "", 0},
    {"12345678 is its number", DATE_NONE, "", 0},
    {"2030 01 05 b", DATE_MALFORMED, "", 10},
    {"203001-05 b", DATE_MALFORMED, "", 9},
    {"2030-010-5", DATE_MALFORMED, "", 10},
    {"2030001-05", DATE_MALFORMED, "", 10},
    {"203-01-05 b", DATE_MALFORMED, "", 9},
    {"2000-3500 rpm", DATE_NONE, "", 0},
    {"2000-12000 rpm", DATE_NONE, "", 0},
    {"350-10-12-4", DATE_NONE, "", 0},
    {"2030--01-05", DATE_MALFORMED, "", 11},
    {"2030-0105 b", DATE_MALFORMED, "", 9},
    {"2030_01_05", DATE_MALFORMED, "", 10},
    {"2030-01.05", DATE_MALFORMED, "", 10},
    {"2030 -01-05", DATE_MALFORMED, "", 11},
    {"20300-01-05", DATE_MALFORMED, "", 11},
    {"2030-001-05", DATE_MALFORMED, "", 11},
    {"2030-Jan-05", DATE_MALFORMED, "", 11},
    {"5.1.30", DATE_MALFORMED, "", 6},
    {"5-1-30 b", DATE_MALFORMED, "", 6},
    {"5 Jan b", DATE_MALFORMED, "", 6},
    {"5th January", DATE_MALFORMED, "", 11},
    {"Jan. 5", DATE_MALFORMED, "", 6},
    {"2030 was a good year", DATE_NONE, "", 0},
    {"1975 12 volt starter", DATE_NONE, "", 0},
    {"5 may have cracked", DATE_NONE, "", 0},
    {"3 march through it", DATE_NONE, "", 0},
    {"2000-3500 rpm", DATE_NONE, "", 0},
    {"1500 12 in rotor", DATE_NONE, "", 0},
    {"1-12-5-8", DATE_NONE, "", 0},
    {"1.5.3 steps", DATE_NONE, "", 0},
};

static void reads(void **state) {
    const Row *row = *state;
    const Date untouched = {.day = -12345, .minute = 77};
    Date d = untouched;
    size_t len = 99;
    char text[DATE_TEXT];
    assert_int_equal(date_read(str_from(row->name), &d, &len), row->fault);
    assert_int_equal(len, row->len);
    if (row->fault == DATE_OK)
        assert_string_equal(date_text(d, text), row->text);
    else
        assert_memory_equal(&d, &untouched, sizeof d);
}

/* Every day of the range against the C library's calendar (timegm, POSIX). */
static void every_day_is_the_calendars(void **state) {
    (void)state;
    struct tm first = {.tm_year = 1000 - 1900, .tm_mday = 1};
    int32_t day = (int32_t)(timegm(&first) / 86400);
    for (;; day++) {
        time_t seconds = (time_t)day * 86400;
        struct tm tm;
        gmtime_r(&seconds, &tm);
        if (tm.tm_year + 1900 > 9999) break;
        char ours[DATE_TEXT], theirs[40];
        date_text((Date){day, -1}, ours);
        snprintf(theirs, sizeof theirs, "%04d-%02d-%02d", tm.tm_year + 1900, tm.tm_mon + 1,
                 tm.tm_mday);
        Date back;
        size_t len;
        if (strcmp(ours, theirs) != 0 || date_read(str_from(ours), &back, &len) != DATE_OK ||
            back.day != day)
            fail_msg("%s is %s", theirs, ours);
    }
    assert_int_equal(day, 2932897); /* 9999-12-31 and one */
}

static void orders(void **state) {
    (void)state;
    Date day = {100, -1}, midnight = {100, 0}, morning = {100, 480}, next = {101, -1};
    assert_int_equal(date_cmp(day, midnight), 0);
    assert_int_equal(date_cmp(day, morning), -1);
    assert_int_equal(date_cmp(morning, day), 1);
    assert_int_equal(date_cmp(morning, next), -1);
    assert_int_equal(date_cmp(next, morning), 1);
}

int main(void) {
    static Rows all;
    ROWS(&all, rows, reads);
    rows_add(&all, "every day", every_day_is_the_calendars, NULL);
    rows_add(&all, "order", orders, NULL);
    return rows_run(&all, "base_date");
}
