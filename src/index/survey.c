#include "index/survey.h"

#include "base/fatal.h"
#include "book/book.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdatomic.h>
#include <sys/stat.h>
#include <unistd.h>

const FileForm file_forms[FILE_KINDS] = {
    [FILE_JOB] = {BOOK_JOBS, ".job"}, [FILE_CARD] = {BOOK_PARTS, ".part"}};

enum { TAKEN_AT_ONCE = 64 };

struct Survey {
    Arena *arena; /* the thread's alone until it has listed the files */
    const char *book;
    Stamps stamps;
    int folder[FILE_KINDS]; /* open; -1 */
    Err err;                /* why they could not be listed */
    atomic_uint next;       /* the first file that nobody has taken to look at */
    atomic_bool given_up;
    pthread_t thread;
    bool threaded;
    pthread_mutex_t lock;
    pthread_cond_t told;
    bool listed; /* under the lock */
};

/* A device's number is small, and seldom another: its bits and those of an inode do not meet. */
uint64_t stamp_file(uint64_t device, uint64_t inode) {
    return inode ^ (device << 40 | device >> 24);
}

/* ---- which files there are ------------------------------------------------------------------- */

static uint32_t add_name(Stamps *s, Arena *a, Str name) {
    if (!s->names || s->names_size + name.n + 1 > s->names_room) {
        size_t room = (s->names_room + name.n + 1) * 2 + (1 << 12);
        char *grown = arena_alloc(a, room);
        if (s->names) memcpy(grown, s->names, s->names_size);
        s->names = grown;
        s->names_room = room;
    }
    uint32_t at = (uint32_t)s->names_size;
    memcpy(s->names + at, name.p, name.n);
    s->names[at + name.n] = '\0';
    s->names_size += name.n + 1;
    return at;
}

/* Room for all files of a folder at once: growing by doubling meets three times the memory. A
 * folder's own size tells how many there may be, on most file systems (ext4, xfs, btrfs: 24 bytes
 * and more for each); where it does not, or once there were far more, the room grows as it must. */
static void make_room(Survey *s, int folder) {
    enum { ENTRY = 24, MOST = 1 << 19 };
    struct stat st;
    Stamps *out = &s->stamps;
    if (out->items || fstat(folder, &st) != 0 || st.st_size < ENTRY) return;
    size_t size = st.st_size < MOST ? (size_t)st.st_size : MOST;
    out->room = (uint32_t)(size / ENTRY);
    out->items = arena_array(s->arena, out->room, sizeof *out->items);
    out->names_room = size / 2;
    out->names = arena_alloc(s->arena, out->names_room);
}

static bool list_folder(Survey *s, FileKind kind) {
    const char *path =
        arena_printf(s->arena, "%s/%s", s->book[0] ? s->book : ".", file_forms[kind].folder).p;
    Str suffix = str_from(file_forms[kind].suffix);
    Stamps *out = &s->stamps;
    DIR *d = opendir(path);
    if (!d && errno == ENOENT) return true;
    if (!d) return err_errno(&s->err, ERR_IO, "cannot list the folder '%s'", path);
    make_room(s, dirfd(d));
    for (struct dirent *e; (errno = 0, e = readdir(d));) {
        Str name = str_from(e->d_name);
        if (name.p[0] == '.' || name.n <= suffix.n || !str_ends(name, suffix)) continue;
        arena_grow(s->arena, out->items, out->count, out->room);
        out->items[out->count++] = (Stamp){.name = add_name(out, s->arena, name),
                                           .name_len = (uint16_t)(name.n - suffix.n),
                                           .kind = (uint8_t)kind};
    }
    bool ok = errno == 0 || err_errno(&s->err, ERR_IO, "cannot list the folder '%s'", path);
    s->folder[kind] = fcntl(dirfd(d), F_DUPFD_CLOEXEC, 0);
    if (ok && s->folder[kind] < 0)
        ok = err_errno(&s->err, ERR_IO, "cannot open the folder '%s'", path);
    closedir(d);
    return ok;
}

static void list_files(Survey *s) {
    for (unsigned k = 0; k < FILE_KINDS && !s->err.kind; k++)
        (void)list_folder(s, (FileKind)k);
    pthread_mutex_lock(&s->lock);
    s->listed = true;
    pthread_cond_signal(&s->told);
    pthread_mutex_unlock(&s->lock);
}

/* ---- what each is ---------------------------------------------------------------------------- */

static int64_t to_ns(struct timespec t) {
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static void look_at_file(const Survey *s, Stamp *f) {
    struct stat st;
    f->absent =
        fstatat(s->folder[f->kind], s->stamps.names + f->name, &st, 0) != 0 || !S_ISREG(st.st_mode);
    if (f->absent) return;
    f->file = stamp_file(st.st_dev, st.st_ino);
    f->size = (uint64_t)st.st_size;
    f->mtime_ns = to_ns(st.st_mtim);
    f->ctime_ns = to_ns(st.st_ctim);
}

/* A few at a time, until nobody has any left to take. */
static void look_at_files(Survey *s) {
    while (!s->err.kind && !atomic_load(&s->given_up)) {
        uint32_t from = atomic_fetch_add(&s->next, TAKEN_AT_ONCE), to = from + TAKEN_AT_ONCE;
        if (from >= s->stamps.count) return;
        if (to > s->stamps.count) to = s->stamps.count;
        for (uint32_t i = from; i < to; i++)
            look_at_file(s, &s->stamps.items[i]);
    }
}

static void *survey_all(void *survey) {
    list_files(survey);
    look_at_files(survey);
    return NULL;
}

void stamps_drop_absent(Stamps *s) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < s->count; i++) {
        if (!s->items[i].absent) s->items[kept++] = s->items[i];
    }
    s->count = kept;
}

/* ---- from begin to end ----------------------------------------------------------------------- */

Survey *survey_begin(const char *book) {
    Survey *s = calloc(1, sizeof *s);
    if (!s) fatal("out of memory");
    s->arena = arena_new();
    s->book = book;
    for (unsigned k = 0; k < FILE_KINDS; k++)
        s->folder[k] = -1;
    pthread_mutex_init(&s->lock, NULL);
    pthread_cond_init(&s->told, NULL);
    s->threaded = pthread_create(&s->thread, NULL, survey_all, s) == 0;
    return s;
}

static void wait_for_list(Survey *s) {
    pthread_mutex_lock(&s->lock);
    while (!s->listed)
        pthread_cond_wait(&s->told, &s->lock);
    pthread_mutex_unlock(&s->lock);
}

static void join(Survey *s) {
    if (s->threaded) pthread_join(s->thread, NULL);
    s->threaded = false;
}

bool survey_end(Survey *s, Stamps *out, Err *err) {
    if (s->threaded)
        wait_for_list(s);
    else
        list_files(s);
    look_at_files(s);
    join(s);
    if (s->err.kind) {
        *err = s->err;
        return false;
    }
    stamps_drop_absent(&s->stamps);
    *out = s->stamps;
    return true;
}

void survey_free(Survey *s) {
    if (!s) return;
    atomic_store(&s->given_up, true);
    join(s);
    for (unsigned k = 0; k < FILE_KINDS; k++) {
        if (s->folder[k] >= 0) close(s->folder[k]);
    }
    pthread_cond_destroy(&s->told);
    pthread_mutex_destroy(&s->lock);
    arena_free(s->arena);
    free(s);
}
