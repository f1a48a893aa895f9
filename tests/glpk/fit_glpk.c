/*
 * The selective fit against an exact general solver (GLPK) on random instances: one binary variable
 * for each candidate, solved stage by stage as a mixed-integer model. Built by tests/fit_glpk.sh
 * where the library is there; the program itself does not use it.
 */
#include "fit_instance.h"
#include <glpk.h>

typedef struct Model {
    glp_prob *lp;
    const Instance *in;
    int extra; /* the column of the largest deviation or the least margin */
} Model;

typedef struct Bounds {
    long deviation, margin;  /* candidates beyond them are left out */
    long squares, adjusters; /* fixed sums; -1: not yet */
} Bounds;

typedef enum Goal { DEVIATION, SQUARES, MARGIN, ADJUSTERS, STAY } Goal;

static long margin_of(const FitFigures *f) {
    return lround(f->margin / .01);
}

static long deviation_of(const Instance *in, const FitFigures *f) {
    return in->problem.has_aim ? labs((long)f->deviation) : 0;
}

static bool candidate(const Instance *in, const Bounds *b, size_t i, size_t j, size_t k) {
    const FitFigures *f = &in->figures[figure_index(in, i, j, k)];
    for (size_t p = 0; p < in->problem.places; p++)
        if (in->held[p] >= 0 && (p == i) != ((size_t)in->held[p] == j)) return false;
    return f->possible && !f->blocked && deviation_of(in, f) <= b->deviation &&
           margin_of(f) >= b->margin;
}

static int add_row(glp_prob *lp, int kind, double low, double high) {
    int row = glp_add_rows(lp, 1);
    glp_set_row_bnds(lp, row, kind, low, high);
    return row;
}

typedef struct Rows {
    int place, item, stock, worst, squares, adjusters; /* the first of each; 0: none */
} Rows;

static Rows add_rows(Model *m, const Bounds *b, Goal goal) {
    const FitProblem *p = &m->in->problem;
    Rows r = {0};
    r.place = glp_get_num_rows(m->lp) + 1;
    for (size_t i = 0; i < p->places; i++)
        add_row(m->lp, GLP_FX, 1, 1);
    r.item = glp_get_num_rows(m->lp) + 1;
    for (size_t j = 0; j < p->items; j++)
        add_row(m->lp, GLP_UP, 0, 1);
    r.stock = glp_get_num_rows(m->lp) + 1;
    for (size_t t = 0; t < m->in->stacks.thicknesses; t++) {
        bool many = m->in->stock[t] == FIT_MANY;
        add_row(m->lp, many ? GLP_FR : GLP_UP, 0, many ? 0 : (double)m->in->stock[t]);
    }
    if (goal == DEVIATION || goal == MARGIN) {
        r.worst = glp_get_num_rows(m->lp) + 1;
        for (size_t i = 0; i < p->places; i++)
            add_row(m->lp, goal == DEVIATION ? GLP_UP : GLP_LO, 0, 0);
    }
    if (b->squares >= 0) r.squares = add_row(m->lp, GLP_FX, (double)b->squares, (double)b->squares);
    if (b->adjusters >= 0)
        r.adjusters = add_row(m->lp, GLP_FX, (double)b->adjusters, (double)b->adjusters);
    return r;
}

static void add_candidate(Model *m, const Rows *r, Goal goal, size_t i, size_t j, size_t k) {
    const Instance *in = m->in;
    const FitFigures *f = &in->figures[figure_index(in, i, j, k)];
    double d = (double)deviation_of(in, f), pieces = in->stacks.pieces[k];
    int row[20], n = 0, col = glp_add_cols(m->lp, 1);
    double value[20];
    glp_set_col_kind(m->lp, col, GLP_BV);
    row[++n] = r->place + (int)i, value[n] = 1;
    row[++n] = r->item + (int)j, value[n] = 1;
    for (size_t t = 0; t < in->stacks.thicknesses; t++)
        if (in->stacks.of[k][t]) row[++n] = r->stock + (int)t, value[n] = in->stacks.of[k][t];
    if (r->worst)
        row[++n] = r->worst + (int)i, value[n] = goal == DEVIATION ? d : (double)margin_of(f);
    if (r->squares) row[++n] = r->squares, value[n] = d * d;
    if (r->adjusters) row[++n] = r->adjusters, value[n] = pieces;
    glp_set_mat_col(m->lp, col, n, row, value);
    if (goal == SQUARES) glp_set_obj_coef(m->lp, col, d * d);
    if (goal == ADJUSTERS) glp_set_obj_coef(m->lp, col, pieces);
    if (goal == STAY) glp_set_obj_coef(m->lp, col, in->now[j] == (int)i);
}

/* The column that is at least every place's deviation, or at most every place's margin. */
static void add_worst(Model *m, const Rows *r) {
    enum { PLACES_MOST = 64 };
    int row[PLACES_MOST + 1], n = 0, col = glp_add_cols(m->lp, 1); /* GLPK counts from 1 */
    double value[PLACES_MOST + 1];
    if (m->in->problem.places > PLACES_MOST) abort();
    glp_set_col_bnds(m->lp, col, GLP_FR, 0, 0);
    for (size_t i = 0; i < m->in->problem.places; i++)
        row[++n] = r->worst + (int)i, value[n] = -1;
    glp_set_mat_col(m->lp, col, n, row, value);
    glp_set_obj_coef(m->lp, col, 1);
}

/* The optimum of one stage. False: there is no choice. */
static bool optimum(const Instance *in, const Bounds *b, Goal goal, long *value) {
    Model m = {.lp = glp_create_prob(), .in = in};
    glp_iocp parameters;
    glp_init_iocp(&parameters);
    parameters.presolve = GLP_ON;
    parameters.msg_lev = GLP_MSG_OFF;
    glp_set_obj_dir(m.lp, goal == MARGIN || goal == STAY ? GLP_MAX : GLP_MIN);
    Rows r = add_rows(&m, b, goal);
    for (size_t i = 0; i < in->problem.places; i++)
        for (size_t j = 0; j < in->problem.items; j++)
            for (size_t k = 0; k < in->stacks.count; k++)
                if (candidate(in, b, i, j, k)) add_candidate(&m, &r, goal, i, j, k);
    if (r.worst) add_worst(&m, &r);
    int rc = glp_intopt(m.lp, &parameters);
    bool found = rc == 0 && glp_mip_status(m.lp) == GLP_OPT;
    if (found) *value = lround(glp_mip_obj_val(m.lp));
    if (!found && rc != 0 && rc != GLP_ENOPFS) fprintf(stderr, "GLPK returns %d\n", rc), exit(2);
    glp_delete_prob(m.lp);
    return found;
}

/* True: the same optimum in every stage. */
static bool same(const Instance *in, const FitResult *r) {
    Bounds b = {1000000, -1000000, -1, -1};
    long deviation, squares, margin, adjusters, stay, seated = 0;
    if (!optimum(in, &b, DEVIATION, &deviation)) return r->status == FIT_NONE;
    if (r->status != FIT_OPTIMAL) return false;
    b.deviation = deviation;
    if (!optimum(in, &b, SQUARES, &squares)) return false;
    b.squares = squares;
    if (!optimum(in, &b, MARGIN, &margin)) return false;
    b.margin = margin;
    if (!optimum(in, &b, ADJUSTERS, &adjusters)) return false;
    b.adjusters = adjusters;
    if (!optimum(in, &b, STAY, &stay)) return false;
    for (size_t j = 0; j < in->problem.items; j++)
        seated += in->now[j] >= 0;
    return deviation == r->worst_deviation && squares == r->sum_squares &&
           margin == lround(r->worst_margin / .01) && adjusters == (long)r->adjusters &&
           seated - stay == (long)r->moved;
}

static void make_instance(Instance *in, Arena *a, Draw *d, int round) {
    size_t places = 2 + (size_t)draw(d, 7), thicknesses = 1 + (size_t)draw(d, 3);
    instance_init(in, a, places, places + (size_t)draw(d, 3), thicknesses, 2 + (size_t)draw(d, 2));
    if (round % 2)
        instance_any(in, d, (int)in->stacks.count / 4 + 1, 6, 9);
    else
        instance_springs(in, d, 70, 25);
    instance_circumstances(in, d);
}

int main(void) {
    Draw d = {1000};
    int differ = 0, fitted = 0, rounds = 1000;
    glp_term_out(GLP_OFF);
    for (int round = 0; round < rounds; round++) {
        Arena *a = arena_new();
        Instance in;
        FitResult r;
        Err err = {0};
        make_instance(&in, a, &d, round);
        bool ok = fit_select(&in.problem, a, &r, &err) && same(&in, &r);
        if (!ok) printf("instance %d differs\n", round), differ++;
        fitted += r.status == FIT_OPTIMAL;
        arena_free(a);
    }
    printf("%d instances, %d of them fit, %d differ\n", rounds, fitted, differ);
    if (fitted < rounds / 3 || fitted == rounds) differ++; /* both outcomes are to be tried */
    if (!differ) printf("%d checks\n", rounds);
    return differ != 0;
}
