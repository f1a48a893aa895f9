#include "cli/list.h"

#include "cli/progress.h"
#include "compute/check.h"
#include "compute/say.h"
#include <pthread.h>
#include <unistd.h>

enum { THREADS_MOST = 64 };

typedef struct Pool {
    Book *book;
    const BookFiles *jobs;
    List *list;
    pthread_mutex_t lock; /* over what follows, and list->keep */
    uint32_t next, done;
    Progress progress;
} Pool;

static Str fact(const Job *j, Role role, Arena *keep) {
    const Reading *r = job_fact(j, j->vocab->roles[role]);
    return r ? arena_str(keep, reading_text(j, r)) : (Str){0};
}

static void run_time(ListRow *row, Eval *e, const Job *j, Arena *keep) {
    TagId tag = j->vocab->roles[ROLE_RUN_TIME];
    row->run_si = -1;
    if (tag == TAG_NONE || j->vocab->tags[tag].of != CLASS_ENGINE) return;
    const Col *c = eval_tag(e, tag);
    if (!c->n || (c->st[0] & V_MISSING)) return;
    Shown how = say_unit(j, tag, SYSTEM_NONE);
    row->run = (c->st[0] & V_READ) && !(c->st[0] & V_NOMINAL)
                   ? say_reading(keep, j, &j->readings[c->from[0]], SYSTEM_NONE, false)
                   : say_number(keep, how, c->v[0], false);
    const Unit *unit =
        c->st[0] & V_READ && !(c->st[0] & V_NOMINAL) ? j->readings[c->from[0]].unit : how.unit;
    row->run_unit = str_from(unit->name);
    row->run_si = c->v[0];
}

static void days(ListRow *row, const Job *j) {
    row->first = row->last = DAY_NONE;
    for (uint32_t i = 0; i < j->entry_count; i++) {
        int32_t day = j->entries[i].date.day;
        if (j->entries[i].source != 0 || day == DAY_NONE) continue;
        if (row->first == DAY_NONE || day < row->first) row->first = day;
        if (day > row->last) row->last = day;
    }
}

static void read_row(const Pool *p, ListRow *row, Arena *a, Arena *keep) {
    Source *source = arena_alloc(a, sizeof *source);
    Findings f = {.arena = a};
    source->path = str_from(row->path);
    if (!file_read(a, row->path, &source->text, NULL, &row->err)) return;
    BookDoor through = {.book = p->book, .arena = a};
    Door door = book_door(&through);
    const Job *j = job_read(book_vocab(p->book), source, false, &door, a, &f);
    Eval *e = eval_new(state_at(j, INT32_MAX, a), a);
    check_job(e, &f);
    row->title = fact(j, ROLE_TITLE, keep);
    row->engine = fact(j, ROLE_ENGINE, keep);
    row->owner = fact(j, ROLE_OWNER, keep);
    row->stage = fact(j, ROLE_STAGE, keep);
    run_time(row, e, j, keep);
    days(row, j);
    row->errors = f.errors;
    row->warnings = f.warnings;
}

static void *work(void *arg) {
    Pool *p = arg;
    Arena *a = arena_new(), *keep = arena_new();
    pthread_mutex_lock(&p->lock);
    p->list->keep[p->list->keep_count++] = keep;
    while (p->next < p->jobs->count) {
        ListRow *row = &p->list->rows[p->next++];
        pthread_mutex_unlock(&p->lock);
        read_row(p, row, a, keep);
        arena_reset(a);
        pthread_mutex_lock(&p->lock);
        progress_show(&p->progress, ++p->done, p->jobs->count);
    }
    pthread_mutex_unlock(&p->lock);
    arena_free(a);
    return NULL;
}

static unsigned threads_wanted(uint32_t jobs) {
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    unsigned most = n < 1 ? 1 : n > THREADS_MOST ? THREADS_MOST : (unsigned)n;
    return jobs < most ? jobs : most;
}

void list_read(Book *b, const BookFiles *jobs, List *out, Arena *a) {
    *out = (List){.rows = arena_array(a, jobs->count + 1, sizeof *out->rows),
                  .count = jobs->count,
                  .keep = arena_array(a, THREADS_MOST, sizeof(Arena *))};
    for (uint32_t i = 0; i < jobs->count; i++)
        out->rows[i] = (ListRow){.name = jobs->items[i].name,
                                 .path = jobs->items[i].path,
                                 .first = DAY_NONE,
                                 .last = DAY_NONE};
    Pool p = {.book = b, .jobs = jobs, .list = out};
    pthread_t threads[THREADS_MOST];
    unsigned started = 0, wanted = threads_wanted(jobs->count);
    pthread_mutex_init(&p.lock, NULL);
    progress_start(&p.progress, "jobs");
    /* The first worker is this thread; one that cannot be started is done without. */
    while (started + 1 < wanted && pthread_create(&threads[started], NULL, work, &p) == 0)
        started++;
    work(&p);
    for (unsigned i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    progress_wipe(&p.progress);
    pthread_mutex_destroy(&p.lock);
}

void list_free(List *l) {
    for (unsigned i = 0; i < l->keep_count; i++)
        arena_free(l->keep[i]);
    l->keep_count = 0;
}
