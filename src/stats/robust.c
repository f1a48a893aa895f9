#include "stats/robust.h"

#include <math.h>
#include <stdlib.h>

enum { INSERTION_MOST = 64 }; /* up to here insertion beats qsort's calls */

static int compare(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void sort_values(double *x, size_t n) {
    if (n > INSERTION_MOST) {
        qsort(x, n, sizeof *x, compare);
        return;
    }
    for (size_t i = 1; i < n; i++) {
        double v = x[i];
        size_t j = i;
        for (; j > 0 && x[j - 1] > v; j--)
            x[j] = x[j - 1];
        x[j] = v;
    }
}

double median_sorted(const double *sorted, size_t n) {
    return n % 2 ? sorted[n / 2] : sorted[n / 2 - 1] + (sorted[n / 2] - sorted[n / 2 - 1]) / 2;
}

double rank_sorted(const double *sorted, size_t n, double rank) {
    if (rank <= 1) return sorted[0];
    if (rank >= (double)n) return sorted[n - 1];
    size_t below = (size_t)rank;
    double part = rank - (double)below;
    return sorted[below - 1] + part * (sorted[below] - sorted[below - 1]);
}

double quantile_sorted(const double *sorted, size_t n, double p) {
    return rank_sorted(sorted, n, 1 + p * (double)(n - 1));
}

static double middle_of(double a, double b, double c) {
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* Brings the k-th smallest (from 0) to x[k], nothing greater before it and nothing less behind. */
static void select_nth(double *x, size_t n, size_t k) {
    size_t first = 0, last = n - 1;
    while (first < last) {
        double pivot = middle_of(x[first], x[first + (last - first) / 2], x[last]);
        size_t i = first, j = last;
        for (;;) {
            while (x[i] < pivot)
                i++;
            while (x[j] > pivot)
                j--;
            if (i >= j) break;
            double held = x[i];
            x[i++] = x[j];
            x[j--] = held;
        }
        /* up to j nothing is above the pivot, from j + 1 on nothing is below it; j < last, as the
         * pivot is the middle of three */
        if (k <= j)
            last = j;
        else
            first = j + 1;
    }
}

double rank_select(double *x, size_t n, double rank) {
    size_t k = rank <= 1 ? 0 : rank >= (double)n ? n - 1 : (size_t)rank - 1;
    select_nth(x, n, k);
    double part = rank - (double)(k + 1), next = x[k];
    if (part <= 0 || k + 1 == n) return x[k];
    for (size_t i = k + 1; i < n; i++)
        if (i == k + 1 || x[i] < next) next = x[i];
    return x[k] + part * (next - x[k]);
}

Interval tukey_fences(const double *sorted, size_t n, double k) {
    double low = quantile_sorted(sorted, n, 0.25), high = quantile_sorted(sorted, n, 0.75);
    return (Interval){low - k * (high - low), high + k * (high - low)};
}
