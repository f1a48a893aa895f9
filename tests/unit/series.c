/* Series of one log: what counts, what is left out, what an item had run, what begins anew. */
#include "compute/series.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
/* clang-format off: cmocka needs the headers above first */
#include <cmocka.h>
/* clang-format on */

typedef struct Log {
    Arena *arena, *scratch;
    Vocab *vocab;
    Job *job;
    SeriesList list;
} Log;

static const char head[] =
    "engine = Q-7\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\n";

static Log *read_log(const char *text) {
    Arena *a = arena_new();
    Log *l = arena_alloc(a, sizeof *l);
    Findings found = {.arena = a};
    l->arena = a;
    l->scratch = arena_new();
    l->vocab = vocab_load(NULL, &found);
    Source *s = arena_alloc(a, sizeof *s);
    s->path = STR("jobs/q.job");
    s->text = arena_printf(a, "%s%s", head, text);
    source_map(s, a);
    Door none = {0};
    l->job = job_read(l->vocab, s, false, &none, a, &found);
    for (uint32_t i = 0; i < found.count; i++) {
        if (found.items[i].kind->level == LEVEL_ERROR)
            fail_msg("%.*s", STR_ARG(found.items[i].message));
    }
    return l;
}

static void free_log(Log *l) {
    vocab_free(l->vocab);
    arena_free(l->scratch);
    arena_free(l->arena);
}

static void follow(Log *l, const char *tag, SeriesAsk ask) {
    ask.tag = vocab_find(l->vocab, str_from(tag));
    assert_int_not_equal(ask.tag, TAG_NONE);
    ask.group_by = TAG_NONE;
    l->list = (SeriesList){0};
    series_of_job(l->job, &ask, (Paths){0}, l->arena, l->scratch, &l->list);
}

static SeriesAsk over_hours(const Log *l) {
    return (SeriesAsk){.over = l->vocab->roles[ROLE_RUN_TIME], .at = NAN};
}

static const Series *nth_of(const Log *l, const char *subject, int n) {
    for (uint32_t i = 0; i < l->list.count; i++) {
        if (str_eq(l->list.items[i].subject, str_from(subject)) && n-- == 0)
            return &l->list.items[i];
    }
    return NULL;
}

#define HOURS(si) ((si) / 3600)
#define LBF(si) ((si) / 4.4482216152605) /* NIST SP 811, exact */

static const char springs[] =
    "2031-03-01  New\nhours = 0\nspring set = S1\n"
    "spring load #1 = 100 lbf @ 1.7 in, 220 @ 1.3\n"
    "spring load #2 = 101 ? lbf @ 1.7 in, 221 @ 1.3\n"
    "spring load #2 = 99 lbf @ 1.7 in\n"
    "x spring load #3 = 88 lbf @ 1.7 in\n"
    "spring load #3 = 98 lbf @ 1.7 in, 218 @ 1.3\n"
    "2031-03-02  Fitted\nspring I1 = #1\nspring E1 = #2\n"
    "2031-06-01  After some running\nhours = 40\nspring load #1 = 96 lbf @ 1.7 in, 216 @ 1.3\n"
    "spring I1 = #3\n"
    "2031-09-01  Again\nhours = 70\nspring load #1 = 95 lbf @ 1.7 in, 215 @ 1.3\n"
    "spring load #3 = 97 lbf @ 1.7 in, 217 @ 1.3\n";

static void items_run_while_fitted(void **state) {
    (void)state;
    Log *l = read_log(springs);
    follow(l, "spring load", over_hours(l));
    const Series *one = nth_of(l, "S1#1", 0), *three = nth_of(l, "S1#3", 0);
    assert_non_null(one);
    assert_int_equal(one->count, 3);
    assert_true(fabs(HOURS(one->points[0].run)) < 1e-9);
    assert_true(fabs(HOURS(one->points[1].run) - 40) < 1e-9);
    assert_true(fabs(HOURS(one->points[2].run) - 40) < 1e-9); /* on the shelf it runs nothing */
    assert_true(fabs(HOURS(three->points[1].run) - 30) < 1e-9);
    assert_true(fabs(LBF(three->points[1].y) - 97) < 1e-9);
    assert_true(str_eq(three->place, STR("I1")));
    assert_true(str_eq(one->engine, STR("Q-7")));
    free_log(l);
}

static void what_does_not_count_is_counted(void **state) {
    (void)state;
    Log *l = read_log(springs);
    follow(l, "spring load", over_hours(l));
    const Series *two = nth_of(l, "S1#2", 0), *three = nth_of(l, "S1#3", 0);
    assert_int_equal(two->left_out.suspect, 0); /* read again in the same entry: that one counts */
    assert_int_equal(three->left_out.struck, 1);
    assert_true(fabs(LBF(two->points[0].y) - 99) < 1e-9);
    free_log(l);
}

static void one_condition_for_all(void **state) {
    (void)state;
    Log *l = read_log(springs);
    SeriesAsk ask = over_hours(l);
    ask.at = 1.5 * .0254;
    follow(l, "spring load", ask);
    const Series *one = nth_of(l, "S1#1", 0);
    assert_true(fabs(LBF(one->points[0].y) - 160) < 1e-9); /* half way from 100 to 220 */
    ask.at = 1.8 * .0254;
    follow(l, "spring load", ask);
    one = nth_of(l, "S1#1", 0);
    assert_int_equal(one->count, 0); /* a tenth of 0.4 in is as far as a curve is carried */
    assert_int_equal(one->left_out.beyond, 3);
    free_log(l);
}

static void the_stated_height_comes_first(void **state) {
    (void)state;
    Log *l = read_log("2031-03-01  New\nspring set = S1\nbench height = 1.3 in\n"
                      "spring load #1 = 100 lbf @ 1.7 in, 220 @ 1.3\n"
                      "spring load #2 = 102 lbf @ 1.7 in, 221 @ 1.3\n");
    follow(l, "spring load", over_hours(l));
    assert_true(fabs(nth_of(l, "S1#1", 0)->at - 1.3 * .0254) < 1e-12);
    free_log(l);
}

static void another_item_begins_anew(void **state) {
    (void)state;
    Log *l = read_log("2031-03-01  New\nhours = 0\nspring set = S1\nvalve lift I = each .4 in\n"
                      "spring load #1 = 100 lbf @ 1.7 in, 220 @ 1.3\nspring load #2 = 90 lbf @ 1.7 "
                      "in, 210 @ 1.3\n"
                      "2031-03-02  Fitted\nspring I1 = #1\ninstalled height I1 = 1.7 in\n"
                      "2031-06-01  Another\nhours = 40\nspring I1 = #2\n");
    follow(l, "seat load", over_hours(l));
    const Series *first = nth_of(l, "I1", 0), *second = nth_of(l, "I1", 1);
    assert_non_null(second);
    assert_true(str_eq(first->item, STR("S1#1")) && str_eq(second->item, STR("S1#2")));
    assert_int_equal(first->began.n, 0);
    assert_true(str_find(second->began, STR("S1#2, fitted 2031-06-01"), 0) != SIZE_MAX);
    assert_true(fabs(LBF(second->points[0].y) - 90) < 1e-9);
    free_log(l);
}

static void set_aside_begins_anew(void **state) {
    (void)state;
    Log *l = read_log("2031-03-01  New\nhours = 0\nchamber 1..2 = 45.0 45.1 cc\n"
                      "2031-06-01  Skimmed\nhours = 40\nmilled = .006 in\n"
                      "2031-06-02  Again\nchamber 1..2 = 44.2 44.3 cc\n");
    follow(l, "chamber", over_hours(l));
    const Series *before = nth_of(l, "1", 0), *after = nth_of(l, "1", 1);
    assert_non_null(after);
    assert_int_equal(before->count, 1);
    assert_true(str_eq(after->began, STR("after milled, 2031-06-01")));
    free_log(l);
}

static void corrections_and_repeats(void **state) {
    (void)state;
    Log *l =
        read_log("2031-03-01  New\nhours = 0\nchamber 1..2 = 45.0 45.1 cc\nchamber 1 = 45.2 cc\n"
                 "2031-03-02 corrects 2031-03-01\nchamber 2 = 45.6 cc\n");
    follow(l, "chamber", over_hours(l));
    const Series *one = nth_of(l, "1", 0), *two = nth_of(l, "2", 0);
    assert_int_equal(one->count, 1);
    assert_true(fabs(one->points[0].y - 45.2e-6) < 1e-12);
    assert_int_equal(two->count, 1); /* the correction is the reading of that day */
    assert_true(fabs(two->points[0].y - 45.6e-6) < 1e-12);
    assert_int_equal(two->left_out.replaced, 1);
    assert_int_equal(l->list.repeats.things, 1);
    assert_int_equal(l->list.repeats.readings, 2);
    assert_true(fabs(l->list.repeats.squares - .02e-12) < 1e-18); /* 45.0 and 45.2 cc */
    free_log(l);
}

/* Only what was read singly, in one entry, and counts: the second 45.2 replaces nothing that 45.0
 * was, and `each` is nobody's reading. */
static void only_good_readings_repeat(void **state) {
    static const char *const none[] = {
        "chamber 1 = 45.0? cc\nchamber 1 = 45.2 cc\n",
        "x chamber 1 = 45.0 cc\nchamber 1 = 45.2 cc\n",
        "chamber 1 = 45.0 cc\nchamber 1 = 45.2? cc\n",
        "chamber 1..2 = each 45.0 cc\nchamber 1 = 45.2 cc\n",
        "chamber 1 = 45.0 cc\n2031-03-02  Again\nchamber 1 = 45.2 cc\n",
        "chamber 1 = 45.0 cc\nchamber 1 = 45.1 cc\n"
        "2031-03-02 corrects 2031-03-01\nchamber 1 = 45.6 cc\n",
    };
    (void)state;
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        Arena *a = arena_new();
        Log *l = read_log(arena_printf(a, "2031-03-01  New\nhours = 0\n%s", none[i]).p);
        follow(l, "chamber", over_hours(l));
        if (l->list.repeats.readings) fail_msg("taken for a repeat: %s", none[i]);
        free_log(l);
        arena_free(a);
    }
    Log *l = read_log("2031-03-01  New\nhours = 0\nchamber 1 = 45.0 cc\nchamber 1 = 45.7? cc\n"
                      "chamber 1 = 45.2 cc\nchamber 2 = 44.8 cc\n");
    follow(l, "chamber", over_hours(l));
    assert_int_equal(l->list.repeats.readings, 2);
    assert_true(fabs(l->list.repeats.squares - .02e-12) < 1e-18); /* 45.0 and 45.2 cc */
    free_log(l);
}

static void unknown_hours_stay_unknown(void **state) {
    (void)state;
    Log *l = read_log("2031-03-01  New\nchamber 1 = 45.0 cc\n"
                      "2031-06-01  Later\nhours = 40\nchamber 1 = 45.1 cc\n");
    follow(l, "chamber", over_hours(l));
    const Series *one = nth_of(l, "1", 0);
    assert_int_equal(one->count, 2);
    assert_true(isnan(one->points[0].run));
    assert_true(fabs(HOURS(one->points[1].run) - 40) < 1e-9);
    free_log(l);
}

static void logs_of_another_are_skipped(void **state) {
    (void)state;
    Log *l = read_log(springs);
    SeriesAsk ask = over_hours(l);
    Str own = STR("jobs/q.job");
    ask.tag = vocab_find(l->vocab, STR("spring load"));
    ask.group_by = TAG_NONE;
    l->list = (SeriesList){0};
    series_of_job(l->job, &ask, (Paths){&own, 1}, l->arena, l->scratch, &l->list);
    assert_int_equal(l->list.count, 0);
    assert_int_equal(l->list.repeats.readings, 0);
    free_log(l);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(items_run_while_fitted),
        cmocka_unit_test(what_does_not_count_is_counted),
        cmocka_unit_test(one_condition_for_all),
        cmocka_unit_test(the_stated_height_comes_first),
        cmocka_unit_test(another_item_begins_anew),
        cmocka_unit_test(set_aside_begins_anew),
        cmocka_unit_test(corrections_and_repeats),
        cmocka_unit_test(only_good_readings_repeat),
        cmocka_unit_test(unknown_hours_stay_unknown),
        cmocka_unit_test(logs_of_another_are_skipped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
