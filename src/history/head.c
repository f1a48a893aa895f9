/* The branch, and the folders of its last record. */
#include "history/tree.h"

bool head_read(History *h, const char **branch, bool *born, git_oid *head, Err *err) {
    const Git *git = &h->git;
    git_reference *ref = NULL;
    int code = git->reference_lookup(&ref, h->repo, "HEAD");
    if (code != 0) return git_fail(git, code, err, "HEAD can't be read in %s", h->git_dir);
    const char *target = NULL;
    git_oid at = {{0}};
    if (git->reference_type(ref) == GIT_REFERENCE_SYMBOLIC) {
        target = arena_printf(h->arena, "%s", git->reference_symbolic_target(ref)).p;
        code = git->reference_name_to_id(&at, h->repo, target);
    } else {
        at = *git->reference_target(ref);
    }
    git->reference_free(ref);
    if (code != 0 && code != GIT_ENOTFOUND) {
        return git_fail(git, code, err, "the branch %s can't be read", target);
    }
    *branch = target;
    *born = code == 0;
    *head = at;
    return true;
}

bool head_tree(History *h, git_tree **out, Err *err) {
    if (!h->born) {
        *out = NULL;
        return true;
    }
    git_commit *commit = NULL;
    git_tree *tree = NULL;
    int code = h->git.commit_lookup(&commit, h->repo, &h->head);
    if (code == 0) code = h->git.commit_tree(&tree, commit);
    h->git.commit_free(commit);
    if (code != 0) return git_fail(&h->git, code, err, "the last record can't be read");
    *out = tree;
    return true;
}

static void folder_release(const History *h, HeadFolder *f) {
    h->git.odb_object_free(f->raw);
    *f = (HeadFolder){0};
}

void head_forget(History *h) {
    for (size_t i = 0; i < HEAD_FOLDERS; i++)
        folder_release(h, &h->folders[i]);
}

/* The folder of that name, '/' between its parts, below the tree *id; *id becomes the folder's.
 * *raw is NULL when there is none. */
static bool walk_down(const History *h, git_oid *id, const char *name, git_odb_object **raw,
                      Err *err) {
    if (!tree_read(h, id, raw, err)) return false;
    while (*name) {
        size_t n = strcspn(name, "/");
        TreeEntry e;
        bool sound = tree_find(tree_bytes(&h->git, *raw), (Str){name, n}, &e);
        bool there = sound && tree_is_folder(&e);
        if (there) memcpy(id->id, e.id, GIT_OID_RAWSZ);
        h->git.odb_object_free(*raw);
        *raw = NULL;
        if (!sound) return tree_damaged(h, err);
        if (!there) return true;
        if (!tree_read(h, id, raw, err)) return false;
        name += n + (name[n] == '/');
    }
    return true;
}

static bool folder_read(History *h, Str name, HeadFolder *out, Err *err) {
    git_tree *whole = NULL;
    *out = (HeadFolder){.name = arena_str(h->arena, name).p};
    if (!head_tree(h, &whole, err)) return false;
    bool born = whole != NULL;
    if (born) out->id = *h->git.tree_id(whole);
    h->git.tree_free(whole);
    return !born || walk_down(h, &out->id, out->name, &out->raw, err);
}

bool head_folder(History *h, Str folder, Str *out, Err *err) {
    HeadFolder *f = NULL;
    for (size_t i = 0; !f && i < HEAD_FOLDERS; i++) {
        HeadFolder *kept = &h->folders[i];
        if (kept->name && str_eq(str_from(kept->name), folder)) f = kept;
    }
    if (!f) {
        HeadFolder read;
        if (!folder_read(h, folder, &read, err)) return false;
        f = &h->folders[h->next_folder++ % HEAD_FOLDERS];
        folder_release(h, f);
        *f = read;
    }
    *out = tree_bytes(&h->git, f->raw);
    return true;
}

bool head_folder_by_id(const History *h, const git_oid *id, Str *out) {
    for (size_t i = 0; i < HEAD_FOLDERS; i++) {
        const HeadFolder *f = &h->folders[i];
        if (!f->raw || memcmp(&f->id, id, sizeof *id) != 0) continue;
        *out = tree_bytes(&h->git, f->raw);
        return true;
    }
    return false;
}

bool head_file(History *h, const char *path, git_oid *id, bool *there, Err *err) {
    Str full = str_from(path), tree;
    size_t slash = full.n;
    while (slash > 0 && path[slash - 1] != '/')
        slash--;
    TreeEntry e;
    if (!head_folder(h, (Str){path, slash ? slash - 1 : 0}, &tree, err)) return false;
    if (!tree_find(tree, str_skip(full, slash), &e)) return tree_damaged(h, err);
    *there = e.mode && tree_is_file(&e);
    if (*there) memcpy(id->id, e.id, GIT_OID_RAWSZ);
    return true;
}
