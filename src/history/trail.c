#include "history/trail.h"

#include "base/file.h"
#include "base/hash.h"
#include "history/trail_make.h"
#include <endian.h>

static const char magic[] = "thou past 1\n";
enum { MAGIC = sizeof magic - 1, HASH = 8 };

/* ---- bytes --------------------------------------------------------------------------------------
 */

typedef struct Reader {
    Str bytes;
    size_t at;
    bool bad;
} Reader;

static const char *take(Reader *r, size_t n) {
    if (r->bad || r->bytes.n - r->at < n) {
        r->bad = true;
        return NULL;
    }
    const char *p = r->bytes.p + r->at;
    r->at += n;
    return p;
}

static uint64_t take_number(Reader *r, size_t n) {
    uint64_t v = 0;
    const char *p = take(r, n);
    if (p) memcpy(&v, p, n);
    return le64toh(v);
}

static void take_id(Reader *r, git_oid *id) {
    const char *p = take(r, GIT_OID_RAWSZ);
    if (p) memcpy(id->id, p, GIT_OID_RAWSZ);
}

static void put_number(Buf *b, uint64_t v, size_t n) {
    v = htole64(v);
    buf_add(b, (Str){(const char *)&v, n});
}

/* ---- the table of commits
 * ------------------------------------------------------------------------ */

static uint32_t *slot_of(const Trail *t, const git_oid *id) {
    uint32_t at;
    memcpy(&at, id->id, sizeof at);
    for (at &= t->mask; t->table[at]; at = (at + 1) & t->mask) {
        if (memcmp(&t->commits[t->table[at] - 1].id, id, sizeof *id) == 0) break;
    }
    return &t->table[at];
}

bool trail_has(const Trail *t, const git_oid *id, uint32_t *number) {
    uint32_t found = t->count ? *slot_of(t, id) : 0;
    if (found) *number = found - 1;
    return found != 0;
}

static void make_table(Trail *t, uint32_t room) {
    t->table = arena_array(t->a, room, sizeof *t->table);
    t->mask = room - 1;
    for (uint32_t i = 0; i < t->count; i++)
        *slot_of(t, &t->commits[i].id) = i + 1;
}

static void add_commit(Trail *t, const TrailCommit *c) {
    arena_grow(t->a, t->commits, t->count, t->room);
    t->commits[t->count++] = *c;
    if (!t->table || t->count * 2 > t->mask)
        make_table(t, t->table ? (t->mask + 1) * 2 : 1024);
    else
        *slot_of(t, &c->id) = t->count;
}

/* ---- reading
 * ------------------------------------------------------------------------------------- */

static void skip_change(Reader *r) {
    take(r, 2 + 2 * (4 + GIT_OID_RAWSZ));
    size_t n = (size_t)take_number(r, 2);
    take(r, n);
}

static bool read_commit(Trail *t, Reader *r) {
    TrailCommit c = {.parent_count = 0};
    take_id(r, &c.id);
    c.time = (int64_t)take_number(r, 8);
    c.parent_count = (uint16_t)take_number(r, 2);
    c.parents = (uint32_t)r->at;
    for (uint16_t i = 0; i < c.parent_count; i++) {
        if (take_number(r, 4) >= t->count) r->bad = true;
    }
    uint32_t changes = (uint32_t)take_number(r, 4);
    for (uint32_t i = 0; i < changes && !r->bad; i++)
        skip_change(r);
    if (!r->bad) add_commit(t, &c);
    return !r->bad;
}

static bool read_head(const Trail *t, Reader *r) {
    const char *p = take(r, MAGIC);
    if (!p || memcmp(p, magic, MAGIC) != 0) return false;
    size_t n = (size_t)take_number(r, 2);
    p = take(r, n);
    return p && str_eq((Str){p, n}, str_from(t->h->prefix));
}

static void start_empty(Trail *t) {
    t->count = 0;
    buf_clear(&t->bytes);
    buf_add(&t->bytes, (Str){magic, MAGIC});
    put_number(&t->bytes, strlen(t->h->prefix), 2);
    buf_puts(&t->bytes, t->h->prefix);
}

static const char *trail_path(const Trail *t) {
    return arena_printf(t->a, "%s/past", t->h->store).p;
}

static bool read_all(Trail *t, Str file) {
    if (file.n < HASH) return false;
    Reader end = {.bytes = file, .at = file.n - HASH}, r = {.bytes = {file.p, file.n - HASH}};
    if (take_number(&end, HASH) != hash_bytes(r.bytes) || !read_head(t, &r)) return false;
    while (r.at < r.bytes.n) {
        if (!read_commit(t, &r)) return false;
    }
    buf_add(&t->bytes, r.bytes);
    return true;
}

void trail_read(Trail *t, History *h, Arena *a) {
    *t = (Trail){.h = h, .a = a};
    Err none = {0};
    Str file = {0};
    bool there = file_exists(trail_path(t)) && file_read(a, trail_path(t), &file, NULL, &none);
    if (there && read_all(t, file)) return;
    t->table = NULL;
    start_empty(t);
}

void trail_release(Trail *t) {
    buf_release(&t->bytes);
}

uint32_t trail_parent(const Trail *t, const TrailCommit *c, uint16_t n) {
    Reader r = {.bytes = buf_str(&t->bytes), .at = c->parents + 4u * n};
    return (uint32_t)take_number(&r, 4);
}

/* ---- the marks of one file
 * ------------------------------------------------------------------------ */

static void mark_change(Trail *t, TrailCommit *c, Reader *r, Str path) {
    TrailMark mark = {.parent = (uint16_t)take_number(r, 2)};
    take(r, 4 + GIT_OID_RAWSZ);
    mark.after.mode = (unsigned)take_number(r, 4);
    take_id(r, &mark.after.id);
    size_t n = (size_t)take_number(r, 2);
    const char *p = take(r, n);
    if (!p || !str_eq((Str){p, n}, path)) return;
    arena_grow(t->a, t->marks, t->mark_count, t->mark_room);
    t->marks[t->mark_count++] = mark;
    c->mark_count++;
}

void trail_mark(Trail *t, const char *path) {
    Str wanted = str_from(path);
    t->mark_count = 0;
    for (uint32_t i = 0; i < t->count; i++) {
        TrailCommit *c = &t->commits[i];
        Reader r = {.bytes = buf_str(&t->bytes), .at = c->parents + 4u * c->parent_count};
        c->mark = t->mark_count;
        c->mark_count = 0;
        uint32_t changes = (uint32_t)take_number(&r, 4);
        for (uint32_t k = 0; k < changes; k++)
            mark_change(t, c, &r, wanted);
    }
}

/* ---- making
 * --------------------------------------------------------------------------------------- */

typedef struct Pending {
    git_commit *commit;
    unsigned next; /* the parent to be looked at */
} Pending;

typedef struct Making {
    Trail *t;
    TreeCache trees;
    Pending *stack; /* a commit stands above the one it is a parent of */
    size_t depth, room;
} Making;

static bool push(Making *m, const git_oid *id, Err *err) {
    const Git *git = &m->t->h->git;
    git_commit *commit = NULL;
    int code = git->commit_lookup(&commit, m->t->h->repo, id);
    if (code != 0) return git_fail(git, code, err, "an earlier record can't be read");
    arena_grow(m->t->a, m->stack, m->depth, m->room);
    m->stack[m->depth++] = (Pending){commit, 0};
    return true;
}

static bool compare_parents(Making *m, git_commit *commit, uint32_t *changes, Err *err) {
    const Git *git = &m->t->h->git;
    unsigned count = git->commit_parentcount(commit);
    if (count == 0)
        return trail_compare(m->t, commit, NULL, TRAIL_NO_PARENT, changes, &m->trees, err);
    for (unsigned i = 0; i < count; i++) {
        git_commit *parent = NULL;
        int code = git->commit_lookup(&parent, m->t->h->repo, git->commit_parent_id(commit, i));
        if (code != 0) return git_fail(git, code, err, "an earlier record can't be read");
        bool ok = trail_compare(m->t, commit, parent, (uint16_t)i, changes, &m->trees, err);
        git->commit_free(parent);
        if (!ok) return false;
    }
    return true;
}

/* All its parents are in the trail. */
static bool append(Making *m, git_commit *commit, Err *err) {
    Trail *t = m->t;
    const Git *git = &t->h->git;
    unsigned count = git->commit_parentcount(commit);
    TrailCommit c = {.id = *git->commit_id(commit),
                     .time = git->commit_time(commit),
                     .parent_count = (uint16_t)count};
    if (count >= TRAIL_NO_PARENT) return err_set(err, ERR_LIMIT, "a record has too many parents");
    buf_add(&t->bytes, (Str){(const char *)c.id.id, GIT_OID_RAWSZ});
    put_number(&t->bytes, (uint64_t)c.time, 8);
    put_number(&t->bytes, count, 2);
    c.parents = (uint32_t)t->bytes.n;
    for (unsigned i = 0; i < count; i++) {
        uint32_t number = 0;
        trail_has(t, git->commit_parent_id(commit, i), &number);
        put_number(&t->bytes, number, 4);
    }
    size_t at = t->bytes.n;
    uint32_t changes = 0;
    put_number(&t->bytes, 0, 4);
    if (!compare_parents(m, commit, &changes, err)) return false;
    if (t->bytes.failed || t->bytes.n > UINT32_MAX)
        return err_set(err, ERR_LIMIT, "the history is too long to be kept track of");
    changes = htole32(changes);
    memcpy(t->bytes.p + at, &changes, sizeof changes);
    add_commit(t, &c);
    return true;
}

/* Goes on with the commit on top of the stack: to a parent that is not in the trail yet, or, when
 * all are, the commit itself goes in. */
static bool step(Making *m, Err *err) {
    const Git *git = &m->t->h->git;
    Pending *top = &m->stack[m->depth - 1];
    uint32_t number;
    while (top->next < git->commit_parentcount(top->commit)) {
        const git_oid *id = git->commit_parent_id(top->commit, top->next++);
        if (!trail_has(m->t, id, &number)) return push(m, id, err);
    }
    bool ok = trail_has(m->t, git->commit_id(top->commit), &number) || append(m, top->commit, err);
    git->commit_free(top->commit);
    m->depth--;
    return ok;
}

/* It is a cache: where it can't be written, it is made again the next time. */
static void write_file(const Trail *t) {
    Err none = {0};
    FileStamp was;
    const char *path = trail_path(t);
    bool there = file_exists(path);
    if (!file_mkdirs(t->h->store, &none) || (there && !file_stamp(path, &was, &none))) return;
    Buf all = {0};
    buf_add(&all, buf_str(&t->bytes));
    put_number(&all, hash_bytes(buf_str(&t->bytes)), HASH);
    bool ok = !all.failed && file_write(path, buf_str(&all), there ? &was : NULL, &none);
    (void)ok;
    buf_release(&all);
}

bool trail_extend(Trail *t, const git_oid *tip, Err *err) {
    uint32_t number;
    if (trail_has(t, tip, &number)) return true;
    Making m = {.t = t};
    bool ok = push(&m, tip, err);
    for (uint32_t before = t->count; ok && m.depth > 0;) {
        ok = step(&m, err);
        if (t->h->told) t->h->told(t->h->told_ctx, t->count - before, 0);
    }
    while (m.depth > 0)
        t->h->git.commit_free(m.stack[--m.depth].commit);
    trees_release(&m.trees, &t->h->git);
    if (ok) write_file(t);
    return ok;
}
