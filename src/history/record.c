/* Recording: objects first, then the index, then the branch. README.md says why. */
#include "history/splice.h"
#include "history/stage.h"

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
    Stage stage;
    git_tree_update *updates;
    struct stat *states; /* of the files, one an update */
    size_t count;
    git_signature *by;
    git_buf message;
    git_oid tree, commit;
} Record;

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

static bool put_file(Record *r, const HistoryFile *file, const char *path, Err *err) {
    const Git *git = &r->h->git;
    git_buf turned = {0};
    struct stat *st = &r->states[r->count];
    Str stored;
    git_oid id;
    bool ok =
        still_same(r, file, st, err) && to_stored(r->h, path, file->text, &turned, &stored, err);
    if (ok) {
        int code =
            git->blob_create_from_buffer(&id, r->h->repo, stored.p ? stored.p : "", stored.n);
        ok = code == 0 || git_fail(git, code, err, "%s can't be stored", file->path);
    }
    git->buf_dispose(&turned);
    if (!ok) return false;
    unsigned was = r->h->modes ? 0 : stage_mode(&r->stage, path);
    unsigned mode = file_mode(r->h, st->st_mode, was);
    r->updates[r->count++] = (git_tree_update){GIT_TREE_UPDATE_UPSERT, id, mode, path};
    return true;
}

static bool put_deletion(Record *r, const HistoryFile *file, const char *path, Err *err) {
    struct stat st;
    git_oid id;
    bool there;
    if (lstat(disk_path(r->h, r->a, file->path), &st) == 0) return changed(file->path, err);
    if (!head_file(r->h, path, &id, &there, err)) return false;
    if (!there) return err_set(err, ERR_USAGE, "%s is not in the last record", file->path);
    r->updates[r->count++] = (git_tree_update){.action = GIT_TREE_UPDATE_REMOVE, .path = path};
    return true;
}

static bool put_all(Record *r, const HistoryFile *files, size_t count, Err *err) {
    r->updates = arena_array(r->a, count ? count : 1, sizeof *r->updates);
    r->states = arena_array(r->a, count ? count : 1, sizeof *r->states);
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
    if (was && memcmp(git->tree_id(was), &r->tree, sizeof r->tree) == 0) {
        err_set(err, ERR_USAGE, "nothing has changed since the last record");
        goto done;
    }
    int code = git->tree_lookup(&tree, r->h->repo, &r->tree);
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

/* Objects and index. Nothing refers to them before the gate is passed. */
static bool write_record(Record *r, const HistoryFile *files, size_t count, const HistoryNote *note,
                         Err *err) {
    bool many = count > MANY;
    if (many) r->h->git.libgit2_opts(GIT_OPT_ENABLE_FSYNC_GITDIR, 0);
    bool ok = stage_begin(&r->stage, r->h, &r->gate, err) && put_all(r, files, count, err);
    if (ok) stage_give(&r->stage, r->updates, r->states, r->count);
    ok = ok && write_commit(r, note, err);
    Err unstaged;
    ok = stage_end(&r->stage, ok ? err : &unstaged) && ok;
    if (many) r->h->git.libgit2_opts(GIT_OPT_ENABLE_FSYNC_GITDIR, 1);
    return ok && (!many || flush(r, err));
}

bool history_record(History *h, const HistoryFile *files, size_t count, const HistoryNote *note,
                    char id[HISTORY_ID], Err *err) {
    Record r = {.h = h, .gate = {.fd = -1}, .a = arena_new()};
    bool ok = may_record(h, err) && gate_enter(h, &r.gate, err) &&
              write_record(&r, files, count, note, err) &&
              gate_take_branch(h, &r.gate, &r.commit, err) &&
              reflog_add(h, &r.commit, r.by, r.message.ptr, err) && gate_pass(h, &r.gate, err);
    gate_leave(&r.gate);
    if (ok) {
        h->head = r.commit;
        h->born = true;
        head_forget(h);
        h->git.oid_tostr(id, HISTORY_ID, &r.commit);
    }
    h->git.signature_free(r.by);
    h->git.buf_dispose(&r.message);
    arena_free(r.a);
    return ok;
}
