/* The files of a book in the order of their names, and the job a person means. */
#include "book/internal.h"

#include "base/near.h"
#include <dirent.h>
#include <endian.h>
#include <errno.h>

/* A file to be sorted, with what its name begins with, so that few names are looked at. */
typedef struct Sorted {
    uint64_t head; /* of the name, its first byte the highest */
    const BookFile *file;
} Sorted;

static uint64_t head_of(Str name) {
    char head[sizeof(uint64_t)] = {0};
    memcpy(head, name.p, name.n < sizeof head ? name.n : sizeof head);
    uint64_t word;
    memcpy(&word, head, sizeof word);
    return be64toh(word);
}

static int by_name(const void *a, const void *b) {
    const Sorted *x = a, *y = b;
    if (x->head != y->head) return x->head < y->head ? -1 : 1;
    return str_cmp(x->file->name, y->file->name);
}

static void sort_by_name(BookFiles *files, Arena *a) {
    Sorted *order = arena_array(a, files->count, sizeof *order);
    BookFile *sorted = arena_array(a, files->count, sizeof *sorted);
    for (uint32_t i = 0; i < files->count; i++)
        order[i] = (Sorted){head_of(files->items[i].name), &files->items[i]};
    if (files->count) qsort(order, files->count, sizeof *order, by_name);
    for (uint32_t i = 0; i < files->count; i++)
        sorted[i] = *order[i].file;
    files->items = sorted;
}

static BookFile file_in(Arena *a, Str folder, Str name, Str suffix) {
    char *path = arena_alloc(a, folder.n + name.n + 2), *last = path + folder.n + 1;
    memcpy(path, folder.p, folder.n);
    path[folder.n] = '/';
    memcpy(last, name.p, name.n);
    return (BookFile){.name = {last, name.n - suffix.n}, .path = path};
}

static bool list_folder(const Book *b, const char *dir, Str suffix, Arena *a, BookFiles *out,
                        Err *err) {
    BookFiles files = {0};
    uint32_t room = 0;
    const char *folder = b->folder ? book_path(b->folder, dir, a) : NULL;
    DIR *d = folder ? opendir(folder) : NULL;
    if (folder && !d && errno != ENOENT)
        return err_errno(err, ERR_IO, "cannot list the folder '%s'", folder);
    for (struct dirent *e; d && (errno = 0, e = readdir(d));) {
        Str name = str_from(e->d_name);
        if (name.p[0] == '.' || name.n <= suffix.n || !str_ends(name, suffix)) continue;
        arena_grow(a, files.items, files.count, room);
        files.items[files.count++] = file_in(a, str_from(folder), name, suffix);
    }
    bool ok = !d || errno == 0;
    if (!ok) err_errno(err, ERR_IO, "cannot list the folder '%s'", folder);
    if (d) closedir(d);
    if (!ok) return false;
    sort_by_name(&files, a);
    *out = files;
    return true;
}

bool book_jobs(const Book *b, Arena *a, BookFiles *out, Err *err) {
    return list_folder(b, BOOK_JOBS, STR(SUFFIX_JOB), a, out, err);
}

bool book_cards(const Book *b, Arena *a, BookFiles *out, Err *err) {
    return list_folder(b, BOOK_PARTS, STR(SUFFIX_PART), a, out, err);
}

static bool has_part(Str name, Str part) {
    for (size_t i = 0; i + part.n <= name.n; i++) {
        if (str_ieq((Str){name.p + i, part.n}, part)) return true;
    }
    return false;
}

/* "'26-014', '26-019' and 3 more" of the jobs that have the part. */
static Str candidates(const BookFiles *jobs, Str part, uint32_t count, Arena *a) {
    enum { SHOWN = 6 };
    Str text = {0};
    uint32_t shown = 0;
    for (uint32_t i = 0; i < jobs->count && shown < SHOWN; i++) {
        if (!has_part(jobs->items[i].name, part)) continue;
        text = arena_printf(a, "%.*s%s'%.*s'", STR_ARG(text), shown ? ", " : "",
                            STR_ARG(jobs->items[i].name));
        shown++;
    }
    return count > shown ? arena_printf(a, "%.*s and %u more", STR_ARG(text), count - shown) : text;
}

static bool no_such_job(const Book *b, const BookFiles *jobs, Str typed, Arena *a, Err *err) {
    Near near;
    near_start(&near, typed);
    for (uint32_t i = 0; i < jobs->count; i++)
        near_offer(&near, jobs->items[i].name);
    Str text = near_text(&near, a);
    if (!b || !b->folder)
        return err_set(err, ERR_USAGE, "there is no file '%.*s', and no book here or above",
                       STR_ARG(typed));
    return err_set(err, ERR_USAGE, "there is no job '%.*s' in the book '%s'%s%.*s", STR_ARG(typed),
                   b->folder, text.n ? "; " : "", STR_ARG(text));
}

static bool resolve_part(const Book *b, Str part, Arena *a, const char **path, Err *err) {
    BookFiles jobs = {0};
    if (b && !book_jobs(b, a, &jobs, err)) return false;
    uint32_t count = 0, last = 0;
    for (uint32_t i = 0; i < jobs.count; i++) {
        if (!has_part(jobs.items[i].name, part)) continue;
        count++;
        last = i;
    }
    if (count == 0) return no_such_job(b, &jobs, part, a, err);
    if (count > 1)
        return err_set(err, ERR_USAGE, "'%.*s' could be %u jobs: %.*s", STR_ARG(part), count,
                       STR_ARG(candidates(&jobs, part, count, a)));
    *path = jobs.items[last].path;
    return true;
}

/* The folder is listed last: a name that was written whole must not wait for 10,000 others. */
bool book_resolve(const Book *b, const char *argument, Arena *a, const char **path, Err *err) {
    Str typed = str_from(argument);
    if (typed.n == 0) return err_set(err, ERR_USAGE, "an empty name is no job");
    const char *named = b ? book_job_path(b, typed, a) : NULL;
    if (named && file_exists(named)) {
        *path = named;
        return true;
    }
    bool is_path = strchr(argument, '/') || str_ends(typed, STR(SUFFIX_JOB)) ||
                   str_ends(typed, STR(SUFFIX_PART));
    if (is_path || file_exists(argument)) {
        *path = argument;
        return true;
    }
    return resolve_part(b, typed, a, path, err);
}
