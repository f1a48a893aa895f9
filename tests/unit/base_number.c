#include "base/clocale.h"
#include "base/number.h"
#include "unit/rows.h"
#include <math.h>
#include <pthread.h>

typedef struct Row {
    const char *name; /* the input too */
    NumberFault fault;
    double value;
    uint32_t len;
    int places;
    bool fraction;
} Row;

static const Row rows[] = {
    {"44.8", NUMBER_OK, 44.8, 4, 1, false},
    {".500", NUMBER_OK, 0.5, 4, 3, false},
    {"-0.005", NUMBER_OK, -0.005, 6, 3, false},
    {"+.010", NUMBER_OK, 0.01, 5, 3, false},
    {"2.050", NUMBER_OK, 2.05, 5, 3, false},
    {"0", NUMBER_OK, 0, 1, 0, false},
    {"44.", NUMBER_OK, 44, 3, 0, false},
    {"007", NUMBER_OK, 7, 3, 0, false},
    {"5/16", NUMBER_OK, 0.3125, 4, 0, true},
    {"1-1/2", NUMBER_OK, 1.5, 5, 0, true},
    {"-1-1/2", NUMBER_OK, -1.5, 6, 0, true},
    {"+3/4", NUMBER_OK, 0.75, 4, 0, true},
    {"17/16", NUMBER_OK, 1.0625, 5, 0, true},
    /* what stands behind is the caller's */
    {".500in", NUMBER_OK, 0.5, 4, 3, false},
    {"1.720\"", NUMBER_OK, 1.72, 5, 3, false},
    {"44.9 cc", NUMBER_OK, 44.9, 4, 1, false},
    {"422, 3", NUMBER_OK, 422, 3, 0, false},
    {"422,", NUMBER_OK, 422, 3, 0, false},
    {"5/16in", NUMBER_OK, 0.3125, 4, 0, true},
    {"44/rev", NUMBER_OK, 44, 2, 0, false},
    {"3E", NUMBER_OK, 3, 1, 0, false},
    {"3each", NUMBER_OK, 3, 1, 0, false},
    {"1-1", NUMBER_OK, 1, 1, 0, false},
    {"189?", NUMBER_OK, 189, 3, 0, false},
    /* none */
    {"", NUMBER_NONE, 0, 0, 0, false},
    {"-", NUMBER_NONE, 0, 0, 0, false},
    {"+", NUMBER_NONE, 0, 0, 0, false},
    {"--5", NUMBER_NONE, 0, 0, 0, false},
    {"- 5", NUMBER_NONE, 0, 0, 0, false},
    {" 5", NUMBER_NONE, 0, 0, 0, false},
    {"..", NUMBER_NONE, 0, 0, 0, false},
    {"cc", NUMBER_NONE, 0, 0, 0, false},
    {"e5", NUMBER_NONE, 0, 0, 0, false},
    {"nan", NUMBER_NONE, 0, 0, 0, false},
    {"inf", NUMBER_NONE, 0, 0, 0, false},
    {"/2", NUMBER_NONE, 0, 0, 0, false},
    /* refused */
    {"1,234", NUMBER_COMMA, 0, 5, 0, false},
    {"44,8", NUMBER_COMMA, 0, 4, 0, false},
    {"1,234.5", NUMBER_COMMA, 0, 7, 0, false},
    {"1.234,5", NUMBER_COMMA, 0, 7, 0, false},
    {",5", NUMBER_COMMA, 0, 2, 0, false},
    {"-,5", NUMBER_COMMA, 0, 3, 0, false},
    {"5/16,5", NUMBER_COMMA, 0, 6, 0, false},
    {"1e3", NUMBER_EXPONENT, 0, 3, 0, false},
    {"1E-3 in", NUMBER_EXPONENT, 0, 4, 0, false},
    {"4.5e+10", NUMBER_EXPONENT, 0, 7, 0, false},
    {"1/2e3", NUMBER_EXPONENT, 0, 5, 0, false},
    {"100/94", NUMBER_FRACTION, 0, 6, 0, false}, /* supply and held pressure of a leak-down */
    {"10/10", NUMBER_FRACTION, 0, 5, 0, false},  /* mains and pins .010 under */
    {"355/130", NUMBER_FRACTION, 0, 7, 0, false},
    {"5/0", NUMBER_FRACTION, 0, 3, 0, false},
    {"0/0", NUMBER_FRACTION, 0, 3, 0, false},
    {"1-1/0", NUMBER_FRACTION, 0, 5, 0, false},
    {"1.5/2", NUMBER_FRACTION, 0, 5, 0, false},
    {"1/2.5", NUMBER_FRACTION, 0, 5, 0, false},
    {"1/.5", NUMBER_FRACTION, 0, 4, 0, false},
    {"1.5-1/2", NUMBER_FRACTION, 0, 3, 0, false},
    {"1-5/3", NUMBER_FRACTION, 0, 5, 0, false},
    {"1-2/2", NUMBER_FRACTION, 0, 5, 0, false},
    {"5/16/2", NUMBER_FRACTION, 0, 6, 0, false},
    {"1.2.3", NUMBER_DOTS, 0, 5, 0, false},
    {"1..6", NUMBER_DOTS, 0, 4, 0, false},
    {".", NUMBER_DOTS, 0, 1, 0, false},
    {"-.", NUMBER_DOTS, 0, 2, 0, false},
    {". 5", NUMBER_DOTS, 0, 1, 0, false},
    /* the limit of NUMBER_DIGITS, at and one past */
    {"123456789012345678", NUMBER_OK, 123456789012345678.0, 18, 0, false},
    {"1234567890123456789", NUMBER_LONG, 0, 19, 0, false},
    {".123456789012345678", NUMBER_OK, .123456789012345678, 19, 18, false},
    {".1234567890123456789", NUMBER_LONG, 0, 20, 0, false},
    {"000000000000000001", NUMBER_OK, 1, 18, 0, false},
    {"0000000000000000001", NUMBER_LONG, 0, 19, 0, false},
    {"12345678/123456789", NUMBER_FRACTION, 0, 18, 0, false},
    {"94/100", NUMBER_FRACTION, 0, 6, 0, false}, /* supply and held pressure, the usual way round */
    {"1/3", NUMBER_FRACTION, 0, 3, 0, false},
    {"63/64", NUMBER_OK, 63.0 / 64.0, 5, 0, true},
    {"1/128", NUMBER_FRACTION, 0, 5, 0, false},
    {"123456789/1234567890", NUMBER_LONG, 0, 20, 0, false},
    /* nearest doubles where one digit decides (worked out by the C library's own reading) */
    {"9007199254740993", NUMBER_OK, 9007199254740992.0, 16, 0, false},
    {"9007199254740995", NUMBER_OK, 9007199254740996.0, 16, 0, false},
    {"0.3", NUMBER_OK, 0.3, 3, 1, false},
};

static void reads(void **state) {
    const Row *row = *state;
    Number n = {.value = 99};
    assert_int_equal(number_read(str_from(row->name), &n), row->fault);
    assert_true(n.value == row->value);
    assert_int_equal(n.len, row->len);
    assert_int_equal(n.places, row->places);
    assert_int_equal(n.fraction, row->fraction);
    assert_true(row->fault == NUMBER_OK || *number_fault_text(row->fault));
}

/* A slice ends where it ends, whatever bytes come next. */
static void stops_at_the_end_of_the_slice(void **state) {
    (void)state;
    Number n;
    assert_int_equal(number_read((Str){"1.7209", 5}, &n), NUMBER_OK);
    assert_true(n.value == 1.720);
    assert_int_equal(number_read((Str){"1,5", 2}, &n), NUMBER_OK);
    assert_int_equal(number_read((Str){"1/25", 3}, &n), NUMBER_OK);
    assert_true(n.value == 0.5);
    assert_int_equal(number_read((Str){NULL, 0}, &n), NUMBER_NONE);
}

static uint64_t next_random(uint64_t *seed) {
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return *seed >> 33;
}

/* Against the C library: 200000 numbers of 1 to 18 digits, all places. */
static void is_the_nearest_double(void **state) {
    (void)state;
    uint64_t seed = 20260302;
    for (int i = 0; i < 200000; i++) {
        char text[32];
        size_t digits = 1 + next_random(&seed) % NUMBER_DIGITS, n = 0;
        size_t point = next_random(&seed) % (digits + 1);
        for (size_t d = 0; d < digits; d++) {
            if (d == point) text[n++] = '.';
            text[n++] = (char)('0' + next_random(&seed) % 10);
        }
        text[n] = '\0';
        Number got;
        assert_int_equal(number_read((Str){text, n}, &got), NUMBER_OK);
        if (got.value != strtod_l(text, NULL, clocale())) fail_msg("%s", text);
    }
}

/* A megabyte of each: length known at once, nothing overflows. */
static void bears_endless_input(void **state) {
    (void)state;
    enum { MUCH = 1 << 20 };
    static const char units[] = {'1', '.', '-', '/', ',', 'e'};
    char *text = malloc(MUCH);
    assert_non_null(text);
    for (size_t i = 0; i < sizeof units; i++) {
        Number n;
        memset(text, units[i], MUCH);
        assert_int_not_equal(number_read((Str){text, MUCH}, &n), NUMBER_OK);
        text[0] = '1';
        NumberFault fault = number_read((Str){text, MUCH}, &n);
        assert_true(n.len <= MUCH && (fault != NUMBER_OK || n.value == 1));
    }
    free(text);
}

static void no_locale_bends_it(void **state) {
    (void)state;
    static const char *const with_comma[] = {"de_DE.UTF-8", "de_DE.utf8",  "de_DE",
                                             "fr_FR.UTF-8", "nl_NL.UTF-8", "sv_SE.UTF-8"};
    const char *found = NULL;
    for (size_t i = 0; i < sizeof with_comma / sizeof *with_comma && !found; i++)
        found = setlocale(LC_ALL, with_comma[i]);
    if (!found) {
        print_message("no locale with a decimal comma is installed: not checked\n");
        skip();
    }
    Number n;
    NumberFault plain = number_read(STR("44.8"), &n);
    double value = n.value;
    NumberFault longer = number_read(STR("0.12345678901234567"), &n);
    NumberFault comma = number_read(STR("44,8"), &(Number){0});
    setlocale(LC_ALL, "C");
    assert_int_equal(plain, NUMBER_OK);
    assert_true(value == 44.8);
    assert_int_equal(longer, NUMBER_OK);
    assert_true(n.value == 0.12345678901234567);
    assert_int_equal(comma, NUMBER_COMMA);
}

static void *read_many(void *wrong) {
    for (int i = 0; i < 20000; i++) {
        Number n;
        number_read(STR("0.12345678901234567"), &n);
        if (n.value != 0.12345678901234567) *(bool *)wrong = true;
    }
    return NULL;
}

static void two_threads_read(void **state) {
    (void)state;
    pthread_t threads[2];
    bool wrong[2] = {false, false};
    for (int i = 0; i < 2; i++)
        assert_int_equal(pthread_create(&threads[i], NULL, read_many, &wrong[i]), 0);
    for (int i = 0; i < 2; i++)
        pthread_join(threads[i], NULL);
    assert_false(wrong[0] || wrong[1]);
}

int main(void) {
    static Rows all;
    ROWS(&all, rows, reads);
    rows_add(&all, "two threads", two_threads_read, NULL);
    rows_add(&all, "the end of the slice", stops_at_the_end_of_the_slice, NULL);
    rows_add(&all, "the nearest double", is_the_nearest_double, NULL);
    rows_add(&all, "endless input", bears_endless_input, NULL);
    rows_add(&all, "a locale with a decimal comma", no_locale_bends_it, NULL);
    return rows_run(&all, "base_number");
}
