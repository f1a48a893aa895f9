#include "cli/check.h"

#include "base/fatal.h"
#include "cli/progress.h"
#include "compute/check.h"
#include "show/findings.h"
#include <pthread.h>
#include <stdlib.h>

/* Results that may wait for an earlier one. Enough that a long log holds nobody up for long. */
enum { RING = 128, THREADS_MOST = 64 };

typedef struct Result {
    bool ready;
    Buf text;
    uint32_t errors, warnings;
    Err err;
} Result;

typedef struct Pool {
    const CheckPlan *plan;
    Out *out;
    Tally *tally;
    pthread_mutex_t lock; /* over all that follows */
    pthread_cond_t moved; /* `written` went on */
    uint32_t next, written, waiting;
    Result *ring;
    uint32_t room; /* of it: no more than there are targets */
    Progress progress;
} Pool;

/* Puts out every result whose turn has come. The lock is held. */
static void write_ready(Pool *p) {
    uint32_t before = p->written;
    for (Result *r; (r = &p->ring[p->written % p->room])->ready; p->written++) {
        if (r->text.n || r->err.kind) progress_wipe(&p->progress);
        out_add(p->out, buf_str(&r->text));
        if (r->err.kind) complain("%s", r->err.text);
        p->tally->jobs++;
        p->tally->errors += r->errors;
        p->tally->warnings += r->warnings;
        p->tally->trouble |= r->err.kind != ERR_NONE;
        buf_clear(&r->text);
        r->ready = false;
    }
    if (p->written == before) return;
    progress_show(&p->progress, p->written, p->plan->count);
    if (p->waiting) pthread_cond_broadcast(&p->moved);
}

/* The next target's number; false when there is none, or nobody reads any more. */
static bool take(Pool *p, uint32_t *at) {
    if (p->next >= p->plan->count || p->out->failed) return false;
    *at = p->next++;
    while (*at >= p->written + p->room) {
        p->waiting++;
        pthread_cond_wait(&p->moved, &p->lock);
        p->waiting--;
    }
    return true;
}

/* What a thread keeps from one log to the next. */
typedef struct Worker {
    Arena *arena; /* reset between them */
    NamesSeen names;
    PossibleSeen possible;
} Worker;

static void check_log(const Target *t, bool brief, Worker *w, Findings *f, Source *source) {
    Arena *a = w->arena;
    BookDoor through = {.book = t->book, .arena = a};
    Door door = book_door(&through);
    door.seen = &w->names;
    const Job *j = job_read(book_vocab(t->book), source, false, &door, a, f);
    Eval *e = eval_new_after(state_at(j, INT32_MAX, a), a, &w->possible);
    if (brief)
        check_job_briefly(e, f);
    else
        check_job(e, f);
}

static void check_one(const Pool *p, const Target *t, Worker *w, Result *r) {
    Arena *a = w->arena;
    Source *source = arena_alloc(a, sizeof *source);
    Findings f = {.arena = a};
    r->err = (Err){0};
    source->path = str_from(t->path);
    if (file_read(a, t->path, &source->text, NULL, &r->err))
        check_log(t, p->plan->brief, w, &f, source);
    findings_sort(&f);
    if (f.count && p->plan->json) findings_json(&r->text, &f);
    if (f.count && !p->plan->json) findings_text(&r->text, &f, out_style(p->out));
    if (r->text.failed) { /* a piece of them would pass for all */
        buf_clear(&r->text);
        err_set(&r->err, ERR_LIMIT, "there is no memory for the findings of '%s'", t->path);
    }
    r->errors = f.errors;
    r->warnings = f.warnings;
}

static void *work(void *arg) {
    Pool *p = arg;
    Worker w = {.arena = arena_new()};
    uint32_t at;
    pthread_mutex_lock(&p->lock);
    while (take(p, &at)) {
        pthread_mutex_unlock(&p->lock);
        Result *r = &p->ring[at % p->room];
        check_one(p, &p->plan->targets[at], &w, r);
        arena_reset(w.arena);
        pthread_mutex_lock(&p->lock);
        r->ready = true;
        if (at == p->written) write_ready(p);
    }
    pthread_mutex_unlock(&p->lock);
    arena_free(w.arena);
    return NULL;
}

void check_files(const CheckPlan *plan, Out *out, Tally *tally) {
    uint32_t room = plan->count < RING ? plan->count : RING;
    Pool pool = {.plan = plan, .out = out, .tally = tally, .room = room}, *p = &pool;
    p->ring = calloc(room + 1u, sizeof *p->ring);
    if (!p->ring) fatal("out of memory");
    pthread_t threads[THREADS_MOST];
    unsigned started = 0, wanted = plan->threads < THREADS_MOST ? plan->threads : THREADS_MOST;
    if (wanted > plan->count) wanted = plan->count;
    progress_start(&p->progress, "jobs");
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->moved, NULL);
    /* The first worker is this thread; one that cannot be started is done without. */
    while (started + 1 < wanted && pthread_create(&threads[started], NULL, work, p) == 0)
        started++;
    work(p);
    for (unsigned i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    progress_wipe(&p->progress);
    for (unsigned i = 0; i < room; i++)
        buf_release(&p->ring[i].text);
    pthread_cond_destroy(&p->moved);
    pthread_mutex_destroy(&p->lock);
    free(p->ring);
}
