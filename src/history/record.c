/* Recording: objects first, then the index, then the branch. README.md says why. */
#include "history/gate.h"
#include "history/internal.h"
#include "history/splice.h"

#include "base/file.h"
#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

/* From so many files on, one flush of the file system is quicker than two for each object. */
enum { MANY = 64 };

typedef struct Record {
    History *h;
    Gate gate;
    Arena *a;
    git_index *index; /* the private one that will take the index's place */
    time_t begun;     /* by the file system's clock */
    git_tree_update *updates;
    size_t count;
    git_signature *by;
    git_buf message;
    git_oid tree, commit;
} Record;

/* The index under a second name. libgit2 puts what it writes in the place of a name and never into
 * the file, so that the index itself stays as it is until gate_pass. */
static bool index_copy(Record *r, Err *err) {
    const Gate *g = &r->gate;
    const Git *git = &r->h->git;
    Str bytes = {0};
    struct stat st;
    if (link(g->index, g->own_index) != 0 && errno != ENOENT &&
        (!file_read(r->a, g->index, &bytes, NULL, err) ||
         !file_write(g->own_index, bytes, NULL, err))) {
        return false;
    }
    if (fstat(g->fd, &st) != 0)
        return err_errno(err, ERR_HISTORY, "%s can't be looked at", g->own_lock);
    r->begun = st.st_mtim.tv_sec; /* thou.lock was written a moment ago */
    int code = git->index_open(&r->index, g->own_index);
    if (code != 0) return git_fail(git, code, err, "git's index %s can't be read", g->index);
    if (!git->index_has_conflicts(r->index)) return true;
    return err_set(err, ERR_HISTORY,
                   "files are in conflict in %s: settle that with git first (`git status`)",
                   r->h->book);
}

static bool changed(const char *path, Err *err) {
    return err_set(err, ERR_CHANGED,
                   "%s changed while it was being recorded: nothing was recorded; start again",
                   path);
}

/* Whether the file holds the bytes that were checked; *st is its state while it did. */
static bool still_same(const Record *r, const HistoryFile *file, struct stat *st, Err *err) {
    const char *path = disk_path(r->h, r->a, file->path);
    FileStamp before, after;
    Str now;
    if (lstat(path, st) != 0) {
        return errno == ENOENT ? changed(file->path, err)
                               : err_errno(err, ERR_IO, "%s can't be looked at", path);
    }
    if (!S_ISREG(st->st_mode)) {
        return err_set(err, ERR_HISTORY,
                       "%s is a symbolic link or no plain file, and can't be recorded: put the "
                       "file itself there",
                       file->path);
    }
    Arena *a = arena_new();
    bool ok = file_read(a, path, &now, &before, err) && file_stamp(path, &after, err);
    if (ok && (!str_eq(now, file->text) || !file_stamp_eq(&before, &after) ||
               before.inode != (uint64_t)st->st_ino || before.size != (uint64_t)st->st_size)) {
        ok = changed(file->path, err);
    }
    arena_free(a);
    return ok;
}

static bool index_put(Record *r, const char *path, const struct stat *st, const git_oid *id,
                      unsigned mode, Err *err) {
    git_index_entry e = {
        .ctime = {(int32_t)st->st_ctim.tv_sec, (uint32_t)st->st_ctim.tv_nsec},
        .mtime = {(int32_t)st->st_mtim.tv_sec, (uint32_t)st->st_mtim.tv_nsec},
        .dev = (uint32_t)st->st_dev,
        .ino = (uint32_t)st->st_ino,
        .mode = mode,
        .uid = st->st_uid,
        .gid = st->st_gid,
        /* saved within this second: it could be saved again unnoticed. 0 is git's sign to look
         * at the bytes */
        .file_size = st->st_mtim.tv_sec >= r->begun ? 0 : (uint32_t)st->st_size,
        .id = *id,
        .path = path,
    };
    int code = r->h->git.index_add(r->index, &e);
    return code == 0 || git_fail(&r->h->git, code, err, "%s can't be put into git's index", path);
}

static bool put_file(Record *r, const HistoryFile *file, const char *path, Err *err) {
    const Git *git = &r->h->git;
    git_buf turned = {0};
    struct stat st;
    Str stored;
    git_oid id;
    bool ok =
        still_same(r, file, &st, err) && to_stored(r->h, path, file->text, &turned, &stored, err);
    if (ok) {
        int code =
            git->blob_create_from_buffer(&id, r->h->repo, stored.p ? stored.p : "", stored.n);
        ok = code == 0 || git_fail(git, code, err, "%s can't be stored", file->path);
    }
    git->buf_dispose(&turned);
    if (!ok) return false;
    const git_index_entry *was = git->index_get_bypath(r->index, path, 0);
    unsigned mode = file_mode(r->h, st.st_mode, was && S_ISREG(was->mode) ? was->mode : 0);
    r->updates[r->count++] = (git_tree_update){GIT_TREE_UPDATE_UPSERT, id, mode, path};
    return index_put(r, path, &st, &id, mode, err);
}

static bool put_deletion(Record *r, const HistoryFile *file, const char *path, Err *err) {
    struct stat st;
    git_oid id;
    bool there;
    if (lstat(disk_path(r->h, r->a, file->path), &st) == 0) return changed(file->path, err);
    if (!head_file(r->h, path, &id, &there, err)) return false;
    if (!there) return err_set(err, ERR_USAGE, "%s is not in the last record", file->path);
    r->updates[r->count++] = (git_tree_update){.action = GIT_TREE_UPDATE_REMOVE, .path = path};
    int code = r->h->git.index_remove(r->index, path, 0);
    /* the person may have taken it out of the index already */
    return code == 0 || code == GIT_ENOTFOUND ||
           git_fail(&r->h->git, code, err, "%s can't be taken out of git's index", path);
}

static bool put_all(Record *r, const HistoryFile *files, size_t count, Err *err) {
    r->updates = arena_array(r->a, count ? count : 1, sizeof *r->updates);
    for (size_t i = 0; i < count; i++) {
        const char *path = repo_path(r->h, r->a, files[i].path);
        bool ok = files[i].deleted ? put_deletion(r, &files[i], path, err)
                                   : put_file(r, &files[i], path, err);
        if (!ok) return false;
    }
    return true;
}

/* One changed file is what a bench keeps, day in, day out. */
static bool write_tree(Record *r, git_tree *was, Err *err) {
    const Git *git = &r->h->git;
    bool done = false;
    if (r->count == 1 &&
        !tree_splice(r->h, was ? git->tree_id(was) : NULL, r->updates, &r->tree, &done, err))
        return false;
    int code = done ? 0 : git->tree_create_updated(&r->tree, r->h->repo, was, r->count, r->updates);
    return code == 0 || git_fail(git, code, err, "the record can't be stored");
}

static bool write_commit(Record *r, const HistoryNote *note, Err *err) {
    const Git *git = &r->h->git;
    git_tree *was = NULL, *tree = NULL;
    git_commit *parent = NULL;
    bool ok = false;
    if (!head_tree(r->h, &was, err)) return false;
    if (!write_tree(r, was, err)) goto done;
    int code = 0;
    if (was && memcmp(git->tree_id(was), &r->tree, sizeof r->tree) == 0) {
        err_set(err, ERR_USAGE, "nothing has changed since the last record");
        goto done;
    }
    if (code == 0) code = git->tree_lookup(&tree, r->h->repo, &r->tree);
    if (code == 0 && r->h->born) code = git->commit_lookup(&parent, r->h->repo, &r->h->head);
    if (code == 0) {
        code = git->signature_new(&r->by, r->h->name, r->h->mail, note->when, note->offset);
    }
    if (code == 0) code = git->message_prettify(&r->message, note->message, 0, '#');
    if (code == 0) {
        const git_commit *parents[] = {parent};
        code = git->commit_create(&r->commit, r->h->repo, NULL, r->by, r->by, NULL, r->message.ptr,
                                  tree, parent ? 1 : 0, parents);
    }
    ok = code == 0 || git_fail(git, code, err, "the record can't be stored");
done:
    git->commit_free(parent);
    git->tree_free(tree);
    git->tree_free(was);
    return ok;
}

static bool flush(const Record *r, Err *err) {
    int fd = open(r->h->common, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool ok = fd >= 0 && syncfs(fd) == 0;
    if (!ok) err_errno(err, ERR_HISTORY, "%s can't be flushed to the disk", r->h->common);
    if (fd >= 0) close(fd);
    return ok;
}

static bool write_objects(Record *r, const HistoryFile *files, size_t count,
                          const HistoryNote *note, Err *err) {
    bool many = count > MANY;
    if (many) r->h->git.libgit2_opts(GIT_OPT_ENABLE_FSYNC_GITDIR, 0);
    bool ok = put_all(r, files, count, err) && write_commit(r, note, err);
    if (many) r->h->git.libgit2_opts(GIT_OPT_ENABLE_FSYNC_GITDIR, 1);
    return ok && (!many || flush(r, err));
}

static bool index_ready(Record *r, Err *err) {
    int code = r->h->git.index_write(r->index);
    return code == 0 || git_fail(&r->h->git, code, err, "%s can't be written", r->gate.own_index);
}

bool history_record(History *h, const HistoryFile *files, size_t count, const HistoryNote *note,
                    char id[HISTORY_ID], Err *err) {
    Record r = {.h = h, .gate = {.fd = -1}, .a = arena_new()};
    bool ok = may_record(h, err) && gate_enter(h, &r.gate, err) && index_copy(&r, err) &&
              write_objects(&r, files, count, note, err) && index_ready(&r, err) &&
              gate_take_branch(h, &r.gate, &r.commit, err) &&
              reflog_add(h, &r.commit, r.by, r.message.ptr, err) && gate_pass(h, &r.gate, err);
    gate_leave(&r.gate);
    if (ok) {
        h->head = r.commit;
        h->born = true;
        head_forget(h);
        h->git.oid_tostr(id, HISTORY_ID, &r.commit);
    }
    h->git.index_free(r.index);
    h->git.signature_free(r.by);
    h->git.buf_dispose(&r.message);
    arena_free(r.a);
    return ok;
}
