/* How long a selective fit takes, without and with a drawer that runs short: milliseconds of
 * processor time (one thread; a busy machine does not change it), the
 * median and the longest of several instances. One line a figure. */
#include "fit_instance.h"

static double now_ms(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

typedef struct Case {
    size_t places, items;
    int rounds;
    double most; /* ms, as the issue asks */
} Case;

/* Pieces of each thickness: a quarter of the places' number, less than the fits like to use. */
static void short_drawer(Instance *in, Draw *d) {
    size_t places = in->problem.places;
    for (size_t t = 0; t < in->stacks.thicknesses; t++)
        in->stock[t] = places / 4 + (size_t)draw(d, (int)places / 4);
}

static void measure(const Case *c, bool stock, uint64_t seed) {
    double took[64];
    int proved = 0, none = 0;
    size_t work = 0;
    Draw d = {seed};
    for (int round = 0; round < c->rounds; round++) {
        Arena *a = arena_new();
        Instance in;
        FitResult r = {0};
        Err err = {0};
        instance_init(&in, a, c->places, c->items, 4, 3);
        instance_springs(&in, &d, 90, 30);
        for (size_t j = 0; j < c->places; j++)
            in.now[j] = (int)j;
        if (stock) short_drawer(&in, &d);
        double from = now_ms();
        if (!fit_select(&in.problem, a, &r, &err)) fprintf(stderr, "%s\n", err.text);
        took[round] = now_ms() - from;
        proved += r.status == FIT_OPTIMAL;
        none += r.status == FIT_NONE;
        if (r.work > work) work = r.work;
        arena_free(a);
    }
    qsort(took, (size_t)c->rounds, sizeof *took, by_size);
    printf("fit %3zu places %3zu items, 35 stacks, %s: %8.2f ms median %8.2f longest (under %.0f), "
           "%d optimal, %d none, of %d; work %zu\n",
           c->places, c->items, stock ? "stock short " : "stock enough", took[c->rounds / 2],
           took[c->rounds - 1], c->most, proved, none, c->rounds, work);
}

int main(void) {
    static const Case cases[] = {{16, 24, 40, 10}, {32, 64, 40, 50}, {200, 400, 2, 1000}};
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        measure(&cases[k], false, 11);
        measure(&cases[k], true, 12);
        fflush(stdout);
    }
    return 0;
}
