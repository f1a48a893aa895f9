/* What the folder holds against the last record. */
#include "history/listing.h"
#include "history/tree.h"

#include "base/file.h"
#include <errno.h>
#include <limits.h>
#include <pthread.h>

typedef struct Look { /* one pattern's walk */
    History *h;
    Arena *a;
    git_index *index;
    const char *index_path;
    Str first;                  /* folder whose record the reader brings, too */
    struct timespec index_time; /* when the index was written */
    Err index_err;              /* why it can't be read */
    pthread_t reader;
    bool reading;       /* index* are the reader's */
    const char *folder; /* in the book, "" or with '/' behind */
    const char *glob;
    HistoryChange *items;
    size_t count, room;
} Look;

bool to_stored(History *h, const char *path, Str text, git_buf *out, Str *stored, Err *err) {
    static const char *names[] = {"filter", "working-tree-encoding"};
    const Git *git = &h->git;
    const char *values[2];
    git_filter_list *filters = NULL;
    int code = git->attr_get_many(values, h->repo, 0, path, 2, names);
    for (int i = 0; code == 0 && i < 2; i++) {
        if (git->attr_value(values[i]) != GIT_ATTR_VALUE_STRING) continue;
        return err_set(err, ERR_HISTORY,
                       "%s has %s=%s in .gitattributes, which thou can't apply: take that "
                       "attribute off, or record the file with git",
                       path, names[i], values[i]);
    }
    if (code == 0) {
        code = git->filter_list_load(&filters, h->repo, NULL, path, GIT_FILTER_TO_ODB,
                                     GIT_FILTER_ALLOW_UNSAFE);
    }
    *stored = text;
    if (code == 0 && filters) {
        code = git->filter_list_apply_to_buffer(out, filters, text.p ? text.p : "", text.n);
        *stored = (Str){out->ptr, out->size};
    }
    git->filter_list_free(filters);
    return code == 0 || git_fail(git, code, err, "%s can't be made ready for git", path);
}

unsigned file_mode(const History *h, mode_t mode, unsigned recorded) {
    if (!h->modes) return recorded ? recorded : GIT_FILEMODE_BLOB;
    return mode & S_IXUSR ? GIT_FILEMODE_BLOB_EXECUTABLE : GIT_FILEMODE_BLOB;
}

static bool same_time(git_index_time t, struct timespec s) {
    return t.seconds == (int32_t)s.tv_sec && t.nanoseconds == (uint32_t)s.tv_nsec;
}

/* Whether the file is the one the index knows, by git's rule: what was written at or after the
 * index itself may have changed again within one tick of the clock. A recorded size of 0 is git's
 * sign that only the bytes tell. */
static bool known(const Look *l, const git_index_entry *e, const File *f) {
    bool same = e->file_size == f->size && e->file_size != 0 && same_time(e->mtime, f->changed) &&
                same_time(e->ctime, f->inode_changed) && e->ino == (uint32_t)f->inode &&
                e->uid == f->uid && e->gid == f->gid;
    if (!same) return false;
    if (f->changed.tv_sec != l->index_time.tv_sec) return f->changed.tv_sec < l->index_time.tv_sec;
    return f->changed.tv_nsec < l->index_time.tv_nsec;
}

static bool bytes_id(const Look *l, const char *path, const char *in_repo, git_oid *id, Err *err) {
    History *h = l->h;
    Arena *a = arena_new();
    git_buf turned = {0};
    Str text, stored;
    bool ok = file_read(a, disk_path(h, a, path), &text, NULL, err) &&
              to_stored(h, in_repo, text, &turned, &stored, err);
    if (ok) {
        int code = h->git.odb_hash(id, stored.p ? stored.p : "", stored.n, GIT_OBJECT_BLOB);
        ok = code == 0 || git_fail(&h->git, code, err, "%s can't be hashed", path);
    }
    h->git.buf_dispose(&turned);
    arena_free(a);
    return ok;
}

static void add(Look *l, const char *path, HistoryChangeKind kind) {
    arena_grow(l->a, l->items, l->count, l->room);
    l->items[l->count++] = (HistoryChange){arena_printf(l->a, "%s", path).p, kind};
}

/* The mode of a recorded file as libgit2 has it: programs of long ago wrote others. */
static unsigned recorded_mode(const TreeEntry *e) {
    if (!S_ISREG(e->mode)) return e->mode;
    return e->mode & S_IXUSR ? GIT_FILEMODE_BLOB_EXECUTABLE : GIT_FILEMODE_BLOB;
}

/* A file in the folder (`disk`), in the last record (`entry`), or in both. */
static bool compare(Look *l, const char *name, const File *disk, const TreeEntry *entry, Err *err) {
    const Git *git = &l->h->git;
    char in_repo[PATH_MAX];
    (void)snprintf(in_repo, sizeof in_repo, "%s%s%s", l->h->prefix, l->folder, name);
    const char *path = in_repo + strlen(l->h->prefix);
    if (disk && disk->why == ENOENT) disk = NULL; /* went away since it was listed */
    if (!disk && !entry) return true;
    if (disk && disk->why) {
        errno = disk->why;
        return err_errno(err, ERR_IO, "%s can't be looked at", path);
    }
    const git_index_entry *e = git->index_get_bypath(l->index, in_repo, 0);
    if (!disk) { /* a sparse checkout leaves files out on purpose */
        if (!e || !(e->flags_extended & GIT_INDEX_ENTRY_SKIP_WORKTREE)) {
            add(l, path, HISTORY_DELETED);
        }
        return true;
    }
    if (!S_ISREG(disk->mode)) {
        add(l, path, HISTORY_NOT_PLAIN);
        return true;
    }
    if (!entry) {
        add(l, path, HISTORY_ADDED);
        return true;
    }
    git_oid id;
    unsigned mode = recorded_mode(entry);
    bool same = file_mode(l->h, disk->mode, mode) == mode;
    if (same && e && known(l, e, disk)) {
        id = e->id;
    } else if (same && !bytes_id(l, path, in_repo, &id, err)) {
        return false;
    }
    same = same && memcmp(&id, entry->id, GIT_OID_RAWSZ) == 0;
    if (!same) add(l, path, HISTORY_CHANGED);
    return true;
}

/* The folder of a pattern in the book: "", or with '/' behind. */
static const char *folder_of(const Look *l, const char *pattern) {
    const char *slash = strrchr(pattern, '/');
    return arena_str(l->a, (Str){pattern, slash ? (size_t)(slash - pattern) + 1 : 0}).p;
}

/* Where the repository has a folder of the book (its name with '/' behind, or ""). */
static Str recorded_folder(const Look *l, const char *folder) {
    Str name = arena_printf(l->a, "%s%s", l->h->prefix, folder);
    if (name.n) name.n--; /* its '/' */
    return name;
}

/* git's index and what it recorded of the folder take about as long to read as the folder to list:
 * a thread does the one meanwhile. */
static void *read_index(void *look) {
    Look *l = look;
    const Git *git = &l->h->git;
    struct stat st;
    /* looked at before it is read: taking it for older only makes more files be looked into */
    if (stat(l->index_path, &st) == 0) l->index_time = st.st_mtim;
    int code = git->repository_index(&l->index, l->h->repo);
    if (code == 0) code = git->index_read(l->index, 0); /* it may be of before a record */
    if (code != 0) {
        (void)git_fail(git, code, &l->index_err, "git's index can't be read in %s", l->h->git_dir);
        return NULL;
    }
    /* head_folder keeps the recorded folder; a fault is met, and said, when it is asked for */
    Err unsaid = {0};
    Str kept;
    (void)head_folder(l->h, l->first, &kept, &unsaid);
    return NULL;
}

static void index_begin(Look *l, const char *pattern) {
    l->first = recorded_folder(l, folder_of(l, pattern));
    l->index_path = arena_printf(l->a, "%sindex", l->h->git_dir).p;
    l->reading = pthread_create(&l->reader, NULL, read_index, l) == 0;
    if (!l->reading) read_index(l);
}

/* Nothing else is asked of libgit2 before. */
static bool index_wait(Look *l, Err *err) {
    if (l->reading) pthread_join(l->reader, NULL);
    l->reading = false;
    if (!l->index_err.kind) return true;
    *err = l->index_err;
    return false;
}

/* Takes the next file that matches off the recorded folder, whose files stand in the order of
 * their bytes; false at its end, and with *bad where it is damaged. */
static bool next_recorded(const Look *l, Str *tree, TreeEntry *out, bool *bad) {
    while (tree_next(tree, out, bad)) {
        if (tree_is_file(out) && listing_matches(l->glob, out->name.p)) return true;
    }
    return false;
}

static const char *on_disk(const Look *l) {
    size_t n = strlen(l->folder);
    if (n == 0) return l->h->book;
    return disk_path(l->h, l->a, arena_str(l->a, (Str){l->folder, n - 1}).p);
}

static bool walk(Look *l, Err *err) {
    Files disk = {0};
    Str tree, folder = recorded_folder(l, l->folder);
    if (!listing_make(on_disk(l), l->glob, l->a, &disk, err) || !index_wait(l, err) ||
        !head_folder(l->h, folder, &tree, err)) {
        return false;
    }
    TreeEntry e;
    bool bad = false, recorded = next_recorded(l, &tree, &e, &bad);
    for (size_t i = 0; recorded || i < disk.count;) {
        int order = !recorded ? -1 : i == disk.count ? 1 : strcmp(disk.items[i].name, e.name.p);
        const File *here = order <= 0 ? &disk.items[i] : NULL;
        if (!compare(l, here ? here->name : e.name.p, here, order >= 0 ? &e : NULL, err)) {
            return false;
        }
        if (order <= 0) i++;
        if (order >= 0) recorded = next_recorded(l, &tree, &e, &bad);
    }
    return !bad || tree_damaged(l->h, err);
}

static bool one_pattern(Look *l, const char *pattern, Err *err) {
    l->folder = folder_of(l, pattern);
    l->glob = pattern + strlen(l->folder);
    return walk(l, err);
}

bool history_status(History *h, const char *const *patterns, size_t count, Arena *a,
                    HistoryChanges *out, Err *err) {
    Look l = {.h = h, .a = a};
    index_begin(&l, count ? patterns[0] : "");
    bool ok = true;
    for (size_t i = 0; ok && i < count; i++) {
        ok = one_pattern(&l, patterns[i], err);
    }
    Err unread;
    ok = index_wait(&l, ok ? err : &unread) && ok;
    h->git.index_free(l.index);
    if (ok) *out = (HistoryChanges){l.items, l.count};
    return ok;
}
