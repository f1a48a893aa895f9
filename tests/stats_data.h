/* Reading the columns of tests/data, and random numbers that are the same everywhere. */
#ifndef THOU_TESTS_STATS_DATA_H
#define THOU_TESTS_STATS_DATA_H

#include <errno.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

enum { DATA_MOST = 400 };

/* Column `column` (from 0) of tests/data/NAME.csv, without its head; how many rows. */
static inline size_t data_column(const char *name, int column, double out[DATA_MOST]) {
    char path[200], line[400];
    snprintf(path, sizeof path, "tests/data/%s.csv", name);
    FILE *f = fopen(path, "r");
    if (!f) fail_msg("%s: cannot be opened; run the tests from the top of the project", path);
    size_t n = 0;
    bool head = true;
    while (fgets(line, sizeof line, f)) {
        char *at = line;
        for (int i = 0; i < column && at; i++)
            at = strchr(at, ',') ? strchr(at, ',') + 1 : NULL;
        if (!head && (!at || sscanf(at, "%lf", &out[n++]) != 1))
            fail_msg("%s: row %zu has no column %d", path, n, column);
        head = false;
        assert_true(n < DATA_MOST);
    }
    fclose(f);
    return n;
}

/* Text column, first 15 bytes of each. */
static inline size_t data_names(const char *name, int column, char out[DATA_MOST][16]) {
    char path[200], line[400];
    snprintf(path, sizeof path, "tests/data/%s.csv", name);
    FILE *f = fopen(path, "r");
    if (!f) fail_msg("%s: cannot be opened; run the tests from the top of the project", path);
    size_t n = 0;
    bool head = true;
    while (fgets(line, sizeof line, f)) {
        char *at = line;
        for (int i = 0; i < column && at; i++)
            at = strchr(at, ',') ? strchr(at, ',') + 1 : NULL;
        if (!head) assert_int_equal(at ? sscanf(at, "%15[^,\n]", out[n++]) : 0, 1);
        head = false;
        assert_true(n < DATA_MOST);
    }
    fclose(f);
    return n;
}

/* Correct significant digits, as NIST counts them: -log10 of the relative error. */
static inline double digits(double got, double want) {
    if (got == want) return 16;
    if (!isfinite(got)) return 0;
    return -log10(fabs(got - want) / (want == 0 ? 1 : fabs(want)));
}

#define assert_digits(got, want, least)                                                \
    do {                                                                               \
        double got_ = (got), want_ = (want);                                           \
        if (!(digits(got_, want_) >= (least)))                                         \
            fail_msg("%s is %.17g, not %.17g: %.1f digits, not %g", #got, got_, want_, \
                     digits(got_, want_), (double)(least));                            \
    } while (0)

#define assert_near(got, want, within)                             \
    do {                                                           \
        double got_ = (got), want_ = (want);                       \
        if (!(fabs(got_ - want_) <= (within)))                     \
            fail_msg("%s is %.12g, not %.12g", #got, got_, want_); \
    } while (0)

/* splitmix64, and normal numbers by Box and Muller. */
typedef struct Random {
    uint64_t state;
} Random;

static inline double random_uniform(Random *r) {
    uint64_t z = (r->state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

static inline double random_normal(Random *r) {
    double radius = sqrt(-2 * log(random_uniform(r)));
    return radius * cos(6.283185307179586 * random_uniform(r));
}

#endif
