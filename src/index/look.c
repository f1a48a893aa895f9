/* What changed since the last look: every file's stamp against the stored one. */
#include "base/file.h"
#include "base/hash.h"
#include "index/internal.h"

/* A file written this shortly before a look may be written again within the same tick of its
 * clock (the coarsest common one: two seconds): its stamp proves nothing. */
static const int64_t young_ns = 2000000000;

/* Without a "./" in front: as an editor opens it from where the person stands. */
const char *look_path(const Index *x, FileKind kind, Str name, Arena *a) {
    const char *book = book_folder(x->book);
    bool here = !book[0] || strcmp(book, ".") == 0;
    bool slash = !here && book[strlen(book) - 1] != '/';
    return arena_printf(a, "%s%s%s/%.*s%s", here ? "" : book, slash ? "/" : "",
                        file_forms[kind].folder, STR_ARG(name), file_forms[kind].suffix)
        .p;
}

bool look_renewed_at(Index *x, int64_t *ns, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_ABOUT_GET, err);
    if (!s) return false;
    bind_str(s, 1, STR("renewed"));
    int rc = sqlite3_step(s);
    *ns = rc == SQLITE_ROW ? sqlite3_column_int64(s, 0) : 0;
    sqlite3_reset(s);
    return rc == SQLITE_ROW || rc == SQLITE_DONE || db_fail(x, err);
}

bool look_holds(Index *x, const Look *l, bool *holds, Err *err) {
    int64_t ns;
    if (!look_renewed_at(x, &ns, err)) return false;
    *holds = ns == l->was_renewed_ns;
    return true;
}

/* A column of the one row, straight into the arena: through a statement SQLite would make half a
 * million bytes of fresh memory of its own first. Empty when there is no row yet. */
static bool read_column(Index *x, const char *column, Arena *a, void **out, size_t *size,
                        Err *err) {
    sqlite3_blob *blob = NULL;
    *out = NULL;
    *size = 0;
    int rc = sqlite3_blob_open(x->db, "main", "t_look", column, 1, 0, &blob);
    if (rc == SQLITE_OK) {
        int n = sqlite3_blob_bytes(blob);
        *out = arena_alloc(a, (size_t)n + 1);
        *size = (size_t)n;
        rc = sqlite3_blob_read(blob, *out, n, 0);
    } else if (rc == SQLITE_ERROR) {
        rc = SQLITE_OK; /* no such row */
    }
    bool ok = rc == SQLITE_OK || db_fail(x, err);
    sqlite3_blob_close(blob);
    return ok;
}

/* Jobs are numbered anew as they are read again, until a quarter of the numbers is dead (index.c);
 * a last renewal may have read all of them again. */
static int64_t greatest_next(int64_t files) {
    enum { ROUNDS = 3, SPARE = 100000 };
    return ROUNDS * files + SPARE;
}

bool look_bounds(Index *x, Err *err) {
    sqlite3_blob *blob = NULL;
    int rc = sqlite3_blob_open(x->db, "main", "t_look", "stamps", 1, 0, &blob);
    int64_t files = rc == SQLITE_OK ? sqlite3_blob_bytes(blob) / (int64_t)sizeof(Stamp) : 0;
    bool ok = rc == SQLITE_OK || rc == SQLITE_ERROR /* no such row yet */ || db_fail(x, err);
    sqlite3_blob_close(blob);
    if (!ok || (x->next_job > 0 && x->next_job <= greatest_next(files))) return ok;
    return err_set(err, ERR_INDEX, "the index '%s' holds a damaged number of jobs", x->path);
}

bool look_load(Index *x, Stamps *out, Arena *a, Err *err) {
    void *stamps, *names;
    size_t stamps_size, names_size;
    if (!read_column(x, "stamps", a, &stamps, &stamps_size, err) ||
        !read_column(x, "names", a, &names, &names_size, err))
        return false;
    out->items = stamps;
    out->count = (uint32_t)(stamps_size / sizeof *out->items);
    out->names = names;
    out->names_size = names_size;
    if (!look_renewed_at(x, &out->renewed_ns, err)) return false;
    for (uint32_t i = 0; i < out->count; i++) {
        const Stamp *f = &out->items[i];
        if ((size_t)f->name + f->name_len > out->names_size || f->kind >= FILE_KINDS ||
            f->job >= x->next_job)
            return err_set(err, ERR_INDEX, "the index '%s' holds a damaged list of files", x->path);
    }
    return true;
}

/* Writes what differs from what is stored, a piece at a time; *done is false when it is not as
 * long. */
static bool patch(Index *x, const char *column, Str now, bool *done, Err *err) {
    enum { PIECE = 4096 };
    sqlite3_blob *blob = NULL;
    char was[PIECE];
    int rc = sqlite3_blob_open(x->db, "main", "t_look", column, 1, 1, &blob);
    *done = rc == SQLITE_OK && (size_t)sqlite3_blob_bytes(blob) == now.n;
    if (rc == SQLITE_ERROR) rc = SQLITE_OK; /* there is no such row yet */
    for (size_t at = 0; *done && rc == SQLITE_OK && at < now.n; at += PIECE) {
        int n = now.n - at < PIECE ? (int)(now.n - at) : PIECE;
        rc = sqlite3_blob_read(blob, was, n, (int)at);
        if (rc == SQLITE_OK && memcmp(was, now.p + at, (size_t)n) != 0)
            rc = sqlite3_blob_write(blob, now.p + at, n, (int)at);
    }
    bool ok = rc == SQLITE_OK || db_fail(x, err);
    sqlite3_blob_close(blob);
    return ok;
}

static bool put_number(Index *x, Str key, int64_t number, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_ABOUT_PUT, err);
    if (!s) return false;
    bind_str(s, 1, key);
    sqlite3_bind_int64(s, 2, number);
    return db_run(x, s, err);
}

/* One edited job changes a few bytes of half a million: only those are written. */
bool look_store(Index *x, const Stamps *l, Err *err) {
    Str stamps = {l->items ? (const char *)l->items : "", l->count * sizeof *l->items};
    Str names = {l->names ? l->names : "", l->names_size};
    bool patched, named;
    if (!patch(x, "names", names, &named, err)) return false;
    patched = named;
    if (patched && !patch(x, "stamps", stamps, &patched, err)) return false;
    if (!patched) {
        sqlite3_stmt *s = db_statement(x, S_LOOK_PUT, err);
        if (!s) return false;
        sqlite3_bind_blob64(s, 1, stamps.p, stamps.n, SQLITE_STATIC);
        sqlite3_bind_blob64(s, 2, names.p, names.n, SQLITE_STATIC);
        if (!db_run(x, s, err)) return false;
    }
    return put_number(x, STR("renewed"), l->renewed_ns, err) &&
           put_number(x, STR("next job"), x->next_job, err);
}

/* ---- against what was ------------------------------------------------------------------------ */

typedef struct Match {
    const Stamps *was;
    uint32_t *table; /* of `was`, by the hash of the name; made when the order is not the same */
    uint32_t room;
    bool *seen;
    uint32_t next;
} Match;

static bool is_file(const Stamps *s, const Stamp *f, uint32_t kind, Str name) {
    return f->kind == kind && str_eq(stamp_name(s, f), name);
}

static void make_table(Match *m, Arena *a) {
    for (m->room = 64; m->room < m->was->count * 2; m->room *= 2) {
    }
    m->table = arena_array(a, m->room, sizeof *m->table);
    for (uint32_t i = 0; i < m->was->count; i++) {
        uint64_t h = hash_bytes(stamp_name(m->was, &m->was->items[i]));
        while (m->table[h & (m->room - 1)])
            h++;
        m->table[h & (m->room - 1)] = i + 1;
    }
}

/* A folder is listed in the same order as long as nothing comes or goes: try the next one first. */
static const Stamp *find_was(Match *m, uint32_t kind, Str name, Arena *a) {
    if (!m->was->count) return NULL;
    if (m->next < m->was->count && is_file(m->was, &m->was->items[m->next], kind, name)) {
        m->seen[m->next] = true;
        return &m->was->items[m->next++];
    }
    if (!m->table) make_table(m, a);
    for (uint64_t h = hash_bytes(name); m->table[h & (m->room - 1)]; h++) {
        uint32_t i = m->table[h & (m->room - 1)] - 1;
        if (!is_file(m->was, &m->was->items[i], kind, name)) continue;
        m->seen[i] = true;
        m->next = i + 1;
        return &m->was->items[i];
    }
    return NULL;
}

static bool same_stamp(const Stamp *a, const Stamp *b) {
    return a->file == b->file && a->size == b->size && a->mtime_ns == b->mtime_ns &&
           a->ctime_ns == b->ctime_ns;
}

static bool young(const Stamp *f, int64_t renewed_ns) {
    int64_t newest = f->mtime_ns > f->ctime_ns ? f->mtime_ns : f->ctime_ns;
    return newest > renewed_ns - young_ns;
}

/* 0 when it cannot be read: then it counts as changed, and reading it says why. */
static uint64_t content_hash(const Index *x, const Stamps *s, const Stamp *f, Arena *a) {
    Str text;
    Err quiet = {0};
    const char *path = look_path(x, (FileKind)f->kind, stamp_name(s, f), a);
    return file_read(a, path, &text, NULL, &quiet) ? hash_bytes(text) : 0;
}

static void add_change(Look *l, Arena *a, Change c) {
    arena_grow(a, l->changes, l->count, l->room);
    l->changes[l->count++] = c;
}

static void compare(Index *x, Look *l, Match *m, uint32_t i, Arena *a, Arena *scratch) {
    Stamp *f = &l->stamps.items[i];
    Str name = stamp_name(&l->stamps, f);
    const Stamp *was = find_was(m, f->kind, name, a);
    if (was) {
        f->hash = was->hash;
        f->job = was->job;
    }
    bool same = was && same_stamp(was, f);
    if (same && !young(was, m->was->renewed_ns)) return;
    uint64_t hash = was || f->kind == FILE_CARD ? content_hash(x, &l->stamps, f, scratch) : 0;
    arena_reset(scratch);
    if (was && hash && hash == was->hash) {
        l->refresh = true;
        return;
    }
    f->hash = hash;
    add_change(l, a, (Change){(FileKind)f->kind, name, was ? was->job : 0, i});
}

/* Gone; or another process has met it since the folder was listed. */
static void not_listed(Index *x, Look *l, const Stamps *was, const Stamp *f, Arena *a) {
    Str name = arena_str(a, stamp_name(was, f));
    l->stale |= file_exists(look_path(x, (FileKind)f->kind, name, a));
    add_change(l, a, (Change){(FileKind)f->kind, name, f->job, UINT32_MAX});
}

bool look_at(Index *x, Survey *survey, int64_t now_ns, Arena *a, Look *out, Err *err) {
    Stamps was = {0};
    Look l = {0};
    Arena *scratch = arena_new();
    bool ok = look_load(x, &was, a, err) && survey_end(survey, &l.stamps, err);
    if (!ok) goto done;
    l.stamps.renewed_ns = now_ns;
    l.was_renewed_ns = was.renewed_ns;
    Match m = {.was = &was, .seen = arena_array(a, was.count + 1, 1)};
    for (uint32_t i = 0; i < l.stamps.count; i++)
        compare(x, &l, &m, i, a, scratch);
    for (uint32_t i = 0; i < was.count; i++) {
        if (!m.seen[i]) not_listed(x, &l, &was, &was.items[i], a);
    }
    *out = l;
done:
    arena_free(scratch);
    return ok;
}
