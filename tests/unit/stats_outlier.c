/* Outliers: Grubbs against the e-Handbook, and the rule for sets against cases and simulation. */
#include "stats/dist.h"
#include "stats/outlier.h"
#include "stats/robust.h"
#include "stats/sample.h"
#include "stats_data.h"

/* Grubbs' test for one outlier, which the rule for sets is held against: G of the value farthest
 * from the mean, and its critical values. */
typedef struct Grubbs {
    size_t index;
    double g, one_sided, two_sided;
} Grubbs;

static double grubbs_critical(double n, double tail) {
    double t = student_quantile(1 - tail, n - 2);
    return (n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t));
}

static Grubbs grubbs_test(const double *x, size_t n, double alpha) {
    Sample s;
    Grubbs g = {.one_sided = grubbs_critical((double)n, alpha / (double)n),
                .two_sided = grubbs_critical((double)n, alpha / (2 * (double)n))};
    assert_int_equal(sample_describe(x, n, &s), STATS_OK);
    for (size_t i = 0; i < n; i++) {
        double far = fabs(x[i] - s.mean) / s.sd;
        if (far <= g.g) continue;
        g.g = far;
        g.index = i;
    }
    return g;
}

/* NIST/SEMATECH e-Handbook 1.3.5.17.1: G and its critical values (references.md, V). */
static void grubbs(void **state) {
    (void)state;
    const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    Grubbs g = grubbs_test(x, 8, .05);
    assert_int_equal(g.index, 7);
    assert_near(g.g, 2.4687, 1e-4); /* published 2.4687; 2.46876 */
    assert_near(g.one_sided, 2.032, 5e-4);
    assert_near(g.two_sided, 2.12665, 5e-6);
    /* the rule for sets names the same value */
    Outliers o;
    assert_int_equal(outliers_in_set(&(OutlierRule){0, .05}, x, 8, &o), STATS_OK);
    assert_int_equal(o.count, 1);
    assert_int_equal(o.index[0], 7);
    /* and Tukey's far fence leaves it out */
    Interval far = tukey_fences(x, 8, 3);
    assert_true(x[7] > far.high && x[6] < far.high);
}

/* With one value in doubt and no floor the rule for sets is Grubbs' two-sided test. */
static void one_in_doubt_is_grubbs(void **state) {
    (void)state;
    Random random = {3};
    size_t named = 0;
    for (int i = 0; i < 2000; i++) {
        double x[8];
        for (int j = 0; j < 8; j++)
            x[j] = random_normal(&random) * (j == 5 ? 3 : 1);
        Grubbs g = grubbs_test(x, 8, .05);
        Outliers o;
        assert_int_equal(outliers_in_set(&(OutlierRule){0, .05}, x, 8, &o), STATS_OK);
        /* farthest from the median and from the mean may differ when nothing is far off */
        if (g.g > g.two_sided + 1e-9) {
            assert_int_equal(o.count, 1);
            assert_int_equal(o.index[0], g.index);
            named++;
        } else {
            assert_int_equal(o.count, 0);
        }
    }
    assert_true(named > 200);
}

enum { SET = 16 };

typedef struct Case {
    const char *what;
    size_t n;
    double x[SET];
    size_t named;
    size_t which[2]; /* in ascending order */
} Case;

/* Invented sets of the kind a shop writes down. */
static const Case cases[] = {
    {"bind heights of sixteen, one with its digits swapped (1.412 for 1.142)",
     16,
     {1.146, 1.145, 1.150, 1.150, 1.147, 1.151, 1.147, 1.150, 1.152, 1.149, 1.152, 1.412, 1.148,
      1.144, 1.149, 1.151},
     1,
     {11}},
    {"two bad ones on the same side do not hide each other",
     16,
     {95, 99.5, 98, 98.5, 96, 98, 99, 195.5, 97.5, 95, 95.5, 196, 97, 96.5, 98, 97},
     2,
     {7, 11}},
    {"nor do two on different sides, one far worse",
     16,
     {95, 99.5, 98, 98.5, 96, 98, 99, 9.55, 97.5, 95, 95.5, 596, 97, 96.5, 98, 97},
     2,
     {7, 11}},
    {"a good set",
     16,
     {95, 99.5, 98, 98.5, 96, 98, 99, 95.5, 97.5, 95, 95.5, 96, 97, 96.5, 98, 97},
     0,
     {0}},
    {"four chambers, one a slip of 10 cc", 4, {46.1, 46.0, 36.1, 46.1}, 1, {2}},
    {"four chambers as they come", 4, {46.1, 45.8, 46.4, 47.0}, 0, {0}},
    {"three the same and one that the instrument may read so", 4, {46.0, 46.0, 46.0, 46.1}, 0, {0}},
    {"three, one a factor of ten off", 3, {97.0, 9.65, 97.5}, 1, {1}},
    {"all the same", 8, {1, 1, 1, 1, 1, 1, 1, 1}, 0, {0}},
    {"two groups of values are nobody's error", 8, {95, 96, 95, 96, 225, 226, 225, 226}, 0, {0}},
};

static int by_index(const void *a, const void *b) {
    size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

static void sets(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const Case *c = &cases[i];
        double floor = c->x[0] < 2 ? 0.001 : 0.1;
        Outliers o;
        assert_int_equal(outliers_in_set(&(OutlierRule){floor, .01}, c->x, c->n, &o), STATS_OK);
        if (o.count != c->named) fail_msg("%s: %zu named, not %zu", c->what, o.count, c->named);
        qsort(o.index, o.count, sizeof o.index[0], by_index);
        for (size_t j = 0; j < o.count; j++)
            if (o.index[j] != c->which[j]) fail_msg("%s: names %zu", c->what, o.index[j]);
    }
}

/* One or two gross errors of any size from 8 spreads up, anywhere in sixteen: always named, and
 * their neighbours as rarely as a good set's. */
static void neighbours_are_not_named(void **state) {
    (void)state;
    Random random = {20};
    size_t wrongly = 0, missed = 0, sets_tried = 5000;
    for (size_t i = 0; i < sets_tried; i++) {
        double x[SET];
        for (int j = 0; j < SET; j++)
            x[j] = 97 + random_normal(&random);
        size_t bad = 1 + i % 2, a = i % SET, b = (a + 1 + i / SET % (SET - 1)) % SET;
        double far = 10 + 100 * random_uniform(&random) * random_uniform(&random);
        x[a] = 97 + (i % 4 < 2 ? far : -far);
        if (bad == 2) x[b] = 97 + (i % 3 ? far + random_uniform(&random) : -far);
        Outliers o;
        assert_int_equal(outliers_in_set(&(OutlierRule){.1, .01}, x, SET, &o), STATS_OK);
        size_t right = 0;
        for (size_t j = 0; j < o.count; j++)
            right += o.index[j] == a || (bad == 2 && o.index[j] == b);
        missed += right < bad;
        wrongly += right < o.count;
    }
    assert_int_equal(missed, 0);
    assert_true(wrongly * 100 <= sets_tried);
    print_message("neighbours named in %zu of %zu sets with one or two bad\n", wrongly, sets_tried);
}

/* Chance of naming anything in a good set: what was asked, or less. */
static void false_alarms(void **state) {
    (void)state;
    static const size_t sizes[] = {3, 4, 6, 8, 12, 16, 24, 32, 60, 200};
    static const double chances[] = {.05, .01};
    Random random = {4};
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
            size_t n = sizes[i], named = 0, tried = n > 60 ? 4000 : 20000;
            for (size_t k = 0; k < tried; k++) {
                double x[OUTLIER_MOST];
                for (size_t j = 0; j < n; j++)
                    x[j] = random_normal(&random);
                Outliers o;
                assert_int_equal(outliers_in_set(&(OutlierRule){0, chances[c]}, x, n, &o),
                                 STATS_OK);
                named += o.count > 0;
            }
            double rate = (double)named / (double)tried, p = chances[c];
            double slack = 3.5 * sqrt(p * (1 - p) / (double)tried);
            print_message("n %zu asked %.3f measured %.4f\n", n, p, rate);
            if (rate > p + slack) fail_msg("n %zu: %.4f named, %.2f asked", n, rate, p);
            if (outliers_allowed(n) == 1) assert_true(rate > p - slack);
        }
}

static void set_edges(void **state) {
    (void)state;
    double x[OUTLIER_MOST + 1] = {0};
    OutlierRule rule = {0, .01};
    Outliers o;
    assert_int_equal(outliers_in_set(&rule, x, 2, &o), STATS_TOO_FEW);
    assert_int_equal(outliers_in_set(&rule, x, OUTLIER_MOST, &o), STATS_OK);
    assert_int_equal(outliers_in_set(&rule, x, OUTLIER_MOST + 1, &o), STATS_TOO_MANY);
    x[0] = NAN;
    assert_int_equal(outliers_in_set(&rule, x, 5, &o), STATS_NOT_FINITE);
    assert_int_equal(outliers_allowed(4), 1);
    assert_int_equal(outliers_allowed(16), 2);
    assert_int_equal(outliers_allowed(200), OUTLIERS_NAMED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grubbs),       cmocka_unit_test(one_in_doubt_is_grubbs),
        cmocka_unit_test(sets),         cmocka_unit_test(neighbours_are_not_named),
        cmocka_unit_test(false_alarms), cmocka_unit_test(set_edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
