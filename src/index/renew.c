/* Bringing the index up to date: by what changed, or made anew. */
#include "index/internal.h"

typedef struct Renewal {
    Index *x;
    const IndexPlan *plan;
    Look *look;
    IndexNews *news;
    Arena *arena;
    PoolTask *tasks;  /* jobs to read */
    uint32_t *stamps; /* of each task: its place in look->stamps */
    int64_t *old;     /* of each task: the id it had; 0 */
    uint32_t count;
    Later later;
} Renewal;

/* ---- which jobs -------------------------------------------------------------------------------
 */

/* Jobs that use the file by name: those of a card, or those that go on from a log. */
static bool mark_users(Renewal *r, const Change *c, bool *again, Err *err) {
    sqlite3_stmt *s = db_statement(r->x, S_NEED_GET, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, c->kind);
    bind_str(s, 2, c->name);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t id = sqlite3_column_int64(s, 0);
        if (id > 0 && id < r->x->next_job) again[id] = true;
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(r->x, err);
}

static void add_task(Renewal *r, uint32_t stamp) {
    const Stamp *f = &r->look->stamps.items[stamp];
    Str name = stamp_name(&r->look->stamps, f);
    r->tasks[r->count] = (PoolTask){name, look_path(r->x, FILE_JOB, name, r->arena)};
    r->stamps[r->count] = stamp;
    r->old[r->count] = f->job;
    r->count++;
}

static bool plan_tasks(Renewal *r, Err *err) {
    const Look *l = r->look;
    bool *again = arena_array(r->arena, (size_t)r->x->next_job, 1);
    bool *changed = arena_array(r->arena, l->stamps.count + 1, 1);
    for (uint32_t i = 0; i < l->count; i++) {
        const Change *c = &l->changes[i];
        if (c->kind == FILE_JOB && c->stamp != UINT32_MAX) changed[c->stamp] = true;
        if (r->x->next_job > 1 && !mark_users(r, c, again, err)) return false;
    }
    size_t room = (size_t)l->stamps.count + 1;
    r->tasks = arena_array(r->arena, room, sizeof *r->tasks);
    r->stamps = arena_array(r->arena, room, sizeof *r->stamps);
    r->old = arena_array(r->arena, room, sizeof *r->old);
    for (uint32_t i = 0; i < l->stamps.count; i++) {
        const Stamp *f = &l->stamps.items[i];
        if (f->kind == FILE_JOB && (changed[i] || (f->job && again[f->job]))) add_task(r, i);
    }
    return true;
}

/* ---- into the tables ----------------------------------------------------------------------------
 */

static bool take_out_gone(Renewal *r, Err *err) {
    for (uint32_t i = 0; i < r->look->count; i++) {
        const Change *c = &r->look->changes[i];
        if (c->kind != FILE_JOB || c->stamp != UINT32_MAX || !c->old_job) continue;
        if (!remove_job(r->x, c->old_job, err)) return false;
        r->news->gone++;
    }
    return true;
}

/* The file as it was when it was read, which may be younger than the look. */
static void keep_stamp(Stamp *f, const Digest *d) {
    f->file = stamp_file(d->stamp.device, d->stamp.inode);
    f->size = d->stamp.size;
    f->mtime_ns = d->stamp.mtime_ns;
    f->ctime_ns = d->stamp.ctime_ns;
    f->hash = d->hash;
}

static bool take_in(Renewal *r, uint32_t task, const Digest *d, Err *err) {
    Stamp *f = &r->look->stamps.items[r->stamps[task]];
    if (d->err.kind && !d->gone) {
        *err = d->err;
        return false;
    }
    if (r->old[task] && !remove_job(r->x, r->old[task], err)) return false;
    f->job = 0;
    f->absent = d->gone;
    if (d->gone) return true;
    f->job = (uint32_t)r->x->next_job++;
    keep_stamp(f, d);
    r->news->read++;
    return insert_job(r->x, f->job, d, &r->later, err);
}

enum { MANY = 500 }; /* jobs from which on it is worth to make room for them at once */

static bool take_all(Renewal *r, Err *err) {
    Pool *pool = pool_start(r->x->book, r->tasks, r->count, r->plan->threads);
    bool ok = true;
    for (uint32_t i = 0; i < r->count && ok; i++) {
        ok = take_in(r, i, pool_next(pool), err);
        if (r->plan->told) r->plan->told(r->plan->told_ctx, i + 1, r->count);
    }
    pool_stop(pool);
    if (!ok) return false;
    return r->count > MANY ? insert_later_packed(r->x, &r->later, err)
                           : insert_later(r->x, &r->later, err);
}

/* The words of a whole book are merged once, at the end, instead of again and again. */
static bool words_at_once(Index *x, bool begin, Err *err) {
    return db_exec(x,
                   begin ? "INSERT INTO t_said(t_said, rank) VALUES('hashsize', 67108864);"
                           "INSERT INTO t_said(t_said, rank) VALUES('automerge', 0)"
                         : "INSERT INTO t_said(t_said) VALUES('optimize');"
                           "INSERT INTO t_said(t_said, rank) VALUES('hashsize', 1048576);"
                           "INSERT INTO t_said(t_said, rank) VALUES('automerge', 4)",
                   err);
}

bool renew(Index *x, const IndexPlan *plan, Look *look, IndexNews *news, Err *err) {
    Renewal r = {.x = x, .plan = plan, .look = look, .news = news, .arena = arena_new()};
    r.later.arena = r.arena;
    bool ok = plan_tasks(&r, err), many = r.count > MANY;
    ok = ok && (!many || words_at_once(x, true, err)) && take_out_gone(&r, err) &&
         take_all(&r, err) && (!many || words_at_once(x, false, err));
    stamps_drop_absent(&look->stamps);
    ok = ok && again_settle(x, err) && look_store(x, &look->stamps, err);
    arena_free(r.arena);
    return ok;
}
