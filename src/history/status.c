/* What the folder holds against the last record. */
#include "history/internal.h"

#include "base/file.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <fnmatch.h>
#include <pthread.h>
#include <unistd.h>

typedef struct Name { /* a file in the folder */
    const char *name;
    struct stat st;
    int why; /* errno of looking at it, or 0 */
} Name;

typedef struct Names {
    Name *items;
    size_t count, room;
} Names;

typedef struct Share { /* the names one thread looks at */
    int fd;
    Name *from, *to;
} Share;

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
    int fd; /* the folder; -1 when there is none */
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

unsigned file_mode(const History *h, const struct stat *st, unsigned recorded) {
    if (!h->modes) return recorded ? recorded : GIT_FILEMODE_BLOB;
    return st->st_mode & S_IXUSR ? GIT_FILEMODE_BLOB_EXECUTABLE : GIT_FILEMODE_BLOB;
}

static bool same_time(git_index_time t, struct timespec s) {
    return t.seconds == (int32_t)s.tv_sec && t.nanoseconds == (uint32_t)s.tv_nsec;
}

/* Whether the file is the one the index knows, by git's rule: what was written at or after the
 * index itself may have changed again within one tick of the clock. A recorded size of 0 is git's
 * sign that only the bytes tell. */
static bool known(const Look *l, const git_index_entry *e, const struct stat *st) {
    bool same = e->file_size == (uint32_t)st->st_size && e->file_size != 0 &&
                same_time(e->mtime, st->st_mtim) && same_time(e->ctime, st->st_ctim) &&
                e->ino == (uint32_t)st->st_ino && e->uid == (uint32_t)st->st_uid &&
                e->gid == (uint32_t)st->st_gid;
    if (!same) return false;
    if (st->st_mtim.tv_sec != l->index_time.tv_sec) {
        return st->st_mtim.tv_sec < l->index_time.tv_sec;
    }
    return st->st_mtim.tv_nsec < l->index_time.tv_nsec;
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

/* A file in the folder (`disk`), in the last record (`entry`), or in both. */
static bool compare(Look *l, const char *name, const Name *disk, const git_tree_entry *entry,
                    Err *err) {
    const Git *git = &l->h->git;
    char path[PATH_MAX], in_repo[PATH_MAX];
    (void)snprintf(path, sizeof path, "%s%s", l->folder, name);
    (void)snprintf(in_repo, sizeof in_repo, "%s%s", l->h->prefix, path);
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
    if (!S_ISREG(disk->st.st_mode)) {
        add(l, path, HISTORY_NOT_PLAIN);
        return true;
    }
    if (!entry) {
        add(l, path, HISTORY_ADDED);
        return true;
    }
    git_oid id;
    unsigned mode = git->tree_entry_filemode(entry);
    bool same = file_mode(l->h, &disk->st, mode) == mode;
    if (same && e && known(l, e, &disk->st)) {
        id = e->id;
    } else if (same && !bytes_id(l, path, in_repo, &id, err)) {
        return false;
    }
    same = same && memcmp(&id, git->tree_entry_id(entry), sizeof id) == 0;
    if (!same) add(l, path, HISTORY_CHANGED);
    return true;
}

static int by_bytes(const void *a, const void *b) {
    return strcmp(((const Name *)a)->name, ((const Name *)b)->name);
}

static void *look_at(void *share) {
    const Share *s = share;
    for (Name *n = s->from; n < s->to; n++) {
        n->why = fstatat(s->fd, n->name, &n->st, AT_SYMLINK_NOFOLLOW) == 0 ? 0 : errno;
    }
    return NULL;
}

/* Looking at 10,000 files is most of the work of a status: two threads share a long list. */
static void look_at_all(int fd, const Names *names) {
    enum { LONG = 1000 };
    Name *end = names->items + names->count, *middle = names->items + names->count / 2;
    Share first = {fd, names->items, middle}, second = {fd, middle, end};
    pthread_t thread;
    bool shared = names->count >= LONG && pthread_create(&thread, NULL, look_at, &first) == 0;
    if (!shared) look_at(&first);
    look_at(&second);
    if (shared) pthread_join(thread, NULL);
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
    const git_tree *kept;
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

static bool matches(const Look *l, const char *name) {
    return fnmatch(l->glob, name, FNM_PERIOD) == 0;
}

static bool list_disk(Look *l, Names *names, Err *err) {
    const char *folder = *l->folder ? disk_path(l->h, l->a, l->folder) : l->h->book;
    size_t n = strlen(folder);
    if (folder[n - 1] == '/') folder = arena_str(l->a, (Str){folder, n - 1}).p;
    l->fd = open(folder, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (l->fd < 0 && errno == ENOENT) return true;
    if (l->fd < 0 && (errno == ELOOP || errno == ENOTDIR)) {
        return err_set(err, ERR_HISTORY,
                       "%s is no folder, or a symbolic link to one, which git does not follow: "
                       "put the folder itself there",
                       folder);
    }
    if (l->fd < 0) return err_errno(err, ERR_IO, "%s can't be opened", folder);
    int second = dup(l->fd);
    DIR *dir = second < 0 ? NULL : fdopendir(second);
    if (!dir) {
        if (second >= 0) close(second);
        return err_errno(err, ERR_IO, "%s can't be listed", folder);
    }
    errno = 0;
    for (struct dirent *d; (d = readdir(dir)) != NULL; errno = 0) {
        if (!matches(l, d->d_name)) continue;
        arena_grow(l->a, names->items, names->count, names->room);
        names->items[names->count++] = (Name){.name = arena_str(l->a, str_from(d->d_name)).p};
    }
    int why = errno;
    closedir(dir);
    errno = why;
    if (why) return err_errno(err, ERR_IO, "%s can't be listed", folder);
    if (names->count) {
        look_at_all(l->fd, names);
        qsort(names->items, names->count, sizeof *names->items, by_bytes);
    }
    return true;
}

/* The next file of the recorded folder that matches, at or after *at; NULL at the end. Files of a
 * tree stand in the order of their bytes. */
static const git_tree_entry *next_recorded(const Look *l, const git_tree *tree, size_t *at) {
    const Git *git = &l->h->git;
    size_t n = tree ? git->tree_entrycount(tree) : 0;
    while (*at < n) {
        const git_tree_entry *e = git->tree_entry_byindex(tree, (*at)++);
        if (git->tree_entry_type(e) == GIT_OBJECT_BLOB && matches(l, git->tree_entry_name(e))) {
            return e;
        }
    }
    return NULL;
}

static bool walk(Look *l, Err *err) {
    Names disk = {0};
    const git_tree *tree = NULL;
    Str folder = recorded_folder(l, l->folder);
    if (!list_disk(l, &disk, err) || !index_wait(l, err) || !head_folder(l->h, folder, &tree, err))
        return false;
    size_t at = 0, i = 0;
    const git_tree_entry *e = next_recorded(l, tree, &at);
    while (e || i < disk.count) {
        const char *recorded = e ? l->h->git.tree_entry_name(e) : NULL;
        int order = !e ? -1 : i == disk.count ? 1 : strcmp(disk.items[i].name, recorded);
        const Name *here = order <= 0 ? &disk.items[i] : NULL;
        if (!compare(l, here ? here->name : recorded, here, order >= 0 ? e : NULL, err)) {
            return false;
        }
        if (order <= 0) i++;
        if (order >= 0) e = next_recorded(l, tree, &at);
    }
    return true;
}

static bool one_pattern(Look *l, const char *pattern, Err *err) {
    l->folder = folder_of(l, pattern);
    l->glob = pattern + strlen(l->folder);
    l->fd = -1;
    bool ok = walk(l, err);
    if (l->fd >= 0) close(l->fd);
    return ok;
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
