#include "history/splice.h"

#include "history/trail_make.h"

typedef struct Splice {
    History *h;
    const git_tree_update *update;
    bool odd; /* a case for libgit2 */
} Splice;

/* The order of a tree: by bytes, a folder as if its name ended in '/'. */
static int order(Str a, bool a_folder, Str b, bool b_folder) {
    size_t n = a.n < b.n ? a.n : b.n;
    int by_bytes = memcmp(a.p, b.p, n);
    if (by_bytes) return by_bytes;
    int x = a.n > n ? (unsigned char)a.p[n] : a_folder ? '/' : 0;
    int y = b.n > n ? (unsigned char)b.p[n] : b_folder ? '/' : 0;
    return x - y;
}

typedef struct Gap { /* where the new entry goes */
    size_t from, to; /* bytes of the tree that it takes the place of */
    TreeEntry old;   /* mode 0: none of that name */
} Gap;

static bool find_gap(Str tree, Str name, bool folder, Gap *out) {
    Str rest = tree;
    TreeEntry e;
    bool bad = false, placed = false;
    *out = (Gap){.from = tree.n, .to = tree.n};
    while (tree_next(&rest, &e, &bad)) {
        size_t at = (size_t)(e.whole.p - tree.p);
        if (str_eq(e.name, name)) {
            *out = (Gap){at, at + e.whole.n, e};
            return true;
        }
        if (placed || order(e.name, e.mode == GIT_FILEMODE_TREE, name, folder) < 0) continue;
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

/* False with s->odd, or with *err. */
static bool splice(Splice *s, const git_oid *tree, const char *path, git_oid *out, Err *err) {
    const Git *git = &s->h->git;
    git_odb_object *raw = NULL;
    Str bytes = {"", 0}, name = {path, strcspn(path, "/")};
    if (tree) {
        int code = git->odb_read(&raw, s->h->odb, tree);
        if (code != 0) return git_fail(git, code, err, "a folder as recorded can't be read");
        bytes = (Str){git->odb_object_data(raw), git->odb_object_size(raw)};
    }
    Gap gap;
    unsigned mode;
    git_oid id;
    s->odd = !find_gap(bytes, name, path[name.n] == '/', &gap);
    bool ok = !s->odd && new_entry(s, &gap.old, path + name.n, &mode, &id, err) &&
              put_together(s, bytes, &gap, name, mode, &id, out, err);
    git->odb_object_free(raw);
    return ok;
}

bool tree_splice(History *h, const git_oid *tree, const git_tree_update *update, git_oid *out,
                 bool *done, Err *err) {
    Splice s = {.h = h, .update = update};
    *done = splice(&s, tree, update->path, out, err);
    return *done || s.odd;
}
