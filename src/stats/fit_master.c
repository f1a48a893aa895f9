/*
 * Revised simplex on limited + 1 rows. Columns are numbered: 0 up to limited - 1 pieces left over,
 * then as many for pieces too many (at the penalty, so that there is always a solution), then the
 * choices. The basis is inverted anew in each step: with at most ten rows that costs less than
 * keeping it true.
 */
#include "stats/fit_master.h"
#include <math.h>

#define STEPS 200
#define ROWS (MASTER_ROWS + 1)

void master_clear(Master *m, size_t limited, const int64_t *stock, double penalty) {
    m->limited = limited;
    m->penalty = penalty;
    m->count = 0;
    for (size_t t = 0; t < limited; t++)
        m->stock[t] = (double)stock[t];
}

static bool in_basis(const Master *m, size_t column) {
    for (size_t r = 0; r <= m->limited; r++)
        if (m->basis[r] == column) return true;
    return false;
}

/* The first basis: the choice, with what it leaves over or uses too many of each thickness. */
static void start(Master *m) {
    for (size_t t = 0; t < m->limited; t++)
        m->basis[t] = m->used[0][t] <= m->stock[t] ? t : m->limited + t;
    m->basis[m->limited] = 2 * m->limited;
}

size_t master_add(Master *m, double cost, const int64_t *used) {
    size_t at = m->count;
    if (at == MASTER_COLUMNS) {
        at = 0; /* of those out of use the dearest at the present prices would be best; any will do
                 */
        while (in_basis(m, 2 * m->limited + at))
            at++;
        for (size_t k = at + 1; k < m->count; k++)
            if (m->cost[k] > m->cost[at] && !in_basis(m, 2 * m->limited + k)) at = k;
    } else {
        m->count++;
    }
    m->cost[at] = cost;
    for (size_t t = 0; t < m->limited; t++)
        m->used[at][t] = (double)used[t];
    if (m->count == 1) start(m);
    return at;
}

static double column_cost(const Master *m, size_t column) {
    if (column < m->limited) return 0;
    return column < 2 * m->limited ? m->penalty : m->cost[column - 2 * m->limited];
}

static double entry(const Master *m, size_t column, size_t row) {
    size_t n = m->limited;
    if (column >= 2 * n) return row == n ? 1 : m->used[column - 2 * n][row];
    if (column >= n) return column - n == row ? -1 : 0;
    return column == row ? 1 : 0;
}

/* Gauss-Jordan with row exchange. False: the basis is singular, which rounding alone can cause. */
static bool invert(Master *m) {
    size_t n = m->limited + 1;
    double b[ROWS][2 * ROWS];
    for (size_t r = 0; r < n; r++)
        for (size_t c = 0; c < n; c++) {
            b[r][c] = entry(m, m->basis[c], r);
            b[r][n + c] = r == c;
        }
    for (size_t c = 0; c < n; c++) {
        size_t pivot = c;
        for (size_t r = c + 1; r < n; r++)
            if (fabs(b[r][c]) > fabs(b[pivot][c])) pivot = r;
        if (fabs(b[pivot][c]) < 1e-9) return false;
        for (size_t k = 0; k < 2 * n; k++) {
            double held = b[c][k];
            b[c][k] = b[pivot][k];
            b[pivot][k] = held;
        }
        for (size_t k = 2 * n; k-- > c;)
            b[c][k] /= b[c][c];
        for (size_t r = 0; r < n; r++) {
            double factor = b[r][c];
            for (size_t k = c; r != c && k < 2 * n; k++)
                b[r][k] -= factor * b[c][k];
        }
    }
    for (size_t r = 0; r < n; r++)
        for (size_t c = 0; c < n; c++)
            m->inverse[r][c] = b[r][n + c];
    return true;
}

/* Row of the inverse times a column (or, with column SIZE_MAX, times the right side). */
static double times(const Master *m, size_t row, size_t column) {
    double sum = 0;
    for (size_t r = 0; r <= m->limited; r++) {
        double v = column != SIZE_MAX ? entry(m, column, r) : r == m->limited ? 1 : m->stock[r];
        sum += m->inverse[row][r] * v;
    }
    return sum;
}

/* The column whose entry saves most per unit; SIZE_MAX: none, this is the optimum. */
static size_t entering(const Master *m, const double *dual) {
    size_t n = m->limited, best = SIZE_MAX;
    double least = 0, largest = 0;
    for (size_t r = 0; r <= n; r++)
        largest = fmax(largest, fabs(column_cost(m, m->basis[r])));
    least = -1e-6 - 1e-11 * largest;
    for (size_t c = 0; c < 2 * n + m->count; c++) {
        double saved = column_cost(m, c);
        for (size_t r = 0; r <= n; r++)
            saved -= dual[r] * entry(m, c, r);
        if (saved < least && !in_basis(m, c)) least = saved, best = c;
    }
    return best;
}

static bool exchange(Master *m, size_t column) {
    size_t leaving = SIZE_MAX;
    double least = INFINITY;
    for (size_t r = 0; r <= m->limited; r++) {
        double along = times(m, r, column), ratio = fmax(times(m, r, SIZE_MAX), 0);
        if (along < 1e-9) continue;
        ratio /= along;
        if (ratio < least) least = ratio, leaving = r;
    }
    if (leaving == SIZE_MAX) return false;
    m->basis[leaving] = column;
    return true;
}

static void read_out(Master *m, const double *dual) {
    size_t n = m->limited;
    m->value = 0;
    for (size_t k = 0; k < m->count; k++)
        m->weight[k] = 0;
    for (size_t t = 0; t < n; t++)
        m->price[t] = fmax(-dual[t], 0);
    for (size_t r = 0; r <= n; r++) {
        double amount = times(m, r, SIZE_MAX);
        m->value += amount * column_cost(m, m->basis[r]);
        if (m->basis[r] >= 2 * n) m->weight[m->basis[r] - 2 * n] = amount;
    }
}

void master_solve(Master *m) {
    double dual[ROWS] = {0};
    for (int step = 0; step < STEPS; step++) {
        if (!invert(m)) {
            start(m);
            invert(m);
        }
        for (size_t r = 0; r <= m->limited; r++) {
            dual[r] = 0;
            for (size_t k = 0; k <= m->limited; k++)
                dual[r] += column_cost(m, m->basis[k]) * m->inverse[k][r];
        }
        size_t column = entering(m, dual);
        if (column == SIZE_MAX || !exchange(m, column)) break;
    }
    read_out(m, dual);
}
