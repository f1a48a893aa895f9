/* The side file, and the appending. */
#include "book/bench.h"

#include "book/book.h"
#include <errno.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

const char *bench_side(const char *folder, const char *log, Arena *a) {
    Str name = book_name_of(log);
    if (!folder)
        return arena_printf(a, "%s/.thou-fill-%.*s", book_folder_of(log, a), STR_ARG(name)).p;
    size_t n = strlen(folder);
    bool here = n == 0 || strcmp(folder, ".") == 0;
    return arena_printf(a, "%s%s" BOOK_STORE "/fill/%.*s", here ? "" : folder,
                        here || folder[n - 1] == '/' ? "" : "/", STR_ARG(name))
        .p;
}

/* ---- reading --------------------------------------------------------------------------------- */

static bool take_head(Kept *k, Str line) {
    static const struct {
        Str start;
        size_t to;
    } heads[] = {{STR("; log = "), offsetof(Kept, log)},
                 {STR("; ask = "), offsetof(Kept, ask)},
                 {STR("; set = "), offsetof(Kept, set)},
                 {STR("; heading = "), offsetof(Kept, heading)}};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        if (!str_starts(line, heads[i].start)) continue;
        Str *to = (Str *)(void *)((char *)k + heads[i].to);
        *to = str_skip(line, heads[i].start.n);
        return true;
    }
    return str_starts(line, STR("; ")) && !str_starts(line, STR("; skip "));
}

bool kept_read(const char *side, Arena *a, Kept *out, Err *err) {
    Kept k = {0};
    Str text;
    if (!file_exists(side)) {
        *out = k;
        return true;
    }
    if (!file_read(a, side, &text, NULL, err)) return false;
    k.there = true;
    while (text.n) {
        size_t end = str_find_char(text, '\n', 0);
        Str line = {text.p, end == SIZE_MAX ? text.n : end};
        text = str_skip(text, line.n + 1);
        if (end == SIZE_MAX) {
            k.cut_off = line;
        } else if (line.n && !take_head(&k, line)) {
            arena_grow(a, k.lines, k.count, k.room);
            k.lines[k.count++] = line;
        }
    }
    *out = k;
    return true;
}

/* ---- writing --------------------------------------------------------------------------------- */

static bool write_synced(Bench *b, Str text, Err *err) {
    if (file_write_all(b->fd, text) && fsync(b->fd) == 0) return true;
    return err_errno(err, ERR_IO, "cannot keep what was typed in '%s'", b->side);
}

/* A line that a power cut left unfinished must not run into the next one. */
static bool cut_unfinished(Bench *b, off_t size, Err *err) {
    char c;
    while (size > 0 && pread(b->fd, &c, 1, size - 1) == 1 && c != '\n')
        size--;
    if (ftruncate(b->fd, size) == 0) return true;
    return err_errno(err, ERR_IO, "cannot write '%s'", b->side);
}

static bool open_side(Bench *b, Err *err) {
    struct stat st;
    const char *folder = book_folder_of(b->side, b->arena);
    if (!file_exists(folder) && !file_mkdirs(folder, err)) return false;
    b->fd = open(b->side, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    if (b->fd < 0) return err_errno(err, ERR_IO, "cannot keep what is typed in '%s'", b->side);
    if (flock(b->fd, LOCK_EX | LOCK_NB) != 0)
        return err_set(err, ERR_CHANGED, "another thou fill of this log is at work: end it first");
    if (fstat(b->fd, &st) != 0) return err_errno(err, ERR_IO, "cannot look at '%s'", b->side);
    if (st.st_size > 0 && b->start.n)
        return err_set(err, ERR_CHANGED,
                       "another thou fill of this log has begun meanwhile: start again to go on "
                       "with what it has");
    if (st.st_size > 0) return cut_unfinished(b, st.st_size, err);
    if (!file_sync_folder(b->side))
        return err_errno(err, ERR_IO, "the folder '%s' could not be synced", folder);
    return write_synced(b, b->start, err);
}

static bool keep_text(Bench *b, Str text, Err *err) {
    if (b->fd < 0 && !open_side(b, err)) return false;
    return write_synced(b, text, err);
}

bool bench_keep(Bench *b, const BenchCell *cell, Err *err) {
    return keep_text(b,
                     arena_printf(b->arena, "%.*s = %.*s%s%.*s\n", STR_ARG(cell->key),
                                  STR_ARG(cell->value), cell->remark.n ? " ; " : "",
                                  STR_ARG(cell->remark)),
                     err);
}

bool bench_keep_skip(Bench *b, const BenchCell *cell, Err *err) {
    if (b->fd < 0 && b->start.n) return true; /* nothing is worth a file yet */
    return keep_text(b, arena_printf(b->arena, "; skip %.*s\n", STR_ARG(cell->key)), err);
}

void bench_release(Bench *b) {
    if (b->fd >= 0) close(b->fd);
    b->fd = -1;
}

/* ---- into the log ---------------------------------------------------------------------------- */

static Str entry_for(Bench *b, Str log) {
    return bench_ends_as(log, bench_entry(b, b->arena), b->arena);
}

bool bench_is_in(Bench *b, Str text) {
    return b->heading.n && str_find(text, entry_for(b, text), 0) != SIZE_MAX;
}

bool bench_drop(Bench *b, Err *err) {
    bool ok = !file_exists(b->side) || unlink(b->side) == 0;
    bench_release(b);
    if (!ok) return err_errno(err, ERR_IO, "cannot remove '%s'", b->side);
    return true;
}

bool bench_append(Bench *b, const char *log, Str text, const FileStamp *was, Err *err) {
    uint32_t at;
    Str whole = bench_joined(text, entry_for(b, text), b->arena, &at);
    return file_write(log, whole, was, err) && bench_drop(b, err);
}
