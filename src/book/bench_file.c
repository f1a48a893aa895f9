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

static bool at_work(Err *err) {
    return err_set(err, ERR_CHANGED, "another thou fill of this log is at work: end it first");
}

static bool is_file(int fd, const char *path) {
    struct stat open_one, named;
    return fstat(fd, &open_one) == 0 && stat(path, &named) == 0 &&
           open_one.st_dev == named.st_dev && open_one.st_ino == named.st_ino;
}

/* The side file is its own lock: only who holds it writes to it, removes it or puts another in its
 * place, so one that lost its name before the lock came is let go. *fd is -1 without a file. */
static bool lock_side(const char *side, int *fd, Err *err) {
    for (;;) {
        *fd = open(side, O_RDWR | O_APPEND | O_CLOEXEC);
        if (*fd < 0 && errno == ENOENT) return true;
        if (*fd < 0)
            return err_errno(err, ERR_IO, "cannot open '%s', where what is typed is kept", side);
        bool locked = flock(*fd, LOCK_EX | LOCK_NB) == 0;
        if (locked && is_file(*fd, side)) return true;
        if (!locked && errno == EWOULDBLOCK)
            at_work(err);
        else if (!locked)
            err_errno(err, ERR_IO, "cannot lock '%s'", side);
        close(*fd);
        *fd = -1;
        if (!locked) return false;
    }
}

/* Blanks, or the zeros that a power cut can leave where text was to be. */
static bool is_void(Str line) {
    for (size_t i = 0; i < line.n; i++) {
        if ((unsigned char)line.p[i] > ' ') return false;
    }
    return true;
}

static bool take_head(Kept *k, Str line, Arena *a) {
    static const struct {
        Str start;
        size_t to;
    } heads[] = {{STR("; log = "), offsetof(Kept, log)},
                 {STR("; ask = "), offsetof(Kept, ask)},
                 {STR("; set = "), offsetof(Kept, set)},
                 {STR("; heading = "), offsetof(Kept, heading)}};
    static const Str fact = {"; fact = ", 9};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        if (!str_starts(line, heads[i].start)) continue;
        Str *to = (Str *)(void *)((char *)k + heads[i].to);
        *to = str_skip(line, heads[i].start.n);
        return true;
    }
    if (str_starts(line, fact)) {
        arena_grow(a, k->facts, k->fact_count, k->fact_room);
        k->facts[k->fact_count++] = str_skip(line, fact.n);
        return true;
    }
    return str_starts(line, STR(";")) && !str_starts(line, STR("; skip "));
}

static void take_lines(Kept *k, Str text, Arena *a) {
    while (text.n) {
        size_t end = str_find_char(text, '\n', 0);
        Str line = {text.p, end == SIZE_MAX ? text.n : end};
        text = str_skip(text, line.n + 1);
        if (end == SIZE_MAX) {
            k->cut_off = line;
            break;
        }
        k->size += line.n + 1;
        if (is_void(line) || take_head(k, line, a)) continue;
        arena_grow(a, k->lines, k->count, k->room);
        k->lines[k->count++] = line;
    }
}

/* A value, or the beginning of one. */
static bool holds_something(const Kept *k) {
    for (uint32_t i = 0; i < k->count; i++) {
        if (k->lines[i].p[0] != ';') return true;
    }
    return k->cut_off.n && k->cut_off.p[0] != ';' && !is_void(k->cut_off);
}

bool kept_open(const char *side, Arena *a, Kept *out, Err *err) {
    Kept k = {.fd = -1};
    Str text;
    Date date;
    size_t len;
    if (!lock_side(side, &k.fd, err)) return false;
    *out = k;
    if (k.fd < 0) return true;
    if (!file_read(a, side, &text, &k.stamp, err)) goto failed;
    take_lines(&k, text, a);
    k.there = holds_something(&k);
    if (k.there && date_read(k.heading, &date, &len) != DATE_OK) {
        err_set(err, ERR_USAGE,
                "%s holds values and not the heading that says of which day they are: nothing was "
                "written. They stand in it a line each: put them into their log below a heading "
                "with their date, then take the file away",
                side);
        goto failed;
    }
    *out = k.there ? k : (Kept){.fd = k.fd, .stamp = k.stamp};
    return true;
failed:
    close(k.fd);
    out->fd = -1;
    return false;
}

/* ---- writing --------------------------------------------------------------------------------- */

/* A line that a power cut left unfinished must not run into the next one. */
static bool cut_unfinished(const Bench *b, Err *err) {
    return ftruncate(b->fd, (off_t)b->size) == 0 ||
           err_errno(err, ERR_IO, "cannot write '%s'", b->side);
}

/* Whether the file under the name is the one just written: without a value another could have taken
 * it for one that is begun anew. */
static bool is_own(const Bench *b, Err *err) {
    Str text;
    if (b->fd < 0) return at_work(err);
    if (!file_read(b->arena, b->side, &text, NULL, err)) return false;
    return str_eq(text, b->start) || at_work(err);
}

bool bench_begin(Bench *b, Err *err) {
    Err why = {0};
    if (!b->start.n) return cut_unfinished(b, err);
    const char *folder = book_folder_of(b->side, b->arena);
    if ((!file_exists(folder) && !file_mkdirs(folder, &why)) ||
        !file_write(b->side, b->start, b->fd < 0 ? NULL : &b->stamp, &why)) {
        if (why.kind == ERR_CHANGED) return at_work(err);
        return err_set(err, why.kind, "what is typed could not be kept, so nothing was asked: %s",
                       why.text);
    }
    bench_release(b);
    if (!lock_side(b->side, &b->fd, err) || !is_own(b, err)) return false;
    b->size = b->start.n;
    b->bare = true;
    return true;
}

/* What could not be kept whole is not kept at all, so that nothing is there that was said to be
 * lost; where even that fails the rest is cut when the file is opened again. */
static bool keep_line(Bench *b, Str line, Err *err) {
    Str text = arena_printf(b->arena, "%.*s\n", STR_ARG(line));
    if (file_write_all(b->fd, text) && fsync(b->fd) == 0) {
        b->size += text.n;
        return true;
    }
    err_errno(err, ERR_IO, "'%.*s' is not kept: cannot write '%s'", STR_ARG(line), b->side);
    (void)cut_unfinished(b, err);
    return false;
}

bool bench_keep(Bench *b, const BenchCell *cell, Err *err) {
    Str line = arena_printf(b->arena, "%.*s = %.*s%s%.*s", STR_ARG(cell->key), STR_ARG(cell->value),
                            cell->remark.n ? " ; " : "", STR_ARG(cell->remark));
    if (!keep_line(b, line, err)) return false;
    b->bare = false;
    return true;
}

bool bench_keep_skip(Bench *b, const BenchCell *cell, Err *err) {
    return keep_line(b, arena_printf(b->arena, "; skip %.*s", STR_ARG(cell->key)), err);
}

void bench_release(Bench *b) {
    if (b->fd >= 0 && b->bare) unlink(b->side);
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
    if (unlink(b->side) != 0 && errno != ENOENT)
        return err_errno(err, ERR_IO, "cannot remove '%s'", b->side);
    b->bare = false;
    bench_release(b);
    return true;
}

bool bench_append(Bench *b, const char *log, Str text, const FileStamp *was, Err *err) {
    uint32_t at;
    Str whole = bench_joined(text, entry_for(b, text), b->arena, &at);
    return file_write(log, whole, was, err) && bench_drop(b, err);
}
