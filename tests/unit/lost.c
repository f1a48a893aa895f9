/* `NAME lost to WORK`: a difference only of two readings with that work alone between them. */
#include "compute/lost.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
/* clang-format off: cmocka needs the headers above first */
#include <cmocka.h>
/* clang-format on */

#define BEFORE "2031-03-01  Off\nhead A = 1 2\nchamber 1..2 = 45.0 45.4 cc\n\n"
#define CUT "2031-03-02  Cut\nmilled A = .006 in\n\n"
#define AFTER "2031-03-03  Again\nchamber 1..2 = 44.1 44.6 cc\n\n"

typedef struct Case {
    const char *what, *log;
    LostWhy why;
    double one, two; /* cc, when known */
} Case;

/* The differences by hand: 45.0 - 44.1 and 45.4 - 44.6. */
static const Case cases[] = {
    {"before, cut, after", BEFORE CUT AFTER, LOST_KNOWN, .9, .8},
    {"the first after the cut, not the last",
     BEFORE CUT AFTER "2033-03-01  Years later\nchamber 1..2 = 43.0 43.0 cc\n", LOST_KNOWN, .9, .8},
    {"the last before the cut, not the first",
     "2030-01-01  New\nhead A = 1 2\nchamber 1..2 = 47 47 cc\n\n" BEFORE CUT AFTER, LOST_KNOWN, .9,
     .8},
    {"of two cuts the last",
     BEFORE CUT AFTER "2032-03-02  Cut\nmilled A = .004 in\n\n2032-03-03  Again\n"
                      "chamber 1..2 = 43.5 43.9 cc\n",
     LOST_KNOWN, .6, .7},
    {"below the cut in its entry",
     BEFORE "2031-03-02  Cut\nmilled A = .006 in\nchamber 1..2 = 44.1 44.6 cc\n", LOST_KNOWN, .9,
     .8},
    {"a doubted reading is passed over",
     BEFORE CUT "2031-03-03  Again\nchamber 1 = 40? cc\nx chamber 2 = 40 cc\n\n"
                "2031-03-04  Again\nchamber 1..2 = 44.1 44.6 cc\n",
     LOST_KNOWN, .9, .8},
    {"a repeat in the entry counts",
     BEFORE CUT "2031-03-03  Again\nchamber 1..2 = 44.3 44.4 cc\nchamber 1..2 = 44.1 44.6 cc\n",
     LOST_KNOWN, .9, .8},
    {"a correction counts",
     BEFORE CUT "2031-03-03  Again\nchamber 1..2 = 41.4 41.6 cc\n\n"
                "2031-03-04 corrects 2031-03-03\nchamber 1..2 = 44.1 44.6 cc\n",
     LOST_KNOWN, .9, .8},
    {"the same hours", "hours = 20\n" BEFORE CUT AFTER, LOST_KNOWN, .9, .8},
    {"work on the seats long after", BEFORE CUT AFTER "2031-05-01  Seats\nseat work = cut\n",
     LOST_KNOWN, .9, .8},

    {"no cut", BEFORE AFTER, LOST_NO_WORK, 0, 0},
    {"nothing after", BEFORE CUT, LOST_NO_AFTER, 0, 0},
    {"nothing before", "2031-03-01  Off\nhead A = 1 2\n\n" CUT AFTER, LOST_NO_BEFORE, 0, 0},
    {"before, but of no day",
     "chamber 1..2 = 45.0 45.4 cc\n\n2031-03-01  Off\nhead A = 1 2\n\n" CUT AFTER, LOST_NO_BEFORE,
     0, 0},
    {"after the second cut nothing was read",
     BEFORE CUT AFTER "2032-03-02  Cut\nmilled A = .004 in\n", LOST_NO_AFTER, 0, 0},
    {"two cuts between", BEFORE CUT "2031-03-02 15:00  Cut\nmilled A = .004 in\n\n" AFTER,
     LOST_TWICE, 0, 0},
    {"two cuts in an entry",
     BEFORE "2031-03-02  Cut\nmilled A = .006 in\nmilled A = .004 in\n\n" AFTER, LOST_TWICE, 0, 0},
    {"the cut is doubted", BEFORE "2031-03-02  Cut\nmilled A = .006? in\n\n" AFTER, LOST_DOUBTED, 0,
     0},
    {"above the cut in its entry",
     BEFORE "2031-03-02  Cut\nchamber 1..2 = 45.1 45.4 cc\nmilled A = .006 in\n\n" AFTER,
     LOST_SAME_ENTRY, 0, 0},
    {"seats cut meanwhile", BEFORE CUT "2031-03-02 15:00  Seats\nseat work E2 = cut\n\n" AFTER,
     LOST_CHANGED, 0, 0},
    {"seats cut in the entry of the reading",
     BEFORE CUT AFTER "seat work = touched with the stone\n", LOST_CHANGED, 0, 0},
    {"below the first reading in its entry",
     "2031-03-01  Off\nhead A = 1 2\nchamber 1..2 = 45.0 45.4 cc\nchamber work 1 = blended\n\n" CUT
         AFTER,
     LOST_CHANGED, 0, 0},
    {"other valves", BEFORE CUT "2031-03-02 15:00  Valves\nvalve part I = V-9\n\n" AFTER,
     LOST_CHANGED, 0, 0},
    {"it ran meanwhile",
     "hours = 20\n" BEFORE CUT
     "2031-03-02 15:00  Out\nhours = 30\n\n2031-03-03  Again\nchamber 1..2 = 44.1 44.6 cc\n",
     LOST_RAN, 0, 0},
    {"it may have run meanwhile",
     BEFORE CUT "2031-03-03  Again\nhours = 30\nchamber 1..2 = 44.1 44.6 cc\n", LOST_RAN, 0, 0},
};

static const char head[] = "layout = inline\ncylinders = 2\nvalves per cylinder = 2\n";

static void try_case(const Case *k) {
    Arena *a = arena_new();
    Findings found = {.arena = a};
    Vocab *v = vocab_load(NULL, &found);
    Source *s = arena_alloc(a, sizeof *s);
    s->path = STR("jobs/q.job");
    s->text = arena_printf(a, "%s%s", head, k->log);
    source_map(s, a);
    Door none = {0};
    const Job *j = job_read(v, s, false, &none, a, &found);
    for (uint32_t i = 0; i < found.count; i++) {
        if (found.items[i].kind->level == LEVEL_ERROR)
            fail_msg("%s: %.*s", k->what, STR_ARG(found.items[i].message));
    }
    Eval *e = eval_new(state_at(j, INT32_MAX, a), a);
    const Formula *f = v->tags[vocab_find(v, STR("chamber per thou"))].is;
    while (f && f->kind != F_LOST)
        f = f->a;
    assert_non_null(f);
    const double wanted[] = {k->one, k->two};
    for (uint32_t i = 0; i < 2; i++) {
        Lost lost = eval_lost(e, f, i);
        if (lost.why != k->why)
            fail_msg("%s: %s, wanted %s", k->what, lost_text(lost.why), lost_text(k->why));
        const Col *c = eval_node(e, f);
        assert_int_equal(!(c->st[i] & V_MISSING), k->why == LOST_KNOWN);
        if (k->why == LOST_KNOWN && fabs(c->v[i] - wanted[i] * 1e-6) > 1e-12)
            fail_msg("%s: %g cc, wanted %g", k->what, c->v[i] * 1e6, wanted[i]);
    }
    vocab_free(v);
    arena_free(a);
}

static void each_case(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        try_case(&cases[i]);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_case)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
