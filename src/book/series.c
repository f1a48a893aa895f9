#include "book/series.h"

#include "book/series_parts.h"
#include <math.h>

/* ---- heads of chains --------------------------------------------------------------------------
 */

static int by_name(const void *a, const void *b) {
    return str_cmp(((const BookJob *)a)->name, ((const BookJob *)b)->name);
}

static BookJob *job_named(BookJob *jobs, uint32_t count, Str name) {
    BookJob key = {.name = name};
    return name.n ? bsearch(&key, jobs, count, sizeof *jobs, by_name) : NULL;
}

typedef struct Rows { /* the logs by name, and what is known of each */
    BookJob *jobs;
    uint32_t count;
    uint32_t *head; /* per log: number of the last head whose row it is in; 0: none yet */
    Arena *a;
    Heads *out;
} Rows;

/* Makes a head of a log, and takes the row of logs before it, as far as a job holds them. Those
 * that an earlier head has taken are to be skipped. Returns the log behind a row that is too long.
 */
static BookJob *take_row(Rows *r, BookJob *job) {
    Head *head = &r->out->items[r->out->count++];
    uint32_t room = 0, steps = 0;
    *head = (Head){.job = job, .first_day = INT32_MAX};
    BookJob *at = job;
    for (; at && steps++ < SOURCE_MOST; at = job_named(r->jobs, r->count, at->continues)) {
        uint32_t *taken = &r->head[at - r->jobs];
        if (*taken == r->out->count) return NULL; /* a ring */
        if (*taken) {
            arena_grow(r->a, head->skip, head->skip_count, room);
            head->skip[head->skip_count++] = str_from(at->path);
        }
        *taken = r->out->count;
    }
    return at && !r->head[at - r->jobs] ? at : NULL;
}

static void take_rows(Rows *r, BookJob *job) {
    while (job)
        job = take_row(r, job);
}

/* Of the logs in no row, which stand in rings, the one that was written last. */
static BookJob *latest_left(const Rows *r) {
    BookJob *latest = NULL;
    for (uint32_t i = 0; i < r->count; i++) {
        if (!r->head[i] && (!latest || r->jobs[i].last_day >= latest->last_day))
            latest = &r->jobs[i];
    }
    return latest;
}

/* The logs that no other continues, one of each ring, and one behind each row that is longer than a
 * job holds: so every log is read through one of them. */
static void find_heads(const BookJobs *jobs, Arena *a, Heads *out) {
    uint32_t n = jobs->count;
    BookJob *sorted = arena_array(a, n + 1, sizeof *sorted);
    if (n) memcpy(sorted, jobs->items, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, by_name);
    bool *continued = arena_array(a, n + 1, sizeof *continued);
    for (uint32_t i = 0; i < n; i++) {
        BookJob *before = job_named(sorted, n, sorted[i].continues);
        if (before && before != &sorted[i]) continued[before - sorted] = true;
    }
    out->items = arena_array(a, n + 1, sizeof *out->items);
    Rows rows = {sorted, n, arena_array(a, n + 1, sizeof *rows.head), a, out};
    for (uint32_t i = 0; i < n; i++) {
        if (!continued[i]) take_rows(&rows, &sorted[i]);
    }
    for (BookJob *left; (left = latest_left(&rows));)
        take_rows(&rows, left);
}

/* ---- reading them -----------------------------------------------------------------------------
 */

typedef struct Pass {
    Book *book;
    const SeriesAsk *ask;
    Heads *heads;
    struct SeriesHold *hold;
} Pass;

static int32_t first_day(const Job *j) {
    for (uint32_t i = 0; i < j->entry_count; i++) {
        if (j->entries[i].source == 0 && j->entries[i].date.day != DAY_NONE)
            return j->entries[i].date.day;
    }
    return INT32_MAX;
}

static bool read_head(void *ctx, unsigned worker, uint32_t i, Arena *scratch, Err *err) {
    Pass *p = ctx;
    Head *head = &p->heads->items[i];
    SeriesAsk ask = *p->ask;
    if (!isnan(head->at)) ask.at = head->at;
    Source s = {.path = str_from(head->job->path)};
    if (!file_read(scratch, head->job->path, &s.text, NULL, err)) return false;
    Findings found = {.arena = scratch};
    BookDoor through = {.book = p->book, .arena = scratch};
    Door door = book_door(&through);
    const Job *j = job_read(book_vocab(p->book), &s, false, &door, scratch, &found);
    head->unread = job_unread(j);
    head->first_day = first_day(j);
    head->list = (SeriesList){0};
    series_of_job(j, &ask, (Paths){head->skip, head->skip_count}, p->hold->arenas[worker], scratch,
                  &head->list);
    return true;
}

/* ---- one condition for what is compared --------------------------------------------------------
 */

static bool same_scope(const SeriesAsk *ask, const Series *a, const Series *b) {
    if (ask->group_by != TAG_NONE) return str_ieq(a->group, b->group);
    if (ask->part.n) return true;
    return str_eq(a->engine, b->engine) && str_eq(a->group, b->group);
}

typedef struct Height {
    const Series *of; /* one of the scope */
    double at;
    uint32_t points;
} Height;

typedef struct Scopes { /* of heads that may share one: an engine's, or all */
    Height *items;
    uint32_t count, room;
} Scopes;

/* Per scope and condition how many points were read at it. */
static void add_heights(const Pass *p, const Head *head, Arena *a, Scopes *h) {
    for (uint32_t k = 0; k < head->list.count; k++) {
        const Series *s = &head->list.items[k];
        if (isnan(s->at)) continue;
        uint32_t at = h->count;
        while (at > 0 && !(same_condition(h->items[at - 1].at, s->at) &&
                           same_scope(p->ask, h->items[at - 1].of, s)))
            at--;
        if (at == 0) {
            arena_grow(a, h->items, h->count, h->room);
            h->items[h->count] = (Height){s, s->at, 0};
            at = ++h->count;
        }
        h->items[at - 1].points += s->count;
    }
}

static double scope_height(const Pass *p, const Scopes *h, const Series *s) {
    const Height *best = NULL;
    for (uint32_t i = 0; i < h->count; i++) {
        if (!same_scope(p->ask, h->items[i].of, s)) continue;
        if (!best || h->items[i].points > best->points) best = &h->items[i];
    }
    return best ? best->at : NAN;
}

/* Reads a log again for those of its series that stand at another condition than their scope. */
static bool level_head(Pass *p, uint32_t i, const Scopes *h, Arena *scratch, Err *err) {
    Head *head = &p->heads->items[i];
    SeriesList had = head->list;
    for (uint32_t k = 0; k < had.count; k++) {
        double want = scope_height(p, h, &had.items[k]);
        if (isnan(want) || same_condition(want, had.items[k].at)) continue;
        head->at = want;
        if (!read_head(p, 0, i, scratch, err)) return false;
        for (uint32_t m = 0; m < had.count && had.count == head->list.count; m++) {
            if (same_condition(scope_height(p, h, &had.items[m]), want))
                had.items[m] = head->list.items[m];
        }
    }
    head->list = had;
    return true;
}

static int by_engine(const void *a, const void *b) {
    const Head *x = *(Head *const *)a, *y = *(Head *const *)b;
    return str_cmp(x->list.items[0].engine, y->list.items[0].engine);
}

static bool level_run(Pass *p, Head **run, uint32_t count, Arena *a, Err *err) {
    Scopes h = {0};
    for (uint32_t i = 0; i < count; i++)
        add_heights(p, run[i], a, &h);
    bool ok = true;
    Arena *scratch = h.count > 1 ? arena_new() : NULL;
    for (uint32_t i = 0; ok && h.count > 1 && i < count; i++) {
        ok = level_head(p, (uint32_t)(run[i] - p->heads->items), &h, scratch, err);
        arena_reset(scratch);
    }
    arena_free(scratch);
    return ok;
}

static bool level(Pass *p, Err *err) {
    if (!isnan(p->ask->at) || !book_vocab(p->book)->tags[p->ask->tag].has_curve) return true;
    bool all = p->ask->part.n || p->ask->group_by != TAG_NONE, ok = true;
    Arena *a = arena_new();
    Head **sorted = arena_array(a, p->heads->count + 1, sizeof(Head *));
    uint32_t n = 0;
    for (uint32_t i = 0; i < p->heads->count; i++) {
        if (p->heads->items[i].list.count) sorted[n++] = &p->heads->items[i];
    }
    qsort(sorted, n, sizeof(Head *), by_engine);
    for (uint32_t i = 0, to; ok && i < n; i = to) {
        for (to = i + 1; to < n && (all || by_engine(&sorted[i], &sorted[to]) == 0);)
            to++;
        ok = level_run(p, &sorted[i], to - i, a, err);
    }
    arena_free(a);
    return ok;
}

/* ---- all of it --------------------------------------------------------------------------------
 */

static struct SeriesHold *hold_new(void) {
    Arena *a = arena_new();
    struct SeriesHold *hold = arena_alloc(a, sizeof *hold);
    hold->arena = a;
    for (unsigned i = 0; i < SERIES_THREADS; i++)
        hold->arenas[i] = arena_new();
    return hold;
}

void book_series_free(BookSeries *s) {
    if (!s->hold) return;
    for (unsigned i = 0; i < SERIES_THREADS; i++)
        arena_free(s->hold->arenas[i]);
    arena_free(s->hold->arena);
    *s = (BookSeries){0};
}

static void count_faults(const Heads *heads, BookSeries *out) {
    for (uint32_t i = 0; i < heads->count; i++) {
        const Head *head = &heads->items[i];
        if (!head->unread || !head->list.count) continue;
        if (!out->faulty_logs++) out->faulty = head->job->name;
        out->faulty_lines += head->unread;
    }
}

bool book_series(Book *b, const BookJobs *jobs, const SeriesAsk *ask, const SeriesPlan *plan,
                 BookSeries *out, Err *err) {
    *out = (BookSeries){.hold = hold_new()};
    Heads heads = {0};
    find_heads(jobs, out->hold->arena, &heads);
    for (uint32_t i = 0; i < heads.count; i++)
        heads.items[i].at = NAN;
    Pass p = {b, ask, &heads, out->hold};
    if (!series_work(heads.count, plan, read_head, &p, err) || !level(&p, err)) return false;
    out->logs = heads.count;
    count_faults(&heads, out);
    const Tag *over = ask->over == TAG_NONE ? NULL : &book_vocab(b)->tags[ask->over];
    series_join(&heads, over, ask, out->hold->arena, &out->list);
    return true;
}
