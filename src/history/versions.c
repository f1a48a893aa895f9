/* The past of one path. */
#include "history/trail.h"

#include "base/date.h"
#include <dirent.h>

typedef struct Seen { /* commits met, by open addressing; a zero id is a free place */
    git_oid *places;
    size_t count, room; /* room is a power of two */
} Seen;

typedef struct Waiting {
    git_commit *commit;
    Entry entry;
} Waiting;

enum { DEEPEST = 32 }; /* parts of a path */

typedef struct Walk {
    History *h;
    Arena *a;
    const char *parts[DEEPEST]; /* the path's parts */
    size_t lengths[DEEPEST], depth;
    git_oid from[DEEPEST]; /* the tree read last at each part, */
    Entry to[DEEPEST];     /* and what it led to */
    Seen seen;
    Waiting *waiting; /* newest last */
    size_t count, room;
    HistoryVersion *items;
    size_t found, found_room;
    size_t limit;      /* 0: none */
    const Date *until; /* later versions do not count; may be NULL */
    bool folder;       /* the path is a folder */
} Walk;

static bool is_zero(const git_oid *id) {
    static const git_oid zero;
    return memcmp(id, &zero, sizeof zero) == 0;
}

/* Whether the commit is met for the first time. */
static bool seen_add(Seen *s, Arena *a, const git_oid *id) {
    if (2 * s->count >= s->room) {
        Seen bigger = {.room = s->room ? 2 * s->room : 1024};
        bigger.places = arena_array(a, bigger.room, sizeof *bigger.places);
        for (size_t i = 0; i < s->room; i++) {
            if (!is_zero(&s->places[i])) seen_add(&bigger, a, &s->places[i]);
        }
        *s = bigger;
    }
    size_t at;
    memcpy(&at, id, sizeof at);
    for (at &= s->room - 1; !is_zero(&s->places[at]); at = (at + 1) & (s->room - 1)) {
        if (memcmp(&s->places[at], id, sizeof *id) == 0) return false;
    }
    s->places[at] = *id;
    s->count++;
    return true;
}

/* The entry called name in a tree as it is stored: "MODE NAME\0" and 20 bytes of id, again and
 * again. Read so, because libgit2 would make an object of every name, for every commit. */
static bool tree_find(Str tree, const char *name, size_t n, Entry *out) {
    *out = (Entry){.mode = 0};
    for (size_t at = 0; at < tree.n;) {
        unsigned mode = 0;
        for (; at < tree.n && tree.p[at] >= '0' && tree.p[at] <= '7'; at++) {
            mode = mode * 8 + (unsigned)(tree.p[at] - '0');
        }
        if (at == tree.n || tree.p[at] != ' ') return false;
        const char *start = tree.p + ++at;
        const char *end = memchr(start, '\0', tree.n - at);
        if (!end || tree.n - (size_t)(end - tree.p) < 1 + GIT_OID_RAWSZ) return false;
        if ((size_t)(end - start) == n && memcmp(start, name, n) == 0) {
            memcpy(out->id.id, end + 1, GIT_OID_RAWSZ);
            out->mode = mode;
            return true;
        }
        at = (size_t)(end - tree.p) + 1 + GIT_OID_RAWSZ;
    }
    return true;
}

static bool tree_step(Walk *w, size_t part, const git_oid *tree, Entry *out, Err *err) {
    const Git *git = &w->h->git;
    if (memcmp(&w->from[part], tree, sizeof *tree) == 0) { /* as in the commit before */
        *out = w->to[part];
        return true;
    }
    git_odb_object *raw = NULL;
    int code = git->odb_read(&raw, w->h->odb, tree);
    if (code != 0) return git_fail(git, code, err, "a folder as recorded can't be read");
    Str bytes = {git->odb_object_data(raw), git->odb_object_size(raw)};
    bool ok = git->odb_object_type(raw) == GIT_OBJECT_TREE &&
              tree_find(bytes, w->parts[part], w->lengths[part], out);
    git->odb_object_free(raw);
    if (!ok) {
        return err_set(err, ERR_HISTORY, "a folder as recorded is damaged: run `git fsck` in %s",
                       w->h->book);
    }
    w->from[part] = *tree;
    w->to[part] = *out;
    return true;
}

static bool entry_of(Walk *w, const git_commit *commit, Entry *out, Err *err) {
    Entry at = {.id = *w->h->git.commit_tree_id(commit), .mode = GIT_FILEMODE_TREE};
    for (size_t i = 0; i < w->depth; i++) {
        if (at.mode != GIT_FILEMODE_TREE) { /* a file where the path wants a folder, or nothing */
            at = (Entry){.mode = 0};
            break;
        }
        git_oid tree = at.id;
        if (!tree_step(w, i, &tree, &at, err)) return false;
    }
    bool file = at.mode != GIT_FILEMODE_TREE && at.mode != GIT_FILEMODE_COMMIT;
    if (file == w->folder) at = (Entry){.mode = 0};
    *out = at;
    return true;
}

static bool same_entry(const Entry *a, const Entry *b) {
    return a->mode == b->mode && memcmp(&a->id, &b->id, sizeof a->id) == 0;
}

/* Queues a commit by its time; takes it over. */
static void wait_for(Walk *w, git_commit *commit, Entry entry) {
    const Git *git = &w->h->git;
    if (!seen_add(&w->seen, w->a, git->commit_id(commit))) {
        git->commit_free(commit);
        return;
    }
    arena_grow(w->a, w->waiting, w->count, w->room);
    git_time_t when = git->commit_time(commit);
    size_t at = w->count++;
    for (; at > 0 && git->commit_time(w->waiting[at - 1].commit) > when; at--) {
        w->waiting[at] = w->waiting[at - 1];
    }
    w->waiting[at] = (Waiting){commit, entry};
}

static bool later(const HistoryVersion *v, const Date *until) {
    int64_t local = v->when + (int64_t)v->offset * 60;
    int64_t day = local / 86400 - (local % 86400 < 0);
    if (day != until->day) return day > until->day;
    return until->minute >= 0 && (local - day * 86400) / 60 > until->minute;
}

static void found(Walk *w, const git_commit *commit, const Entry *entry) {
    const Git *git = &w->h->git;
    const git_signature *by = git->commit_author(commit);
    HistoryVersion v = {
        .deleted = entry->mode == 0, .when = by->when.time, .offset = by->when.offset};
    if (w->until && later(&v, w->until)) return;
    git->oid_tostr(v.id, sizeof v.id, git->commit_id(commit));
    if (!v.deleted && !w->folder) git->oid_tostr(v.blob, sizeof v.blob, &entry->id);
    v.name = arena_str(w->a, str_from(by->name));
    v.mail = arena_str(w->a, str_from(by->email));
    v.message = arena_str(w->a, str_from(git->commit_message(commit)));
    size_t end = str_find_char(v.message, '\n', 0);
    v.summary = (Str){v.message.p, end < v.message.n ? end : v.message.n};
    arena_grow(w->a, w->items, w->found, w->found_room);
    w->items[w->found++] = v;
}

/* Looks at one commit: it is a version when no parent holds the same at the path. A parent that
 * does is the whole story: the other sides of that merge did not make what is here. */
static bool visit(Walk *w, const Waiting *at, Err *err) {
    const Git *git = &w->h->git;
    unsigned n = 0, count = git->commit_parentcount(at->commit);
    Waiting one = {0}, *parents = count < 2 ? &one : arena_array(w->a, count, sizeof *parents);
    bool same = false, ok = true;
    for (unsigned i = 0; ok && !same && i < count; i++) {
        int code = git->commit_lookup(&parents[n].commit, w->h->repo,
                                      git->commit_parent_id(at->commit, i));
        /* a shallow clone ends here */
        if (code == GIT_ENOTFOUND && git->repository_is_shallow(w->h->repo)) continue;
        ok = code == 0 || git_fail(git, code, err, "an earlier record can't be read");
        if (!ok) break;
        n++;
        ok = entry_of(w, parents[n - 1].commit, &parents[n - 1].entry, err);
        same = ok && same_entry(&parents[n - 1].entry, &at->entry);
    }
    if (ok && !same && (n > 0 || at->entry.mode != 0)) found(w, at->commit, &at->entry);
    for (unsigned i = 0; i < n; i++) {
        if (ok && (!same || i == n - 1)) {
            wait_for(w, parents[i].commit, parents[i].entry);
        } else {
            git->commit_free(parents[i].commit);
        }
    }
    return ok;
}

static bool split(Walk *w, const char *path, Err *err) {
    for (const char *p = repo_path(w->h, w->a, path); *p && w->depth < DEEPEST; w->depth++) {
        w->parts[w->depth] = p;
        w->lengths[w->depth] = strcspn(p, "/");
        p += w->lengths[w->depth];
        if (*p == '/') p++;
        if (*p && w->depth + 1 == DEEPEST) {
            return err_set(err, ERR_LIMIT, "%s: more than %d folders deep", path, DEEPEST);
        }
    }
    return true;
}

/* ---- along the trail ----------------------------------------------------------------------------
 */

typedef struct Queue { /* numbers of commits, the newest last */
    uint32_t *items;
    size_t count, room;
    bool *met; /* per commit */
} Queue;

static void queue_add(const Trail *t, Queue *q, uint32_t number) {
    if (q->met[number]) return;
    q->met[number] = true;
    arena_grow(t->a, q->items, q->count, q->room);
    size_t at = q->count++;
    for (; at > 0 && t->commits[q->items[at - 1]].time > t->commits[number].time; at--)
        q->items[at] = q->items[at - 1];
    q->items[at] = number;
}

static const TrailMark *mark_of(const Trail *t, const TrailCommit *c, uint16_t parent) {
    for (uint32_t i = 0; i < c->mark_count; i++) {
        if (t->marks[c->mark + i].parent == parent) return &t->marks[c->mark + i];
    }
    return NULL;
}

static bool found_number(Walk *w, const TrailCommit *c, const Entry *entry, Err *err) {
    const Git *git = &w->h->git;
    git_commit *commit = NULL;
    int code = git->commit_lookup(&commit, w->h->repo, &c->id);
    if (code != 0) return git_fail(git, code, err, "an earlier record can't be read");
    found(w, commit, entry);
    git->commit_free(commit);
    return true;
}

/* As visit, by marks: a parent without one holds the same at the path. */
static bool visit_number(Walk *w, const Trail *t, Queue *q, uint32_t number, Err *err) {
    const TrailCommit *c = &t->commits[number];
    const TrailMark *mark = mark_of(t, c, TRAIL_NO_PARENT);
    for (uint16_t i = 0; i < c->parent_count; i++) {
        mark = mark_of(t, c, i);
        if (mark) continue;
        queue_add(t, q, trail_parent(t, c, i));
        return true;
    }
    if (mark && !found_number(w, c, &mark->after, err)) return false;
    for (uint16_t i = 0; i < c->parent_count; i++)
        queue_add(t, q, trail_parent(t, c, i));
    return true;
}

static bool walk_trail(Walk *w, Trail *t, const char *path, uint32_t from, Err *err) {
    Queue q = {.met = arena_array(w->a, t->count + 1, sizeof *q.met)};
    trail_mark(t, path);
    queue_add(t, &q, from);
    while (q.count > 0 && (w->limit == 0 || w->found < w->limit)) {
        if (!visit_number(w, t, &q, q.items[--q.count], err)) return false;
    }
    return true;
}

/* Making the trail takes long the first time: whoever wants one version only uses it where it is
 * made already. *used says whether it was. */
static bool try_trail(Walk *w, const char *path, const git_oid *from, bool *used, Err *err) {
    uint32_t number = 0;
    *used = false;
    if (!w->h->store || w->folder || w->h->git.repository_is_shallow(w->h->repo)) return true;
    Trail t;
    trail_read(&t, w->h, w->a);
    bool ok = w->limit != 0 || trail_extend(&t, from, err);
    if (ok && trail_has(&t, from, &number)) {
        *used = true;
        ok = walk_trail(w, &t, path, number, err);
    }
    trail_release(&t);
    return ok;
}

/* ---- along the commits themselves
 * ---------------------------------------------------------------- */

static bool walk_commits(Walk *w, const char *path, const git_oid *from, Err *err) {
    const Git *git = &w->h->git;
    git_commit *commit = NULL;
    Entry entry;
    if (!split(w, path, err)) return false;
    int code = git->commit_lookup(&commit, w->h->repo, from);
    if (code != 0) return git_fail(git, code, err, "the last record can't be read");
    bool ok = entry_of(w, commit, &entry, err);
    wait_for(w, commit, entry);
    while (ok && w->count > 0 && (w->limit == 0 || w->found < w->limit)) {
        Waiting at = w->waiting[--w->count];
        ok = visit(w, &at, err);
        git->commit_free(at.commit);
    }
    for (size_t i = 0; i < w->count; i++) {
        git->commit_free(w->waiting[i].commit);
    }
    return ok;
}

static bool walk(Walk *w, const char *path, const git_oid *from, Err *err) {
    bool done = false;
    /* hashing every folder of every commit again would take most of the time; the bytes that are
     * given out are verified all the same */
    w->h->git.libgit2_opts(GIT_OPT_ENABLE_STRICT_HASH_VERIFICATION, 0);
    bool ok = try_trail(w, path, from, &done, err) && (done || walk_commits(w, path, from, err));
    w->h->git.libgit2_opts(GIT_OPT_ENABLE_STRICT_HASH_VERIFICATION, 1);
    return ok;
}

bool history_versions(History *h, const char *path, size_t limit, Arena *a, HistoryVersions *out,
                      Err *err) {
    Walk w = {.h = h, .a = a, .limit = limit};
    if (h->born && !walk(&w, path, &h->head, err)) return false;
    *out = (HistoryVersions){w.items, w.found};
    return true;
}

bool history_records(History *h, size_t limit, Arena *a, HistoryVersions *out, Err *err) {
    Walk w = {.h = h, .a = a, .limit = limit, .folder = true};
    if (h->born && !walk(&w, "", &h->head, err)) return false;
    *out = (HistoryVersions){w.items, w.found};
    return true;
}

static bool is_id(Str s) {
    for (size_t i = 0; i < s.n; i++) {
        char c = to_lower(s.p[i]);
        if (!is_digit(c) && (c < 'a' || c > 'f')) return false;
    }
    return s.n >= 4 && s.n < HISTORY_ID;
}

static bool commit_called(History *h, Str digits, git_oid *out, Err *err) {
    git_oid prefix;
    git_commit *commit = NULL;
    int code = h->git.oid_fromstrn(&prefix, digits.p, digits.n);
    if (code == 0) code = h->git.commit_lookup_prefix(&commit, h->repo, &prefix, digits.n);
    if (code == GIT_ENOTFOUND || code == GIT_EAMBIGUOUS) {
        return err_set(err, ERR_USAGE, "%s record's id begins with %.*s%s",
                       code == GIT_ENOTFOUND ? "no" : "more than one", STR_ARG(digits),
                       code == GIT_ENOTFOUND ? "" : ": give more of its digits");
    }
    if (code != 0) return git_fail(&h->git, code, err, "%.*s can't be looked up", STR_ARG(digits));
    *out = *h->git.commit_id(commit);
    h->git.commit_free(commit);
    return true;
}

/* Which commit to start from, and the date that counts. */
static bool start_of(History *h, Str at, git_oid *from, Date *until, bool *dated, Err *err) {
    size_t used = 0;
    *from = h->head;
    *dated = false;
    if (is_id(at)) return commit_called(h, at, from, err);
    *dated = date_read(at, until, &used) == DATE_OK && used == at.n;
    return *dated || err_set(err, ERR_USAGE,
                             "%.*s is neither a date (YYYY-MM-DD, also with HH:MM) nor the first "
                             "four or more digits of a record's id",
                             STR_ARG(at));
}

bool history_version_at(History *h, const char *path, Str at, Arena *a, HistoryVersion *out,
                        Err *err) {
    Walk w = {.h = h, .a = a, .limit = 1};
    git_oid from;
    Date until;
    bool dated;
    at = str_trim(at);
    if (!start_of(h, at, &from, &until, &dated, err)) return false;
    if (dated) w.until = &until;
    if (h->born && !walk(&w, path, &from, err)) return false;
    if (w.found == 0) {
        return err_set(err, ERR_USAGE, "%s is in no record up to %.*s", path, STR_ARG(at));
    }
    *out = w.items[0];
    return true;
}

static bool blob_read(History *h, const git_oid *id, Arena *a, Str *out, Err *err) {
    git_blob *blob = NULL;
    int code = h->git.blob_lookup(&blob, h->repo, id);
    if (code != 0) return git_fail(&h->git, code, err, "a recorded file can't be read");
    *out = arena_str(a, (Str){h->git.blob_rawcontent(blob), (size_t)h->git.blob_rawsize(blob)});
    h->git.blob_free(blob);
    return true;
}

bool history_bytes(History *h, const HistoryVersion *version, Arena *a, Str *out, Err *err) {
    git_oid id;
    if (version->deleted) {
        *out = (Str){"", 0};
        return true;
    }
    int code = h->git.oid_fromstr(&id, version->blob);
    if (code != 0) return git_fail(&h->git, code, err, "%s is no id", version->blob);
    return blob_read(h, &id, a, out, err);
}

bool history_recorded(History *h, const char *path, Arena *a, Str *out, bool *found_out, Err *err) {
    git_oid id;
    bool there;
    if (!head_file(h, repo_path(h, a, path), &id, &there, err)) return false;
    if (there && !blob_read(h, &id, a, out, err)) return false;
    *found_out = there;
    return true;
}

bool history_wants_packing(const History *h) {
    enum { EACH = 27 }; /* git's own mark: 6,700 single objects, 256 folders, one looked into */
    DIR *dir = opendir(arena_printf(h->arena, "%sobjects/17", h->common).p);
    if (!dir) return false;
    int n = 0;
    while (readdir(dir))
        n++;
    closedir(dir);
    return n - 2 >= EACH; /* without . and .. */
}
