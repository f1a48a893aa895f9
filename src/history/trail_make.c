#include "history/trail_make.h"

#include "history/tree.h"
#include <endian.h>

enum { DEEPEST = 32 }; /* folders within folders */

typedef struct Comparison {
    Trail *t;
    TreeCache *trees;
    uint16_t parent;
    uint32_t *changes;
    Buf path; /* of the folder at hand, with '/' behind */
} Comparison;

void trees_release(TreeCache *trees, const Git *git) {
    for (unsigned i = 0; i < TREES; i++)
        git->odb_object_free(trees->raw[i]);
}

static bool cached_bytes(const Comparison *c, const git_oid *id, Str *out, Err *err) {
    const Git *git = &c->t->h->git;
    TreeCache *trees = c->trees;
    git_odb_object *raw = NULL;
    for (unsigned i = 0; !raw && i < TREES; i++) {
        if (trees->raw[i] && memcmp(&trees->ids[i], id, sizeof *id) == 0) raw = trees->raw[i];
    }
    if (!raw) {
        if (!tree_read(c->t->h, id, &raw, err)) return false;
        unsigned at = trees->next++ % TREES;
        git->odb_object_free(trees->raw[at]);
        trees->raw[at] = raw;
        trees->ids[at] = *id;
    }
    *out = tree_bytes(git, raw);
    return true;
}

static void put_entry(Buf *b, const TreeEntry *e) {
    static const char none[GIT_OID_RAWSZ];
    bool file = e && tree_is_file(e);
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
    if (tree_is_file(was) || tree_is_file(now)) put_change(c, was, now, name);
    if (!tree_is_folder(was) && !tree_is_folder(now)) return true;
    git_oid ids[2];
    if (tree_is_folder(was)) memcpy(ids[0].id, was->id, GIT_OID_RAWSZ);
    if (tree_is_folder(now)) memcpy(ids[1].id, now->id, GIT_OID_RAWSZ);
    size_t before = c->path.n;
    buf_add(&c->path, name);
    buf_putc(&c->path, '/');
    bool ok = compare_trees(c, tree_is_folder(was) ? &ids[0] : NULL,
                            tree_is_folder(now) ? &ids[1] : NULL, depth + 1, err);
    c->path.n = before;
    return ok;
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
    return !bad || tree_damaged(c->t->h, err);
}

static bool compare_trees(Comparison *c, const git_oid *was, const git_oid *now, int depth,
                          Err *err) {
    Str bytes[2] = {{"", 0}, {"", 0}};
    if (was && now && memcmp(was, now, sizeof *was) == 0) return true;
    if (depth > DEEPEST) return true; /* deeper than the past of a path is told */
    if (was && !cached_bytes(c, was, &bytes[0], err)) return false;
    if (now && !cached_bytes(c, now, &bytes[1], err)) return false;
    return compare_bytes(c, bytes[0], bytes[1], depth, err);
}

/* The book's own folder in a commit; *there is false when it had none. */
static bool book_tree(const Comparison *c, git_commit *commit, git_oid *out, bool *there,
                      Err *err) {
    *out = *c->t->h->git.commit_tree_id(commit);
    *there = true;
    for (const char *p = c->t->h->prefix; *p;) {
        size_t n = strcspn(p, "/");
        Str tree;
        TreeEntry e;
        if (!cached_bytes(c, out, &tree, err)) return false;
        if (!tree_find(tree, (Str){p, n}, &e)) return tree_damaged(c->t->h, err);
        *there = tree_is_folder(&e);
        if (!*there) return true;
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
