#include "history/listing.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <fnmatch.h>
#include <pthread.h>
#include <unistd.h>

typedef struct Names { /* what readdir gives */
    const char **items;
    size_t count, room;
} Names;

typedef struct Share { /* the files one thread looks at */
    int fd;
    File *from, *to;
} Share;

bool listing_matches(const char *glob, const char *name) {
    return fnmatch(glob, name, FNM_PERIOD) == 0;
}

static int by_bytes(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void *look_at(void *share) {
    const Share *s = share;
    struct stat st;
    for (File *f = s->from; f < s->to; f++) {
        f->why = fstatat(s->fd, f->name, &st, AT_SYMLINK_NOFOLLOW) == 0 ? 0 : errno;
        if (f->why) continue;
        f->changed = st.st_mtim;
        f->inode_changed = st.st_ctim;
        f->inode = st.st_ino;
        f->size = (uint32_t)st.st_size;
        f->mode = st.st_mode;
        f->uid = st.st_uid;
        f->gid = st.st_gid;
    }
    return NULL;
}

/* Looking at 10,000 files is most of the work of a status: two threads share a long list. */
static void look_at_all(int fd, const Files *files) {
    enum { LONG = 1000 };
    File *end = files->items + files->count, *middle = files->items + files->count / 2;
    Share first = {fd, files->items, middle}, second = {fd, middle, end};
    pthread_t thread;
    bool shared = files->count >= LONG && pthread_create(&thread, NULL, look_at, &first) == 0;
    if (!shared) look_at(&first);
    look_at(&second);
    if (shared) pthread_join(thread, NULL);
}

/* *fd stays -1 when there is no such folder. */
static bool open_folder(const char *folder, int *fd, Err *err) {
    *fd = open(folder, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (*fd >= 0 || errno == ENOENT) return true;
    if (errno == ELOOP || errno == ENOTDIR) {
        return err_set(err, ERR_HISTORY,
                       "%s is no folder, or a symbolic link to one, which git does not follow: "
                       "put the folder itself there",
                       folder);
    }
    return err_errno(err, ERR_IO, "%s can't be opened", folder);
}

/* The names that match, sorted. */
static bool list_names(int fd, const char *glob, Arena *a, Names *names) {
    int second = dup(fd);
    DIR *dir = second < 0 ? NULL : fdopendir(second);
    if (!dir) {
        if (second >= 0) close(second);
        return false;
    }
    errno = 0;
    for (struct dirent *d; (d = readdir(dir)) != NULL; errno = 0) {
        if (!listing_matches(glob, d->d_name)) continue;
        arena_grow(a, names->items, names->count, names->room);
        names->items[names->count++] = arena_str(a, str_from(d->d_name)).p;
    }
    int why = errno;
    closedir(dir);
    if (names->count) qsort(names->items, names->count, sizeof *names->items, by_bytes);
    errno = why;
    return why == 0;
}

bool listing_make(const char *folder, const char *glob, Arena *a, Files *out, Err *err) {
    Names names = {0};
    int fd;
    *out = (Files){0};
    if (!open_folder(folder, &fd, err)) return false;
    if (fd < 0) return true;
    bool ok = list_names(fd, glob, a, &names);
    if (!ok) err_errno(err, ERR_IO, "%s can't be listed", folder);
    if (ok && names.count) {
        *out = (Files){arena_array(a, names.count, sizeof *out->items), names.count};
        for (size_t i = 0; i < names.count; i++)
            out->items[i].name = names.items[i];
        look_at_all(fd, out);
    }
    close(fd);
    return ok;
}
