#include "history/tree.h"

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

bool tree_find(Str tree, Str name, TreeEntry *out) {
    bool bad = false;
    while (tree_next(&tree, out, &bad)) {
        if (str_eq(out->name, name)) return true;
    }
    *out = (TreeEntry){0};
    return !bad;
}

int tree_order(const TreeEntry *a, const TreeEntry *b) {
    size_t n = a->name.n < b->name.n ? a->name.n : b->name.n;
    int by_bytes = memcmp(a->name.p, b->name.p, n);
    if (by_bytes) return by_bytes;
    int x = a->name.n > n ? (unsigned char)a->name.p[n] : tree_is_folder(a) ? '/' : 0;
    int y = b->name.n > n ? (unsigned char)b->name.p[n] : tree_is_folder(b) ? '/' : 0;
    return x - y;
}

bool tree_read(const History *h, const git_oid *id, git_odb_object **raw, Err *err) {
    int code = h->git.odb_read(raw, h->odb, id);
    if (code != 0) return git_fail(&h->git, code, err, "a folder as recorded can't be read");
    if (h->git.odb_object_type(*raw) == GIT_OBJECT_TREE) return true;
    h->git.odb_object_free(*raw);
    *raw = NULL;
    return err_set(err, ERR_HISTORY, "a folder as recorded is none: run `git fsck` in %s", h->book);
}

Str tree_bytes(const Git *git, git_odb_object *raw) {
    return raw ? (Str){git->odb_object_data(raw), git->odb_object_size(raw)} : (Str){"", 0};
}

bool tree_damaged(const History *h, Err *err) {
    return err_set(err, ERR_HISTORY, "a folder as recorded is damaged: run `git fsck` in %s",
                   h->book);
}
