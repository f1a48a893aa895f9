#include "history/stage.h"

#include "base/file.h"
#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

/* The index under a second name. libgit2 puts what it writes in the place of a name and never into
 * the file, so that the index itself stays as it is until gate_pass. */
static bool copy_index(const Gate *g, Err *err) {
    if (link(g->index, g->own_index) == 0 || errno == ENOENT) return true;
    Arena *a = arena_new();
    Str bytes = {0};
    bool ok =
        file_read(a, g->index, &bytes, NULL, err) && file_write(g->own_index, bytes, NULL, err);
    arena_free(a);
    return ok;
}

static bool read_index(Stage *s, Err *err) {
    const Git *git = &s->h->git;
    int code = git->index_open(&s->index, s->gate->own_index);
    if (code != 0) return git_fail(git, code, err, "git's index %s can't be read", s->gate->index);
    if (!git->index_has_conflicts(s->index)) return true;
    return err_set(err, ERR_HISTORY,
                   "files are in conflict in %s: settle that with git first (`git status`)",
                   s->h->book);
}

static bool put_in(const Stage *s, const git_tree_update *u, const struct stat *st, Err *err) {
    git_index_entry e = {
        .ctime = {(int32_t)st->st_ctim.tv_sec, (uint32_t)st->st_ctim.tv_nsec},
        .mtime = {(int32_t)st->st_mtim.tv_sec, (uint32_t)st->st_mtim.tv_nsec},
        .dev = (uint32_t)st->st_dev,
        .ino = (uint32_t)st->st_ino,
        .mode = u->filemode,
        .uid = st->st_uid,
        .gid = st->st_gid,
        /* saved within this second: it could be saved again unnoticed. 0 is git's sign to look
         * at the bytes */
        .file_size = st->st_mtim.tv_sec >= s->begun ? 0 : (uint32_t)st->st_size,
        .id = u->id,
        .path = u->path,
    };
    int code = s->h->git.index_add(s->index, &e);
    return code == 0 ||
           git_fail(&s->h->git, code, err, "%s can't be put into git's index", u->path);
}

static bool take_out(const Stage *s, const git_tree_update *u, Err *err) {
    int code = s->h->git.index_remove(s->index, u->path, 0);
    /* the person may have taken it out of the index already */
    return code == 0 || code == GIT_ENOTFOUND ||
           git_fail(&s->h->git, code, err, "%s can't be taken out of git's index", u->path);
}

static bool write_index(const Stage *s, Err *err) {
    for (size_t i = 0; i < s->count; i++) {
        const git_tree_update *u = &s->updates[i];
        bool ok = u->action == GIT_TREE_UPDATE_REMOVE ? take_out(s, u, err)
                                                      : put_in(s, u, &s->states[i], err);
        if (!ok) return false;
    }
    int code = s->h->git.index_write(s->index);
    return code == 0 || git_fail(&s->h->git, code, err, "%s can't be written", s->gate->own_index);
}

static void read_half(Stage *s) {
    s->sound = read_index(s, &s->err);
}

static void write_half(Stage *s) {
    if (s->sound && s->count) s->sound = write_index(s, &s->err);
}

static void wait_for(sem_t *sem) {
    while (sem_wait(sem) != 0) {
    } /* a signal came between */
}

static void *work(void *stage) {
    Stage *s = stage;
    read_half(s);
    sem_post(&s->read);
    wait_for(&s->given);
    write_half(s);
    return NULL;
}

bool stage_begin(Stage *s, const History *h, const Gate *gate, Err *err) {
    struct stat st;
    *s = (Stage){.h = h, .gate = gate};
    if (fstat(gate->fd, &st) != 0)
        return err_errno(err, ERR_HISTORY, "%s can't be looked at", gate->own_lock);
    s->begun = st.st_mtim.tv_sec; /* thou.lock was written a moment ago */
    if (!copy_index(gate, err)) return false;
    s->threaded = sem_init(&s->read, 0, 0) == 0 && sem_init(&s->given, 0, 0) == 0 &&
                  pthread_create(&s->thread, NULL, work, s) == 0;
    if (!s->threaded) read_half(s);
    return true;
}

unsigned stage_mode(Stage *s, const char *path) {
    if (s->threaded) {
        wait_for(&s->read);
        sem_post(&s->read); /* for the next one who asks */
    }
    const git_index_entry *e = s->index ? s->h->git.index_get_bypath(s->index, path, 0) : NULL;
    return e && S_ISREG(e->mode) ? e->mode : 0;
}

void stage_give(Stage *s, const git_tree_update *updates, const struct stat *states, size_t count) {
    s->updates = updates;
    s->states = states;
    s->count = count;
    s->over = true;
    if (s->threaded) sem_post(&s->given);
}

bool stage_end(Stage *s, Err *err) {
    if (!s->over) stage_give(s, NULL, NULL, 0);
    if (s->threaded) {
        pthread_join(s->thread, NULL);
        sem_destroy(&s->read);
        sem_destroy(&s->given);
    } else {
        write_half(s);
    }
    s->h->git.index_free(s->index);
    if (s->err.kind) *err = s->err;
    return s->sound;
}
