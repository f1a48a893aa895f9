#include "index/ties.h"

#include "base/near.h"
#include "index/internal.h"

typedef struct Pick {
    Index *x;
    Arena *arena;
    Err *err;
    uint8_t *picked;    /* by job id: an index into a bitmap of `room` jobs */
    uint8_t *continues; /* the job goes on from another */
    int64_t room;
    int64_t *ids; /* picked, in the order they were */
    uint32_t count, ids_room;
} Pick;

static void pick(Pick *p, int64_t id) {
    if (id < 0 || id >= p->room || p->picked[id]) return;
    p->picked[id] = 1;
    arena_grow(p->arena, p->ids, p->count, p->ids_room);
    p->ids[p->count++] = id;
}

static bool pick_rows(Pick *p, sqlite3_stmt *s) {
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW)
        pick(p, sqlite3_column_int64(s, 0));
    return rc == SQLITE_DONE || db_fail(p->x, p->err);
}

static Str letters_and_digits(Arena *a, Str text) {
    enum { MOST = 64 }; /* as the index keeps them: digest.c */
    char key[MOST];
    size_t n = 0;
    for (size_t i = 0; i < text.n && n < sizeof key; i++) {
        char c = text.p[i];
        if (is_alpha(c) || is_digit(c) || (c & 0x80)) key[n++] = to_lower(c);
    }
    return arena_str(a, (Str){key, n});
}

/* Jobs in which a fact says these words; the index folds them, so the text is looked at again by
 * whoever reads the job. */
static bool pick_words(Pick *p, TagId tag, Str words) {
    sqlite3_stmt *s = db_statement(p->x, S_WORD_IS, p->err);
    if (!s) return false;
    sqlite3_bind_int(s, 1, tag);
    bind_str(s, 2, letters_and_digits(p->arena, words));
    sqlite3_bind_int(s, 4, 0);
    return pick_rows(p, s);
}

static bool pick_part(Pick *p, Str part) {
    const Vocab *v = book_vocab(p->x->book);
    for (TagId t = 0; t < v->tag_count; t++) {
        if (v->tags[t].kind == TAG_PART && !pick_words(p, t, part)) return false;
    }
    return true;
}

static bool pick_all(Pick *p) {
    sqlite3_stmt *s = db_statement(p->x, S_TIES_ALL, p->err);
    return s && pick_rows(p, s);
}

static bool first_picks(Pick *p, Str engine, Str part) {
    if (engine.n) return pick_words(p, book_vocab(p->x->book)->roles[ROLE_ENGINE], engine);
    return part.n ? pick_part(p, part) : pick_all(p);
}

static bool size_of(Pick *p) {
    sqlite3_stmt *s = db_statement(p->x, S_TIES_ROOM, p->err);
    if (!s) return false;
    if (sqlite3_step(s) != SQLITE_ROW) return db_fail(p->x, p->err);
    p->room = sqlite3_column_int64(s, 0) + 1;
    p->picked = arena_array(p->arena, (size_t)p->room, 1);
    p->continues = arena_array(p->arena, (size_t)p->room, 1);
    s = db_statement(p->x, S_TIES_CONTINUE, p->err);
    if (!s) return false;
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t id = sqlite3_column_int64(s, 0);
        if (id >= 0 && id < p->room) p->continues[id] = 1;
    }
    return rc == SQLITE_DONE || db_fail(p->x, p->err);
}

static bool last_fact(Pick *p, int64_t id, TagId tag, Str *out) {
    sqlite3_stmt *s = db_statement(p->x, S_FACT_OF, p->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, row_id(id, 0));
    sqlite3_bind_int64(s, 2, row_id(id, (uint32_t)ROW_MOST));
    sqlite3_bind_int(s, 3, tag);
    int rc;
    *out = (Str){0};
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        if (!out->n && sqlite3_column_type(s, 3) == SQLITE_NULL)
            *out = arena_str(p->arena, column_str(s, 2));
    }
    return rc == SQLITE_DONE || db_fail(p->x, p->err);
}

static bool followers_of(Pick *p, Str file) {
    sqlite3_stmt *s = db_statement(p->x, S_NEED_GET, p->err);
    if (!s) return false;
    sqlite3_bind_int(s, 1, FILE_JOB);
    bind_str(s, 2, file);
    return pick_rows(p, s);
}

/* *gone: the job has been read again under another id, or was deleted; what names it by its old one
 * stays until the index is made anew. */
static bool job_row(Pick *p, int64_t id, BookJob *job, bool *gone) {
    sqlite3_stmt *s = db_statement(p->x, S_JOB_GET, p->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    int rc = sqlite3_step(s);
    *gone = rc == SQLITE_DONE;
    if (rc != SQLITE_ROW) return *gone || db_fail(p->x, p->err);
    job->name = arena_str(p->arena, column_str(s, 1));
    job->engine = arena_str(p->arena, column_str(s, 3));
    bool dated = sqlite3_column_type(s, 6) != SQLITE_NULL;
    job->last_day = dated ? sqlite3_column_int(s, 6) : DAY_NONE;
    job->path = book_job_path(p->x->book, job->name, p->arena);
    if (!job->path) job->path = "";
    sqlite3_reset(s);
    if (!p->continues[id]) return true;
    return last_fact(p, id, book_vocab(p->x->book)->roles[ROLE_CONTINUES], &job->continues);
}

bool index_ties(Index *x, Str engine, Str part, Arena *a, BookJobs *out, Err *err) {
    Pick p = {.x = x, .arena = a, .err = err};
    BookJobs jobs = {0};
    if (!size_of(&p) || !first_picks(&p, engine, part)) return false;
    for (uint32_t i = 0; i < p.count; i++) { /* grows: those that continue what is there */
        BookJob job = {0};
        bool gone;
        if (!job_row(&p, p.ids[i], &job, &gone)) return false;
        if (gone) continue;
        if ((engine.n || part.n) && !followers_of(&p, job.name)) return false;
        arena_grow(a, jobs.items, jobs.count, jobs.room);
        jobs.items[jobs.count++] = job;
    }
    *out = jobs;
    return true;
}

bool index_near_engine(Index *x, Str typed, Arena *a, Str *out, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_TIES_ENGINES, err);
    if (!s) return false;
    Near near;
    near_start(&near, typed);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        Str name = column_str(s, 0);
        if (name.n) near_offer(&near, arena_str(a, name));
    }
    if (rc != SQLITE_DONE) return db_fail(x, err);
    Str text = near_text(&near, a);
    *out = text.n ? arena_printf(a, "; %.*s", STR_ARG(text)) : text;
    return true;
}
