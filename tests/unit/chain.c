/* What a chain's row tells of all readings of a tag: a check that asks it looks at none of them. */
#include "compute/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
/* clang-format off: cmocka needs the headers above first */
#include <cmocka.h>
/* clang-format on */

typedef struct Read {
    Arena *arena;
    Vocab *vocab;
    const Job *job;
} Read;

static Read read_log(const char *log) {
    static const char head[] = "layout = inline\ncylinders = 2\nvalves per cylinder = 2\n"
                               "spring set = S1\n";
    Read r = {.arena = arena_new()};
    Findings found = {.arena = r.arena};
    r.vocab = vocab_load(NULL, &found);
    Source *s = arena_alloc(r.arena, sizeof *s);
    s->path = STR("jobs/q.job");
    s->text = arena_printf(r.arena, "%s%s", head, log);
    source_map(s, r.arena);
    Door none = {0};
    r.job = job_read(r.vocab, s, false, &none, r.arena, &found);
    for (uint32_t i = 0; i < found.count; i++) {
        if (found.items[i].kind->level == LEVEL_ERROR)
            fail_msg("%.*s", STR_ARG(found.items[i].message));
    }
    return r;
}

static void forget(Read *r) {
    vocab_free(r->vocab);
    arena_free(r->arena);
}

static const ChainRow *row_of(const Read *r, const char *name) {
    TagId tag = vocab_find(r->vocab, str_from(name));
    assert_int_not_equal(r->job->chain->row[tag], CHAIN_NO_ROW);
    return chain_row(r->job, tag);
}

static void assert_extent(const Extent *x, double low, double high) {
    if (fabs(x->low - low) > 1e-9 || fabs(x->high - high) > 1e-9)
        fail_msg("from %g to %g, wanted %g to %g", x->low, x->high, low, high);
}

static void tags_in_order(void **state) {
    (void)state;
    Read r = read_log("stroke = 80 mm\nbore = 90 mm\n");
    const Chain *c = r.job->chain;
    for (uint32_t i = 1; i < c->row_count; i++)
        assert_true(c->tags[i - 1] < c->tags[i]);
    for (uint32_t i = 0; i < c->row_count; i++)
        assert_true(c->row[c->tags[i]] < c->row_count);
    forget(&r);
}

static void an_extent_each_condition(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  On the tester\n"
                      "spring | spring load N @ 40 mm | spring load N @ 30 mm\n"
                      "#1 | 300 | 900\n#2 | 310 | 880\n#3 | 290 | 890\n");
    const ChainRow *row = row_of(&r, "spring load");
    assert_int_equal(row->extent_count, 2);
    assert_extent(&row->extents[0], 290, 310);
    assert_extent(&row->extents[1], 880, 900);
    assert_int_equal(row->own, 3);
    assert_false(row->unbounded || row->crowded || row->again || row->units_differ);
    forget(&r);
}

static void too_many_conditions(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  On the tester\n"
                      "spring load #1 @ 40 mm = 300 N\nspring load #1 @ 38 mm = 400 N\n"
                      "spring load #1 @ 36 mm = 500 N\nspring load #1 @ 34 mm = 600 N\n"
                      "spring load #1 @ 32 mm = 700 N\n");
    const ChainRow *row = row_of(&r, "spring load");
    assert_true(row->unbounded);
    assert_true(row->crowded);
    forget(&r);
}

/* 1 in and 25.4 mm are one condition, and may differ in their last bit: whatever holds all values
 * of one condition must not be taken from two. */
static void one_condition_written_twice(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  On the tester\n"
                      "spring load #1 @ 1.7 in = 300 N\nspring load #2 @ 43.18 mm = 900 N\n");
    const ChainRow *row = row_of(&r, "spring load");
    bool together = row->extent_count == 1 && row->extents[0].high > 899;
    assert_true(together || row->unbounded);
    forget(&r);
}

static void words_have_no_extent(void **state) {
    (void)state;
    Read r = read_log("by = KL\n");
    assert_true(row_of(&r, "by")->unbounded);
    forget(&r);
}

static void flags_of_any(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  In\nchamber 1..2 = 45 46 cc\nchamber 2 = 46.2 cc\n\n"
                      "2031-03-02  Again\nchamber 1 = 45.1? cc\nx chamber 2 = 4.61 cc\n");
    const ChainRow *row = row_of(&r, "chamber volume");
    assert_int_equal(row->flags & (READ_REPEATED | READ_SUSPECT | READ_STRUCK | READ_FRACTION),
                     READ_REPEATED | READ_SUSPECT | READ_STRUCK);
    assert_true(row->again);
    assert_int_equal(row->own, 2);
    assert_extent(&row->extents[0], 4.61e-6, 46.2e-6);
    forget(&r);
}

static void another_unit(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  In\nshim I1 = .4 mm\nshim I2 = .015 in\n");
    assert_true(row_of(&r, "shim")->units_differ);
    forget(&r);
}

/* A reading that is put right for its gauge lies elsewhere than when it was chained. */
static void a_gauge_put_right(void **state) {
    (void)state;
    Read r = read_log("\n2031-03-01  Heights\nwith = HM2\ninstalled height I1 = 40 mm\n\n"
                      "2031-03-09  Found\ngauge HM2 = reads 3 mm high, 2031-03-01 .. 2031-03-09\n");
    const ChainRow *row = row_of(&r, "installed height");
    assert_true(row->flags & READ_GAUGED);
    assert_extent(&row->extents[0], .037, .040);
    forget(&r);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tags_in_order),        cmocka_unit_test(an_extent_each_condition),
        cmocka_unit_test(too_many_conditions),  cmocka_unit_test(one_condition_written_twice),
        cmocka_unit_test(words_have_no_extent), cmocka_unit_test(flags_of_any),
        cmocka_unit_test(another_unit),         cmocka_unit_test(a_gauge_put_right),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
