/* Opening the index of a book: as it is, brought up to date, or made anew. */
#include "index/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

enum { WAIT_MS = 60000, NAP_MS = 5 };
#define NEVER INT64_MIN /* the clock of no look */

typedef struct Opening {
    Index *x;
    const IndexPlan *plan;
    IndexNews *news;
    Arena *arena;
    const char *folder, *path;
    Survey *survey;   /* what the last look is made of */
    int64_t asked_ns; /* clock of the renewal that questions are answered from meanwhile */
    int lock;         /* held while something is written; -1 */
    bool writable;
} Opening;

static void index_new_files(Opening *o) {
    const char *book = book_folder(o->x->book);
    o->folder = arena_printf(o->x->arena, "%s/" BOOK_STORE, book[0] ? book : ".").p;
    o->path = arena_printf(o->x->arena, "%s/" INDEX_FILE, o->folder).p;
    o->x->path = o->path;
}

/* Three times at most: an editor may be saving all the while. */
static bool look_again(Opening *o, Look *look, Err *err) {
    for (int left = 3; left > 0; left--) {
        survey_free(o->survey);
        o->survey = survey_begin(book_folder(o->x->book));
        *look = (Look){0};
        if (!look_at(o->x, o->survey, o->plan->now_ns, o->arena, look, err)) return false;
        if (!look->stale) break;
    }
    return true;
}

/* One process renews at a time; the others wait, and then find nothing left to do. Where there is
 * no folder to write in, *writable is false and the index is kept in memory. */
static bool lock_folder(Opening *o, Err *err) {
    Err quiet = {0};
    o->writable = file_mkdirs(o->folder, &quiet);
    const char *path = arena_printf(o->arena, "%s/index.lock", o->folder).p;
    if (o->writable) o->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    o->writable = o->writable && o->lock >= 0;
    if (!o->writable) return true;
    struct timespec nap = {.tv_nsec = NAP_MS * 1000000L};
    for (int waited = 0; flock(o->lock, LOCK_EX | LOCK_NB) != 0; waited += NAP_MS) {
        if (errno != EWOULDBLOCK && errno != EINTR) {
            o->writable = false; /* a file system without locks */
            return true;
        }
        if (waited >= WAIT_MS)
            return err_set(err, ERR_INDEX,
                           "another thou has been renewing the index of this book for a minute; "
                           "wait for it, or use --as-is");
        nanosleep(&nap, NULL);
    }
    return true;
}

static bool sync_file(const char *path, Err *err) {
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return err_errno(err, ERR_IO, "cannot open '%s'", path);
    bool ok = fsync(fd) == 0 || err_errno(err, ERR_IO, "cannot write '%s' to the disk", path);
    close(fd);
    return ok;
}

static bool renew_from_nothing(Opening *o, const char *path, Err *err) {
    Index *x = o->x;
    Look look = {0};
    if (!db_create(x, path, err)) return false;
    bool ok = look_again(o, &look, err) && renew(x, o->plan, &look, o->news, err) &&
              db_exec(x, "COMMIT", err);
    if (!ok) db_close(x);
    return ok;
}

/* Beside the old one, and in its place only when it is whole: who has the old one open reads on. */
static bool make_anew(Opening *o, Err *err) {
    Index *x = o->x;
    if (!o->writable) {
        x->in_memory = true;
        return renew_from_nothing(o, NULL, err);
    }
    const char *fresh = arena_printf(o->arena, "%s.new", o->path).p;
    (void)unlink(fresh);
    bool ok = renew_from_nothing(o, fresh, err);
    if (ok) db_close(x);
    ok = ok && sync_file(fresh, err);
    if (ok && rename(fresh, o->path) != 0)
        ok = err_errno(err, ERR_IO, "cannot put '%s' in its place", o->path);
    if (!ok) {
        (void)unlink(fresh);
        return false;
    }
    (void)unlink(arena_printf(o->arena, "%s-journal", o->path).p);
    trust_settle(x, o->folder, o->arena);
    if (db_open(x, o->path, err) == DB_SOUND) return true;
    return err_set(err, ERR_INDEX, "the index '%s' was made but cannot be opened", o->path);
}

/* A quarter of what is stored belongs to jobs that were read again since: time to start afresh. */
static bool mostly_dead(Index *x, const Look *l) {
    enum { SPARE = 200 };
    int64_t live = 0;
    for (uint32_t i = 0; i < l->stamps.count; i++)
        live += l->stamps.items[i].kind == FILE_JOB;
    return x->next_job - 1 - live > live / 4 + SPARE;
}

static bool write_changes(Opening *o, Look *look, Err *err) {
    Index *x = o->x;
    if (!x->in_memory && (!o->writable || sqlite3_db_readonly(x->db, "main")) &&
        !db_to_memory(x, err))
        return false;
    bool synced = x->in_memory || !trust_mark(x, o->arena);
    if (!db_exec(x, synced ? "BEGIN IMMEDIATE" : "PRAGMA synchronous=OFF; BEGIN IMMEDIATE", err))
        return false;
    bool ok =
        look->count ? renew(x, o->plan, look, o->news, err) : look_store(x, &look->stamps, err);
    if (ok && db_exec(x, "COMMIT", err)) return true;
    sqlite3_exec(x->db, "ROLLBACK", NULL, NULL, NULL);
    return false;
}

/* False with *err set, or with *dead set: then it must be made anew. What was found before the lock
 * was ours serves, unless another process has renewed the index since. */
static bool bring_up_to_date(Opening *o, Look *look, bool *dead, Err *err) {
    Index *x = o->x;
    bool holds;
    if (!look_holds(x, look, &holds, err)) return false;
    if (!holds && !look_again(o, look, err)) return false;
    if (look->count && mostly_dead(x, look)) {
        *dead = true;
        return false;
    }
    bool worth = look->count || (look->refresh && o->writable);
    return !worth || write_changes(o, look, err);
}

/* Nothing changed for a while: what was written is on the disk by now, and syncing it is cheap. */
static void settle_old(Opening *o) {
    if (!trust_is_old(o->x, o->plan->now_ns, o->arena)) return;
    const char *path = arena_printf(o->arena, "%s/index.lock", o->folder).p;
    int lock = open(path, O_RDWR | O_CLOEXEC);
    if (lock >= 0 && flock(lock, LOCK_EX | LOCK_NB) == 0) trust_settle(o->x, o->folder, o->arena);
    if (lock >= 0) close(lock);
}

static const char *why_anew(DbState state) {
    if (state == DB_LOST)
        return "the machine stopped before the index was safe on the disk: it has been made anew";
    return state == DB_DAMAGED ? "the index was damaged and has been made anew" : NULL;
}

/* Under the lock: brought up to date, or made anew. *look is what was found before, or empty. No
 * index is made of a vocabulary with errors: so one that bears the hash of the vocabulary says,
 * too, that it has none. */
static bool renew_locked(Opening *o, Look *look, Err *err) {
    Index *x = o->x;
    bool dead = false;
    Err failed = {0};
    if (!book_need_vocab(x->book, err) || !lock_folder(o, err)) return false;
    DbState state = o->plan->anew ? DB_DAMAGED : db_open(x, o->path, err);
    if (state == DB_SOUND) {
        if (bring_up_to_date(o, look, &dead, &failed)) return true;
        db_close(x);
        if (!dead && failed.kind != ERR_INDEX) {
            *err = failed;
            return false;
        }
        if (!dead) state = DB_DAMAGED;
    }
    o->news->rebuilt = why_anew(state);
    o->news->read = o->news->gone = 0;
    x->in_memory = false;
    return make_anew(o, err);
}

static void end_opening(Index *x) {
    Opening *o = x->opening;
    x->opening = NULL;
    if (!o) return;
    if (o->lock >= 0) close(o->lock);
    survey_free(o->survey);
    arena_free(o->arena);
}

/* What is there answers at once; whether it still holds is asked by index_confirm. */
static bool open_as_it_is(Opening *o, bool *open, Err *err) {
    Index *x = o->x;
    *open = !o->plan->anew && db_open(x, o->path, err) == DB_SOUND;
    Err failed = {0};
    if (!*open || o->plan->as_is || look_renewed_at(x, &o->asked_ns, &failed)) return true;
    db_close(x);
    *open = false; /* damage is met again, and mended */
    if (failed.kind == ERR_INDEX) return true;
    *err = failed;
    return false;
}

bool index_open(Book *b, const IndexPlan *plan, Index **out, IndexNews *news, Err *err) {
    Arena *arena = arena_new();
    Index *x = arena_alloc(arena, sizeof *x);
    Opening *o = arena_alloc(arena, sizeof *o);
    *news = (IndexNews){0};
    *o = (Opening){.x = x, .plan = plan, .news = news, .arena = arena_new(), .lock = -1};
    *x = (Index){.book = b, .arena = arena, .opening = o};
    index_new_files(o);
    if (plan->anew || plan->as_is)
        survey_free(plan->survey);
    else
        o->survey = plan->survey ? plan->survey : survey_begin(book_folder(b));
    bool open;
    Look none = {.was_renewed_ns = NEVER};
    bool ok = open_as_it_is(o, &open, err) && (open || renew_locked(o, &none, err));
    news->in_memory = x->in_memory;
    if (!ok || !open || plan->as_is) end_opening(x);
    if (!ok) {
        index_close(x);
        return false;
    }
    *out = x;
    return true;
}

/* Closed before the lock is asked for: it may be another's by the time that is ours. */
static bool renew_index(Opening *o, Look *look, bool *changed, Err *err) {
    Index *x = o->x;
    db_close(x);
    if (!renew_locked(o, look, err)) return false;
    const IndexNews *news = o->news;
    *changed = news->read || news->gone || news->rebuilt || look->was_renewed_ns != o->asked_ns;
    o->news->in_memory = x->in_memory;
    return true;
}

bool index_confirm(Index *x, bool *changed, Err *err) {
    Opening *o = x->opening;
    *changed = false;
    if (!o) return true;
    Look look = {.was_renewed_ns = NEVER};
    Err failed = {0};
    bool looked = look_at(x, o->survey, o->plan->now_ns, o->arena, &look, &failed), ok = true;
    bool renewed = looked && (look.was_renewed_ns != o->asked_ns || look.stale);
    /* By another process, from files that may be younger than what the survey saw: look anew. */
    if (renewed) look = (Look){.was_renewed_ns = NEVER};
    if (looked && !renewed && !look.count && !look.refresh) {
        settle_old(o);
    } else if (looked || failed.kind == ERR_INDEX) { /* damage is met again, and mended */
        ok = renew_index(o, &look, changed, err);
    } else {
        *err = failed;
        ok = false;
    }
    end_opening(x);
    return ok;
}

void index_close(Index *x) {
    if (!x) return;
    end_opening(x);
    db_close(x);
    arena_free(x->arena);
}
