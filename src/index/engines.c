/*
 * What is asked of an engine instead of a job: the words, and each condition, may hold in different
 * jobs of it. Each part is asked for itself, so that what a part shows is what it shows alone.
 */
#include "index/query.h"

typedef struct Hit {
    FoundJob job;
    uint32_t part;
} Hit;

typedef struct Engines {
    Index *x;
    const Ask *ask;
    Arena *arena;
    Err *err;
    ROWS(Hit) hits;
    uint32_t parts;
    ROWS(FoundJob) jobs; /* of the engines that have every part */
} Engines;

/* ---- the parts of the question ----------------------------------------------------------------
 */

static bool ask_part(Engines *g, Ask *part) {
    Found found;
    part->same_engine = false;
    part->limit = (uint32_t)g->x->next_job;
    if (!index_find(g->x, part, g->arena, &found, g->err)) return false;
    for (uint32_t i = 0; i < found.count; i++) {
        Hit hit = {found.jobs[i], g->parts};
        row_add(g->arena, &g->hits, hit);
    }
    g->parts++;
    return true;
}

static bool ask_parts(Engines *g) {
    const Ask *ask = g->ask;
    Ask *part = arena_alloc(g->arena, sizeof *part);
    if (ask->word_count) {
        *part = *ask;
        part->condition_count = 0;
        if (!ask_part(g, part)) return false;
    }
    for (uint32_t i = 0; i < ask->condition_count; i++) {
        *part = *ask;
        part->word_count = 0;
        part->condition_count = 1;
        part->conditions[0] = ask->conditions[i];
        if (!ask_part(g, part)) return false;
    }
    return true;
}

/* ---- by engine --------------------------------------------------------------------------------
 */

static int cmp_folded(Str a, Str b) {
    for (size_t i = 0; i < a.n && i < b.n; i++) {
        int c = (unsigned char)to_lower(a.p[i]) - (unsigned char)to_lower(b.p[i]);
        if (c) return c;
    }
    return (a.n > b.n) - (a.n < b.n);
}

/* A job that names no engine stands for itself. */
static int cmp_engine(const FoundJob *a, const FoundJob *b) {
    int c = cmp_folded(a->engine, b->engine);
    return c || a->engine.n ? c : str_cmp(a->file, b->file);
}

static int by_engine(const void *a, const void *b) {
    const Hit *x = a, *y = b;
    int c = cmp_engine(&x->job, &y->job);
    if (!c) c = (x->job.last < y->job.last) - (x->job.last > y->job.last);
    if (!c) c = str_cmp(x->job.file, y->job.file);
    return c ? c : (x->part > y->part) - (x->part < y->part);
}

/* What a further part shows in a job that is there already. */
static void join_matches(Engines *g, FoundJob *to, const FoundJob *from) {
    uint32_t order = to->match_count;
    for (uint32_t i = 0; i < from->match_count; i++) {
        arena_grow(g->arena, to->matches, to->match_count, to->match_room);
        to->matches[to->match_count] = from->matches[i];
        to->matches[to->match_count++].order = order + i;
    }
    matches_sort(to);
}

static void take_engine(Engines *g, const Hit *hits, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        FoundJob *last = g->jobs.count ? &g->jobs.items[g->jobs.count - 1] : NULL;
        if (i && last && str_eq(last->file, hits[i].job.file))
            join_matches(g, last, &hits[i].job);
        else
            row_add(g->arena, &g->jobs, hits[i].job);
    }
}

static void take_engines(Engines *g) {
    bool has[2 * ASK_MOST];
    if (g->hits.count) qsort(g->hits.items, g->hits.count, sizeof(Hit), by_engine);
    for (uint32_t from = 0, to; from < g->hits.count; from = to) {
        const Hit *first = &g->hits.items[from];
        uint32_t parts = 0;
        memset(has, 0, sizeof has);
        for (to = from; to < g->hits.count; to++) {
            const Hit *hit = &g->hits.items[to];
            if (cmp_engine(&first->job, &hit->job) != 0) break;
            parts += !has[hit->part];
            has[hit->part] = true;
        }
        if (parts == g->parts) take_engine(g, first, to - from);
    }
}

/* ---- the answer -------------------------------------------------------------------------------
 */

typedef struct JobsOfOne { /* the jobs of an engine, the newest first */
    const FoundJob *jobs;
    uint32_t count;
} JobsOfOne;

static int newest_first(const void *a, const void *b) {
    const JobsOfOne *x = a, *y = b;
    int c = (x->jobs->last < y->jobs->last) - (x->jobs->last > y->jobs->last);
    return c ? c : str_cmp(x->jobs->file, y->jobs->file);
}

/* The engine with the newest job first; the jobs of one stand together. */
static void write_jobs(Engines *g, Found *out) {
    ROWS(JobsOfOne) runs = {0};
    for (uint32_t i = 0; i < g->jobs.count; i++) {
        JobsOfOne *last = runs.count ? &runs.items[runs.count - 1] : NULL;
        if (last && cmp_engine(last->jobs, &g->jobs.items[i]) == 0) {
            last->count++;
            continue;
        }
        JobsOfOne run = {&g->jobs.items[i], 1};
        row_add(g->arena, &runs, run);
    }
    if (runs.count) qsort(runs.items, runs.count, sizeof(JobsOfOne), newest_first);
    uint32_t limit = g->ask->limit ? g->ask->limit : 1;
    out->jobs = arena_array(g->arena, g->jobs.count + 1, sizeof *out->jobs);
    for (uint32_t i = 0; i < runs.count; i++) {
        for (uint32_t k = 0; k < runs.items[i].count && out->count < limit; k++)
            out->jobs[out->count++] = runs.items[i].jobs[k];
    }
    out->more = out->count < g->jobs.count;
}

bool find_engines(Index *x, const Ask *ask, Arena *a, Found *out, Err *err) {
    Engines g = {.x = x, .ask = ask, .arena = a, .err = err};
    Found found = {0};
    if (!ask_parts(&g)) return false;
    take_engines(&g);
    write_jobs(&g, &found);
    *out = found;
    return true;
}
