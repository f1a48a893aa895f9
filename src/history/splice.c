#include "history/splice.h"

#include "history/tree.h"

#include "base/buf.h"

typedef struct Splice {
    History *h;
    const git_tree_update *update;
    bool odd; /* a case for libgit2 */
} Splice;

typedef struct Gap { /* where the new entry goes */
    size_t from, to; /* bytes of the tree that it takes the place of */
    TreeEntry old;   /* mode 0: none of that name */
} Gap;

static bool find_gap(Str tree, Str name, bool folder, Gap *out) {
    Str rest = tree;
    TreeEntry e;
    bool bad = false, placed = false;
    TreeEntry wanted = {.mode = folder ? GIT_FILEMODE_TREE : GIT_FILEMODE_BLOB, .name = name};
    *out = (Gap){.from = tree.n, .to = tree.n};
    while (tree_next(&rest, &e, &bad)) {
        size_t at = (size_t)(e.whole.p - tree.p);
        if (str_eq(e.name, name)) {
            *out = (Gap){at, at + e.whole.n, e};
            return true;
        }
        if (placed || tree_order(&e, &wanted) < 0) continue;
        out->from = out->to = at;
        placed = true; /* the name may still come: as a file where a folder is wanted */
    }
    return !bad;
}

static bool splice(Splice *s, const git_oid *tree, const char *path, git_oid *out, Err *err);

/* What stands at the path's next part from now on; mode 0 for nothing. */
static bool new_entry(Splice *s, const TreeEntry *old, const char *rest, unsigned *mode,
                      git_oid *id, Err *err) {
    bool remove = s->update->action == GIT_TREE_UPDATE_REMOVE;
    if (!*rest) {
        s->odd = old->mode == GIT_FILEMODE_TREE || (remove && !old->mode);
        *mode = remove ? 0 : (unsigned)s->update->filemode;
        *id = s->update->id;
        return !s->odd;
    }
    git_oid child;
    s->odd = old->mode ? old->mode != GIT_FILEMODE_TREE : remove;
    if (s->odd) return false;
    if (old->mode) memcpy(child.id, old->id, GIT_OID_RAWSZ);
    *mode = GIT_FILEMODE_TREE;
    return splice(s, old->mode ? &child : NULL, rest + 1, id, err);
}

static bool put_together(Splice *s, Str tree, const Gap *gap, Str name, unsigned mode,
                         const git_oid *id, git_oid *out, Err *err) {
    Buf b = {0};
    buf_add(&b, (Str){tree.p, gap->from});
    if (mode) {
        buf_printf(&b, "%o %.*s", mode, STR_ARG(name));
        buf_putc(&b, '\0');
        buf_add(&b, (Str){(const char *)id->id, GIT_OID_RAWSZ});
    }
    buf_add(&b, (Str){tree.p + gap->to, tree.n - gap->to});
    s->odd = b.n == 0 || b.failed;
    int code = s->odd ? 0 : s->h->git.odb_write(out, s->h->odb, b.p, b.n, GIT_OBJECT_TREE);
    buf_release(&b);
    if (code != 0) return git_fail(&s->h->git, code, err, "the record can't be stored");
    return !s->odd;
}

/* A folder as it was; *raw is the caller's to give back. */
static bool old_bytes(const History *h, const git_oid *tree, git_odb_object **raw, Str *bytes,
                      Err *err) {
    if (tree && head_folder_by_id(h, tree, bytes)) return true;
    if (tree && !tree_read(h, tree, raw, err)) return false;
    *bytes = tree_bytes(&h->git, *raw);
    return true;
}

/* False with s->odd, or with *err. */
static bool splice(Splice *s, const git_oid *tree, const char *path, git_oid *out, Err *err) {
    git_odb_object *raw = NULL;
    Str bytes, name = {path, strcspn(path, "/")};
    if (!old_bytes(s->h, tree, &raw, &bytes, err)) return false;
    Gap gap;
    unsigned mode;
    git_oid id;
    s->odd = !find_gap(bytes, name, path[name.n] == '/', &gap);
    bool ok = !s->odd && new_entry(s, &gap.old, path + name.n, &mode, &id, err) &&
              put_together(s, bytes, &gap, name, mode, &id, out, err);
    s->h->git.odb_object_free(raw);
    return ok;
}

bool tree_splice(History *h, const git_oid *tree, const git_tree_update *update, git_oid *out,
                 bool *done, Err *err) {
    Splice s = {.h = h, .update = update};
    *done = splice(&s, tree, update->path, out, err);
    return *done || s.odd;
}
