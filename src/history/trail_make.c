#include "history/trail_make.h"

#include <endian.h>

enum { DEEPEST = 32 }; /* folders within folders */

typedef struct Comparison {
    Trail *t;
    TreeCache *trees;
    uint16_t parent;
    uint32_t *changes;
    Buf path; /* of the folder at hand, with '/' behind */
} Comparison;

bool tree_next(Str *rest, TreeEntry *out, bool *bad) {
    const char *p = rest->p, *end = rest->p + rest->n;
    unsigned mode = 0;
    if (rest->n == 0) return false;
    *bad = true;
    for (; p < end && *p >= '0' && *p <= '7'; p++)
        mode = mode * 8 + (unsigned)(*p - '0');
    if (p == end || *p != ' ') return false;
    const char *name = ++p, *nul = memchr(p, '\0', (size_t)(end - p));
    if (!nul || end - nul < 1 + GIT_OID_RAWSZ) return false;
    *bad = false;
    size_t n = (size_t)(nul + 1 + GIT_OID_RAWSZ - rest->p);
    *out = (TreeEntry){mode, {name, (size_t)(nul - name)}, nul + 1, {rest->p, n}};
    *rest = str_skip(*rest, n);
    return true;
}

void trees_release(TreeCache *trees, const Git *git) {
    for (unsigned i = 0; i < TREES; i++)
        git->odb_object_free(trees->raw[i]);
}

static bool tree_bytes(const Comparison *c, const git_oid *id, Str *out, Err *err) {
    const Git *git = &c->t->h->git;
    TreeCache *trees = c->trees;
    git_odb_object *raw = NULL;
    for (unsigned i = 0; !raw && i < TREES; i++) {
        if (trees->raw[i] && memcmp(&trees->ids[i], id, sizeof *id) == 0) raw = trees->raw[i];
    }
    if (!raw) {
        int code = git->odb_read(&raw, c->t->h->odb, id);
        if (code != 0) return git_fail(git, code, err, "a folder as recorded can't be read");
        unsigned at = trees->next++ % TREES;
        git->odb_object_free(trees->raw[at]);
        trees->raw[at] = raw;
        trees->ids[at] = *id;
    }
    if (git->odb_object_type(raw) != GIT_OBJECT_TREE)
        return err_set(err, ERR_HISTORY, "a folder as recorded is none: run `git fsck` in %s",
                       c->t->h->book);
    *out = (Str){git->odb_object_data(raw), git->odb_object_size(raw)};
    return true;
}

static bool is_folder(const TreeEntry *e) {
    return e && e->mode == GIT_FILEMODE_TREE;
}

/* A repository within the repository is no file. */
static bool is_file(const TreeEntry *e) {
    return e && e->mode != GIT_FILEMODE_TREE && e->mode != GIT_FILEMODE_COMMIT;
}

static void put_entry(Buf *b, const TreeEntry *e) {
    static const char none[GIT_OID_RAWSZ];
    bool file = e && is_file(e);
    uint32_t mode = htole32(file ? e->mode : 0);
    buf_add(b, (Str){(const char *)&mode, sizeof mode});
    buf_add(b, (Str){file ? e->id : none, GIT_OID_RAWSZ});
}

static void put_change(Comparison *c, const TreeEntry *was, const TreeEntry *now, Str name) {
    Buf *b = &c->t->bytes;
    uint16_t parent = htole16(c->parent);
    uint16_t n = htole16((uint16_t)(c->path.n + name.n));
    buf_add(b, (Str){(const char *)&parent, sizeof parent});
    put_entry(b, was);
    put_entry(b, now);
    buf_add(b, (Str){(const char *)&n, sizeof n});
    buf_add(b, buf_str(&c->path));
    buf_add(b, name);
    ++*c->changes;
}

static bool compare_trees(Comparison *c, const git_oid *was, const git_oid *now, int depth,
                          Err *err);

static bool compare_entries(Comparison *c, const TreeEntry *was, const TreeEntry *now, int depth,
                            Err *err) {
    Str name = was ? was->name : now->name;
    if (c->path.n + name.n > UINT16_MAX) return true; /* no path can be so long */
    if (is_file(was) || is_file(now)) put_change(c, was, now, name);
    if (!is_folder(was) && !is_folder(now)) return true;
    git_oid ids[2];
    if (is_folder(was)) memcpy(ids[0].id, was->id, GIT_OID_RAWSZ);
    if (is_folder(now)) memcpy(ids[1].id, now->id, GIT_OID_RAWSZ);
    size_t before = c->path.n;
    buf_add(&c->path, name);
    buf_putc(&c->path, '/');
    bool ok = compare_trees(c, is_folder(was) ? &ids[0] : NULL, is_folder(now) ? &ids[1] : NULL,
                            depth + 1, err);
    c->path.n = before;
    return ok;
}

/* The order of a tree: by bytes, a folder as if its name ended in '/'. */
static int tree_order(const TreeEntry *a, const TreeEntry *b) {
    size_t n = a->name.n < b->name.n ? a->name.n : b->name.n;
    int by_bytes = memcmp(a->name.p, b->name.p, n);
    if (by_bytes) return by_bytes;
    int x = a->name.n > n ? (unsigned char)a->name.p[n] : is_folder(a) ? '/' : 0;
    int y = b->name.n > n ? (unsigned char)b->name.p[n] : is_folder(b) ? '/' : 0;
    return x - y;
}

static bool compare_bytes(Comparison *c, Str was, Str now, int depth, Err *err) {
    TreeEntry a, b;
    bool bad = false;
    bool has_a = tree_next(&was, &a, &bad), has_b = !bad && tree_next(&now, &b, &bad);
    while ((has_a || has_b) && !bad) {
        int order = !has_a ? 1 : !has_b ? -1 : tree_order(&a, &b);
        bool same = order == 0 && str_eq(a.whole, b.whole);
        if (!same &&
            !compare_entries(c, order <= 0 ? &a : NULL, order >= 0 ? &b : NULL, depth, err))
            return false;
        if (order <= 0) has_a = tree_next(&was, &a, &bad);
        if (order >= 0 && !bad) has_b = tree_next(&now, &b, &bad);
    }
    return !bad || err_set(err, ERR_HISTORY,
                           "a folder as recorded is damaged: run `git fsck` in %s", c->t->h->book);
}

static bool compare_trees(Comparison *c, const git_oid *was, const git_oid *now, int depth,
                          Err *err) {
    Str bytes[2] = {{"", 0}, {"", 0}};
    if (was && now && memcmp(was, now, sizeof *was) == 0) return true;
    if (depth > DEEPEST) return true; /* deeper than the past of a path is told */
    if (was && !tree_bytes(c, was, &bytes[0], err)) return false;
    if (now && !tree_bytes(c, now, &bytes[1], err)) return false;
    return compare_bytes(c, bytes[0], bytes[1], depth, err);
}

/* The book's own folder in a commit; *there is false when it had none. */
static bool book_tree(const Comparison *c, git_commit *commit, git_oid *out, bool *there,
                      Err *err) {
    *out = *c->t->h->git.commit_tree_id(commit);
    *there = true;
    for (const char *p = c->t->h->prefix; *p;) {
        size_t n = strcspn(p, "/");
        Str rest;
        TreeEntry e;
        bool bad = false, found = false;
        if (!tree_bytes(c, out, &rest, err)) return false;
        while (!found && tree_next(&rest, &e, &bad))
            found = str_eq(e.name, (Str){p, n}) && is_folder(&e);
        if (bad)
            return err_set(err, ERR_HISTORY, "a folder as recorded is damaged: run `git fsck`");
        *there = found;
        if (!found) return true;
        memcpy(out->id, e.id, GIT_OID_RAWSZ);
        p += n + (p[n] == '/');
    }
    return true;
}

bool trail_compare(Trail *t, git_commit *commit, git_commit *parent, uint16_t n, uint32_t *changes,
                   TreeCache *trees, Err *err) {
    Comparison c = {.t = t, .trees = trees, .parent = n, .changes = changes};
    git_oid was, now;
    bool had = false, has = false;
    bool ok = book_tree(&c, commit, &now, &has, err) &&
              (!parent || book_tree(&c, parent, &was, &had, err)) &&
              compare_trees(&c, had ? &was : NULL, has ? &now : NULL, 0, err);
    buf_release(&c.path);
    return ok;
}
