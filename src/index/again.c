/* What was read again at once: of a job as rows, and summed up over the book. */
#include "index/again.h"

#include "compute/repeated.h"
#include "index/internal.h"

/* ---- of a job ---------------------------------------------------------------------------------
 */

/* A reading of the log itself, in an entry that has a day: as a trend takes them. */
static bool is_own(const Job *j, const uint32_t *entry_row, const Reading *r) {
    return r->source == 0 && entry_row[r->entry] != UINT32_MAX &&
           j->vocab->tags[r->tag].kind == TAG_NUMBER &&
           j->entries[reading_entry(j, r)].date.day != DAY_NONE;
}

/* Most logs repeat nothing, or one quantity: only those are looked at. */
static bool *repeated_tags(const Job *j, const uint32_t *entry_row, Arena *a) {
    bool *again = NULL;
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (!(r->flags & READ_REPEATED) || !is_own(j, entry_row, r)) continue;
        if (!again) again = arena_array(a, j->vocab->tag_count, sizeof *again);
        again[r->tag] = true;
    }
    return again;
}

void digest_again(const Job *j, const uint32_t *entry_row, Arena *a, Digest *d) {
    const bool *again = repeated_tags(j, entry_row, a);
    if (!again) return;
    Repeats *sums = arena_array(a, j->vocab->tag_count, sizeof *sums);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (again[r->tag] && is_own(j, entry_row, r)) repeated_add(j, i, &sums[r->tag]);
    }
    for (TagId t = 0; t < j->vocab->tag_count; t++) {
        AgainRow row = {t, sums[t]};
        if (sums[t].things) row_add(a, &d->again, row);
    }
}

/* ---- into the tables ----------------------------------------------------------------------------
 */

static void bind_repeats(sqlite3_stmt *s, int at, const Repeats *r) {
    sqlite3_bind_int64(s, at, (int64_t)r->things);
    sqlite3_bind_int64(s, at + 1, (int64_t)r->readings);
    sqlite3_bind_double(s, at + 2, r->squares);
}

static Repeats column_repeats(sqlite3_stmt *s, int at) {
    return (Repeats){.things = (uint64_t)sqlite3_column_int64(s, at),
                     .readings = (uint64_t)sqlite3_column_int64(s, at + 1),
                     .squares = sqlite3_column_double(s, at + 2)};
}

bool again_put(Index *x, int64_t id, const Digest *d, Err *err) {
    for (uint32_t i = 0; i < d->again.count; i++) {
        sqlite3_stmt *s = db_statement(x, S_AGAIN_PUT, err);
        if (!s) return false;
        sqlite3_bind_int64(s, 1, id);
        sqlite3_bind_int64(s, 2, d->again.items[i].tag);
        bind_repeats(s, 3, &d->again.items[i].repeats);
        if (!db_run(x, s, err)) return false;
        x->again_changed = true;
    }
    return true;
}

bool again_drop(Index *x, int64_t id, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_AGAIN_DROP, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    if (!db_run(x, s, err)) return false;
    x->again_changed |= sqlite3_changes(x->db) > 0;
    return true;
}

typedef struct Sum {
    Repeats repeats;
    uint32_t jobs;
} Sum;

static bool sum_up(Index *x, Sum *sums, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_AGAIN_EACH, err);
    if (!s) return false;
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t tag = sqlite3_column_int64(s, 0);
        if (tag < 0 || tag >= book_vocab(x->book)->tag_count) continue;
        Repeats r = column_repeats(s, 1);
        repeats_join(&sums[tag].repeats, &r);
        sums[tag].jobs++;
    }
    return rc == SQLITE_DONE || db_fail(x, err);
}

static bool put_sum(Index *x, TagId tag, const Sum *sum, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_AGAIN_ALL_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, tag);
    sqlite3_bind_int64(s, 2, sum->jobs);
    bind_repeats(s, 3, &sum->repeats);
    sqlite3_bind_double(s, 6, repeats_spread(&sum->repeats).sd);
    return db_run(x, s, err);
}

/* Summed anew from the rows, not changed by a difference: a sum that is added to and taken from for
 * years would no longer be that of the rows. */
bool again_settle(Index *x, Err *err) {
    if (!x->again_changed) return true;
    TagId count = book_vocab(x->book)->tag_count;
    Arena *a = arena_new();
    Sum *sums = arena_array(a, count, sizeof *sums);
    sqlite3_stmt *clear = db_statement(x, S_AGAIN_CLEAR, err);
    bool ok = clear && db_run(x, clear, err) && sum_up(x, sums, err);
    for (TagId t = 0; ok && t < count; t++)
        ok = !sums[t].jobs || put_sum(x, t, &sums[t], err);
    arena_free(a);
    x->again_changed = !ok;
    return ok;
}

/* ---- asked --------------------------------------------------------------------------------------
 */

bool index_repeats(Index *x, TagId tag, Repeats *out, Err *err) {
    *out = (Repeats){0};
    sqlite3_stmt *s = db_statement(x, S_AGAIN_GET, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, tag);
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW) *out = column_repeats(s, 0);
    sqlite3_reset(s);
    return rc == SQLITE_ROW || rc == SQLITE_DONE || db_fail(x, err);
}
