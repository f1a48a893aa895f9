/*
 * Selective fit against every choice there is, up to six places; what must hold whatever the
 * figures; and what is said when nothing fits or the work runs out.
 */
#include "fit_instance.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define PLACES_MOST 6

/* The objective, each line settled before the next. */
typedef struct Score {
    int64_t deviation, squares, let_stand, margin, adjusters, moved;
} Score;

static int compare(const Score *a, const Score *b) {
    if (a->deviation != b->deviation) return a->deviation < b->deviation ? -1 : 1;
    if (a->squares != b->squares) return a->squares < b->squares ? -1 : 1;
    if (a->let_stand != b->let_stand) return a->let_stand < b->let_stand ? -1 : 1;
    if (a->margin != b->margin) return a->margin > b->margin ? -1 : 1;
    if (a->adjusters != b->adjusters) return a->adjusters < b->adjusters ? -1 : 1;
    return (a->moved > b->moved) - (a->moved < b->moved);
}

typedef struct Brute {
    const Instance *in;
    bool any;
    Score best;
    int item[PLACES_MOST], best_item[PLACES_MOST];
    size_t used[FIT_THICKNESSES];
    size_t served;
} Brute;

static bool stock_left(const Brute *b) {
    for (size_t t = 0; t < b->in->stacks.thicknesses; t++)
        if (b->in->stock[t] != FIT_MANY && b->used[t] > b->in->stock[t]) return false;
    return true;
}

static bool may_sit(const Instance *in, size_t place, size_t item) {
    for (size_t i = 0; i < in->problem.places; i++)
        if (in->held[i] >= 0 && (i == place) != ((size_t)in->held[i] == item)) return false;
    return true;
}

/* The score with one more place. */
static Score with(const Instance *in, Score s, size_t place, size_t item, size_t stack) {
    const FitFigures *f = &in->figures[figure_index(in, place, item, stack)];
    int64_t d = in->problem.has_aim ? llabs((long long)f->deviation) : 0;
    int64_t m = lround(f->margin / in->problem.margin_step);
    if (d > s.deviation) s.deviation = d;
    s.squares += d * d;
    s.let_stand += f->let_stand;
    if (m < s.margin) s.margin = m;
    s.adjusters += in->stacks.pieces[stack];
    if (in->now[item] == (int)place) s.moved--;
    return s;
}

static bool before(const Brute *b) {
    for (size_t i = 0; i < b->in->problem.places; i++)
        if (b->item[i] != b->best_item[i]) return b->item[i] < b->best_item[i];
    return false;
}

/* Every choice of item and stack at each place; nothing is skipped but what breaks a limit, the
 * stock, or is already worse in the first criterion. */
static void try_all(Brute *b, size_t place, unsigned taken, Score s) {
    const Instance *in = b->in;
    if (b->any && s.deviation > b->best.deviation) return;
    if (place == in->problem.places) {
        int c = b->any ? compare(&s, &b->best) : -1;
        if (c > 0 || (c == 0 && !before(b))) return;
        b->any = true;
        b->best = s;
        memcpy(b->best_item, b->item, sizeof b->item);
        return;
    }
    for (size_t j = 0; j < in->problem.items; j++) {
        if (taken >> j & 1 || !may_sit(in, place, j)) continue;
        b->item[place] = (int)j;
        for (size_t k = 0; k < in->stacks.count; k++) {
            const FitFigures *f = &in->figures[figure_index(in, place, j, k)];
            if (!f->possible || f->blocked) continue;
            for (size_t t = 0; t < in->stacks.thicknesses; t++)
                b->used[t] += in->stacks.of[k][t];
            if (stock_left(b)) try_all(b, place + 1, taken | 1u << j, with(in, s, place, j, k));
            for (size_t t = 0; t < in->stacks.thicknesses; t++)
                b->used[t] -= in->stacks.of[k][t];
        }
    }
}

static Score start(const Instance *in) {
    Score s = {.margin = INT64_MAX};
    for (size_t j = 0; j < in->problem.items; j++)
        s.moved += in->now[j] >= 0;
    return s;
}

/* The score of an answer, worked out again from its choice; limits, stock and items are checked. */
static Score score_of(const Instance *in, const FitResult *r) {
    Score s = start(in);
    Brute b = {.in = in};
    unsigned long long taken = 0;
    for (size_t i = 0; i < in->problem.places; i++) {
        const FitChoice *c = &r->choice[i];
        const FitFigures *f = &in->figures[figure_index(in, i, c->item, c->stack)];
        assert_true(f->possible && !f->blocked && may_sit(in, i, c->item));
        assert_false(taken >> c->item & 1);
        taken |= 1ull << c->item;
        for (size_t t = 0; t < in->stacks.thicknesses; t++)
            b.used[t] += in->stacks.of[c->stack][t];
        s = with(in, s, i, c->item, c->stack);
    }
    assert_true(stock_left(&b));
    assert_int_equal(s.deviation, r->worst_deviation);
    assert_int_equal(s.squares, r->sum_squares);
    if (in->problem.places) assert_int_equal(s.margin, lround(r->worst_margin / .01));
    assert_int_equal(s.let_stand, r->let_stand);
    assert_int_equal(s.adjusters, r->adjusters);
    assert_int_equal(s.moved, r->moved);
    return s;
}

static bool stock_endless(const Instance *in) {
    for (size_t t = 0; t < in->stacks.thicknesses; t++)
        if (in->stock[t] != FIT_MANY) return false;
    return true;
}

static FitResult solve(const Instance *in, Arena *a) {
    FitResult r;
    Err err = {0};
    assert_true(fit_select(&in->problem, a, &r, &err));
    return r;
}

static bool check_against_all(const Instance *in, Arena *a) {
    Brute b = {.in = in};
    FitResult r = solve(in, a);
    try_all(&b, 0, 0, start(in));
    assert_int_equal(r.status, b.any ? FIT_OPTIMAL : FIT_NONE);
    if (!b.any) return false;
    Score s = score_of(in, &r);
    assert_int_equal(compare(&s, &b.best), 0);
    for (size_t i = 0; stock_endless(in) && i < in->problem.places; i++)
        assert_int_equal(r.choice[i].item, b.best_item[i]);
    return true;
}

static void small_instance(Instance *in, Arena *a, Draw *d) {
    size_t places = 1 + (size_t)draw(d, PLACES_MOST);
    size_t items = places + (size_t)draw(d, 4) - (places > 1);
    size_t thicknesses = (size_t)draw(d, 4);
    instance_init(in, a, places, items, thicknesses, 1 + (size_t)draw(d, 3));
    /* about three candidates that keep the limits to a pair, so that all can be tried */
    int one_in = (int)in->stacks.count / (places > 4 ? 2 : 4) + 1;
    instance_any(in, d, one_in, 1 + draw(d, 6), 1 + draw(d, 12));
    instance_circumstances(in, d);
}

static void every_small_instance(void **state) {
    (void)state;
    Draw d = {20240612};
    int fitted = 0;
    for (int round = 0; round < 4000; round++) {
        Arena *a = arena_new();
        Instance in;
        small_instance(&in, a, &d);
        fitted += check_against_all(&in, a);
        arena_free(a);
    }
    assert_in_range(fitted, 1500, 3900); /* both outcomes are well represented */
}

/* With limits broken that are let stand: none of the margins those of them. */
static void every_small_instance_let_stand(void **state) {
    (void)state;
    Draw d = {20251127};
    int fitted = 0, broken = 0;
    for (int round = 0; round < 3000; round++) {
        Arena *a = arena_new();
        Instance in;
        small_instance(&in, a, &d);
        instance_let_stand(&in, &d, 1 + draw(&d, 3));
        fitted += check_against_all(&in, a);
        broken += solve(&in, a).let_stand > 0;
        arena_free(a);
    }
    assert_in_range(fitted, 1000, 2900);
    assert_in_range(broken, 100, fitted - 100);
}

/* Springs and shims of plausible sizes, few shims. */
static void every_small_set_of_springs(void **state) {
    (void)state;
    Draw d = {31};
    int fitted = 0;
    for (int round = 0; round < 150; round++) {
        Arena *a = arena_new();
        Instance in;
        size_t places = 2 + (size_t)draw(&d, 3);
        instance_init(&in, a, places, places + (size_t)draw(&d, 2), 3, 2);
        instance_springs(&in, &d, 60, 25);
        for (size_t t = 0; t < 3; t++)
            in.stock[t] = (size_t)draw(&d, 4);
        fitted += check_against_all(&in, a);
        arena_free(a);
    }
    assert_in_range(fitted, 30, 150);
}

/* Figures of `from` with places and items in another order. */
static void permuted(Instance *to, const Instance *from, Arena *a, const size_t *place,
                     const size_t *item) {
    const FitProblem *p = &from->problem;
    instance_init(to, a, p->places, p->items, from->stacks.thicknesses, 3);
    to->problem.has_aim = p->has_aim;
    to->problem.limits = p->limits;
    memcpy(to->stock, from->stock, from->stacks.thicknesses * sizeof *to->stock);
    for (size_t i = 0; i < p->places; i++)
        for (size_t j = 0; j < p->items; j++) {
            memcpy(&to->figures[figure_index(to, place[i], item[j], 0)],
                   &from->figures[figure_index(from, i, j, 0)],
                   from->stacks.count * sizeof *to->figures);
            if (from->now[j] == (int)i) to->now[item[j]] = (int)place[i];
            if (from->held[i] == (int)j) to->held[place[i]] = (int)item[j];
        }
}

static void shuffle(Draw *d, size_t *order, size_t n) {
    for (size_t k = 0; k < n; k++)
        order[k] = k;
    for (size_t k = n; k > 1; k--) {
        size_t other = (size_t)draw(d, (int)k), held = order[k - 1];
        order[k - 1] = order[other];
        order[other] = held;
    }
}

static void middle_instance(Instance *in, Arena *a, Draw *d) {
    size_t places = 7 + (size_t)draw(d, 5);
    instance_init(in, a, places, places + (size_t)draw(d, 5), 3, 3);
    if (draw(d, 2))
        instance_springs(in, d, 80, 30);
    else
        instance_any(in, d, 8, 5, 9);
    instance_circumstances(in, d);
}

static void order_of_input_changes_nothing(void **state) {
    (void)state;
    Draw d = {5};
    for (int round = 0; round < 200; round++) {
        Arena *a = arena_new();
        Instance in, other;
        size_t place[32], item[32];
        middle_instance(&in, a, &d);
        shuffle(&d, place, in.problem.places);
        shuffle(&d, item, in.problem.items);
        permuted(&other, &in, a, place, item);
        FitResult r = solve(&in, a), q = solve(&other, a), again = solve(&in, a);
        assert_true(r.status == FIT_OPTIMAL || r.status == FIT_NONE);
        assert_int_equal(r.status, q.status);
        if (r.status == FIT_OPTIMAL) {
            Score x = score_of(&in, &r), y = score_of(&other, &q);
            assert_int_equal(compare(&x, &y), 0);
            size_t size = in.problem.places * sizeof *r.choice;
            assert_memory_equal(r.choice, again.choice, size);
        }
        arena_free(a);
    }
}

typedef struct Answer {
    FitStatus status;
    Score score;
} Answer;

static Answer answer(const Instance *in, Arena *a) {
    FitResult r = solve(in, a);
    assert_true(r.status == FIT_OPTIMAL || r.status == FIT_NONE);
    return (Answer){r.status, r.status == FIT_OPTIMAL ? score_of(in, &r) : start(in)};
}

/* The first may do what the second may, and more. */
static void assert_no_worse(Answer more, Answer less) {
    if (less.status == FIT_NONE) return;
    assert_int_equal(more.status, FIT_OPTIMAL);
    assert_true(compare(&more.score, &less.score) <= 0);
}

static void last_item_left_out(Instance *to, const Instance *from, Arena *a) {
    size_t places = from->problem.places, items = from->problem.items - 1;
    instance_init(to, a, places, items, from->stacks.thicknesses, 3);
    to->problem.has_aim = from->problem.has_aim;
    to->problem.limits = from->problem.limits;
    memcpy(to->stock, from->stock, from->stacks.thicknesses * sizeof *to->stock);
    for (size_t i = 0; i < places; i++)
        memcpy(&to->figures[figure_index(to, i, 0, 0)], &from->figures[figure_index(from, i, 0, 0)],
               items * from->stacks.count * sizeof *to->figures);
}

static void limit_tightened(Instance *to, const Instance *from, Arena *a) {
    size_t count = from->problem.places * from->problem.items * from->stacks.count;
    *to = *from;
    to->problem.context = to;
    to->figures = arena_array(a, count, sizeof *to->figures);
    memcpy(to->figures, from->figures, count * sizeof *to->figures);
    for (size_t k = 0; k < count; k++)
        if (to->figures[k].margin < .05) to->figures[k].blocked |= 1;
}

static void more_to_choose_from_is_never_worse(void **state) {
    (void)state;
    Draw d = {6};
    for (int round = 0; round < 200; round++) {
        Arena *a = arena_new();
        Instance in, fewer;
        middle_instance(&in, a, &d);
        for (size_t j = 0; j < in.problem.items; j++)
            in.now[j] = -1;
        for (size_t i = 0; i < in.problem.places; i++)
            in.held[i] = -1;
        last_item_left_out(&fewer, &in, a);
        Answer all = answer(&in, a);
        assert_no_worse(all, answer(&fewer, a));
        size_t t = (size_t)draw(&d, 3);
        if (in.stock[t] == FIT_MANY) in.stock[t] = in.problem.places;
        Answer some = answer(&in, a);
        assert_no_worse(all, some);
        limit_tightened(&fewer, &in, a);
        assert_no_worse(some, answer(&fewer, a));
        in.stock[t] -= in.stock[t] > 0;
        assert_no_worse(some, answer(&in, a));
        arena_free(a);
    }
}

/* Whatever the work allowed, nothing short of the optimum is called optimal, and what is returned
 * keeps its limits. */
static void work_that_runs_out_is_said(void **state) {
    (void)state;
    Draw d = {8};
    int stopped = 0, gave_up = 0;
    for (int round = 0; round < 60; round++) {
        Arena *a = arena_new();
        Instance in;
        middle_instance(&in, a, &d);
        FitResult full = solve(&in, a);
        for (size_t work = 1; work < full.work; work += 1 + full.work / 12) {
            in.problem.work = work;
            FitResult part = solve(&in, a);
            assert_true(part.work <= work);
            assert_true(part.status != FIT_OPTIMAL || part.reached == FIT_DONE);
            if (part.status == FIT_OPTIMAL || part.status == FIT_NOT_PROVED) {
                Score x = score_of(&in, &full), y = score_of(&in, &part);
                int c = compare(&x, &y);
                assert_true(part.status == FIT_OPTIMAL ? c == 0 : c <= 0);
            }
            stopped += part.status == FIT_NOT_PROVED;
            gave_up += part.status == FIT_GAVE_UP;
        }
        arena_free(a);
    }
    assert_true(stopped > 50);
    assert_true(gave_up > 5);
}

/* The most places that can be served, every choice tried. */
static size_t serve(Brute *b, size_t place, unsigned taken, uint64_t dropped, double most) {
    const Instance *in = b->in;
    if (place == in->problem.places) return 0;
    size_t best = serve(b, place + 1, taken, dropped, most);
    for (size_t j = 0; j < in->problem.items; j++) {
        if (taken >> j & 1 || !may_sit(in, place, j)) continue;
        for (size_t k = 0; k < in->stacks.count; k++) {
            const FitFigures *f = &in->figures[figure_index(in, place, j, k)];
            if (!f->possible || f->blocked & ~dropped) continue;
            if (f->blocked && f->deviation + 10 > most) continue;
            for (size_t t = 0; t < in->stacks.thicknesses; t++)
                b->used[t] += in->stacks.of[k][t];
            if (stock_left(b)) {
                size_t with_it = 1 + serve(b, place + 1, taken | 1u << j, dropped, most);
                if (with_it > best) best = with_it;
            }
            for (size_t t = 0; t < in->stacks.thicknesses; t++)
                b->used[t] -= in->stacks.of[k][t];
        }
    }
    return best;
}

/* The amounts are made from the deviations, so that the brute force has them at hand. */
static double amount_from_deviation(void *context, size_t place, size_t item, size_t stack,
                                    size_t limit) {
    const Instance *in = context;
    (void)limit;
    return in->figures[figure_index(in, place, item, stack)].deviation + 10;
}

static size_t serve_with_stock(Brute *b, Instance *in, size_t t, size_t stock) {
    size_t had = in->stock[t];
    in->stock[t] = stock;
    size_t served = serve(b, 0, 0, 0, 1000);
    in->stock[t] = had;
    return served;
}

static void check_why(Instance *in, Arena *a) {
    FitWhy why;
    Err err = {0};
    Brute b = {.in = in};
    size_t n = in->problem.places;
    in->problem.amount = amount_from_deviation;
    assert_true(fit_why(&in->problem, a, &why, &err));
    assert_true(why.proved);
    assert_int_equal(why.served, serve(&b, 0, 0, 0, 1000));
    assert_int_equal(why.items_short, n > in->problem.items ? n - in->problem.items : 0);
    for (size_t l = 0; l < in->problem.limits; l++) {
        const FitBlock *k = &why.limit[l];
        assert_int_equal(k->served, serve(&b, 0, 0, 1u << l, 1000));
        assert_int_equal(k->enough, k->served == n);
        if (!k->amount_known) continue;
        assert_int_equal(serve(&b, 0, 0, 1u << l, k->amount), n);
        assert_true(serve(&b, 0, 0, 1u << l, k->amount - 1) < n);
    }
    for (size_t t = 0; t < in->stacks.thicknesses; t++) {
        const FitBlock *k = &why.stock[t];
        assert_int_equal(k->served, serve_with_stock(&b, in, t, FIT_MANY));
        if (!k->amount_known) continue;
        size_t more = (size_t)k->amount;
        assert_int_equal(serve_with_stock(&b, in, t, in->stock[t] + more), n);
        assert_true(serve_with_stock(&b, in, t, in->stock[t] + more - 1) < n);
    }
}

static void what_stands_in_the_way(void **state) {
    (void)state;
    Draw d = {9};
    int none = 0;
    for (int round = 0; round < 600; round++) {
        Arena *a = arena_new();
        Instance in;
        size_t places = 1 + (size_t)draw(&d, 4);
        instance_init(&in, a, places, places + (size_t)draw(&d, 3) - (places > 1),
                      (size_t)draw(&d, 3), 2);
        instance_any(&in, &d, (int)in.stacks.count + 1, 4, 9);
        instance_circumstances(&in, &d);
        if (solve(&in, a).status == FIT_NONE) none++, check_why(&in, a);
        arena_free(a);
    }
    assert_in_range(none, 100, 600);
}

/* Two sets of parts in pairs whose totals shall be alike: the aim is scanned (see the header). */
typedef struct Weights {
    int rod[4], piston[4], twice_aim;
} Weights;

static void weigh(void *context, size_t place, size_t item, size_t stack, FitFigures *out) {
    const Weights *w = context;
    (void)stack;
    *out = (FitFigures){.possible = true, .margin = INFINITY};
    out->deviation = 2 * (w->rod[place] + w->piston[item]) - w->twice_aim;
}

static int spread_of(const Weights *w, const int *piston) {
    int least = INT32_MAX, most = INT32_MIN;
    for (int i = 0; i < 4; i++) {
        int total = w->rod[i] + w->piston[piston[i]];
        if (total < least) least = total;
        if (total > most) most = total;
    }
    return most - least;
}

static int least_spread(const Weights *w) {
    int best = INT32_MAX, p[4];
    for (int code = 0; code < 256; code++) {
        for (int i = 0; i < 4; i++)
            p[i] = code >> 2 * i & 3;
        if ((1 << p[0] | 1 << p[1] | 1 << p[2] | 1 << p[3]) != 15) continue;
        if (spread_of(w, p) < best) best = spread_of(w, p);
    }
    return best;
}

static void groups_by_total_weight(void **state) {
    (void)state;
    Draw d = {10};
    for (int round = 0; round < 60; round++) {
        Arena *a = arena_new();
        FitStacks stacks;
        Weights w = {.twice_aim = 0};
        int spread = INT32_MAX;
        fit_stacks(&stacks, a, 0, 0);
        for (int i = 0; i < 4; i++)
            w.rod[i] = 600 + draw(&d, 9), w.piston[i] = 400 + draw(&d, 9);
        FitProblem p = {.places = 4,
                        .items = 4,
                        .stacks = &stacks,
                        .has_aim = true,
                        .margin_step = 1,
                        .evaluate = weigh,
                        .context = &w};
        for (w.twice_aim = 2000; w.twice_aim <= 2032; w.twice_aim++) {
            FitResult r;
            Err err = {0};
            assert_true(fit_select(&p, a, &r, &err));
            assert_true(isinf(r.worst_margin));
            if (r.worst_deviation < spread) spread = r.worst_deviation;
        }
        assert_int_equal(spread, least_spread(&w));
        arena_free(a);
    }
}

static void limits_of_the_program(void **state) {
    (void)state;
    Arena *a = arena_new();
    Instance in;
    FitResult r = {.work = 7};
    Err err = {0};
    instance_init(&in, a, 0, 0, 2, 2);
    assert_true(fit_select(&in.problem, a, &r, &err));
    assert_int_equal(r.status, FIT_OPTIMAL); /* no place: nothing to choose */
    in.problem.places = 2001;
    r.work = 7;
    assert_false(fit_select(&in.problem, a, &r, &err));
    assert_int_equal(err.kind, ERR_LIMIT);
    assert_int_equal(r.work, 7); /* outputs only on success */
    fit_stacks(&in.stacks, a, 4, 3);
    assert_int_equal(in.stacks.count, 35);
    assert_int_equal(in.stacks.pieces[0], 0);
    assert_int_equal(in.stacks.pieces[34], 3);
    arena_free(a);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_small_instance),
        cmocka_unit_test(every_small_instance_let_stand),
        cmocka_unit_test(every_small_set_of_springs),
        cmocka_unit_test(order_of_input_changes_nothing),
        cmocka_unit_test(more_to_choose_from_is_never_worse),
        cmocka_unit_test(work_that_runs_out_is_said),
        cmocka_unit_test(what_stands_in_the_way),
        cmocka_unit_test(groups_by_total_weight),
        cmocka_unit_test(limits_of_the_program),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
