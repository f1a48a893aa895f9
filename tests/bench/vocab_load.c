/*
 * How long the built-in vocabulary takes to load (on the way of every command) and a name to be
 * matched (once a reading). Best of several runs; prints microseconds and nanoseconds.
 */
#include "vocab/vocab.h"

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static double load_once(unsigned *errors) {
    Arena *arena = arena_new();
    Findings findings = {.arena = arena};
    double start = now();
    Vocab *v = vocab_load(NULL, &findings);
    double took = now() - start;
    *errors = findings.errors;
    vocab_free(v);
    arena_free(arena);
    return took;
}

/* Every declared name with a subject behind it, as in a log. */
static double match_all(const Vocab *v, unsigned rounds, unsigned *wrong) {
    char text[512];
    unsigned matched = 0;
    double took = 0;
    *wrong = 0;
    for (TagId i = 0; i < v->tag_count; i++) {
        int n = snprintf(text, sizeof text, "%.*s 1..6", STR_ARG(v->tags[i].name));
        Str left = {text, (size_t)n}, rest;
        double start = now();
        for (unsigned k = 0; k < rounds; k++)
            *wrong += vocab_match(v, left, &rest) != i;
        took += now() - start;
        matched += rounds;
    }
    return took / matched;
}

int main(void) {
    enum { RUNS = 200, ROUNDS = 2000 };
    unsigned errors = 0, wrong = 0;
    double first = load_once(&errors), best = first;
    for (unsigned i = 0; i < RUNS; i++) {
        double took = load_once(&errors);
        best = took < best ? took : best;
    }
    Arena *arena = arena_new();
    Findings findings = {.arena = arena};
    Vocab *v = vocab_load(NULL, &findings);
    double match = match_all(v, ROUNDS, &wrong);
    printf("vocabulary: %u tags, %u formulas, %u errors, %zu KiB\n", v->tag_count,
           v->computed_count, errors, arena_bytes(v->arena) / 1024);
    printf("load: first %.0f us, best %.0f us\n", first * 1e6, best * 1e6);
    printf("match: %.1f ns a name, %u wrong\n", match * 1e9, wrong);
    vocab_free(v);
    arena_free(arena);
    return errors || wrong;
}
