#include "cli/log_state.h"

#include <limits.h>

enum { ID_SHOWN = 10 };

static bool is_version(Str s) {
    if (str_eq(s, STR("last"))) return true;
    for (size_t i = 0; i < s.n; i++) {
        char c = to_lower(s.p[i]);
        if (!is_digit(c) && (c < 'a' || c > 'f')) return false;
    }
    return s.n >= 4 && s.n < HISTORY_ID;
}

static bool is_whole_name(Run *run, const char *argument) {
    if (file_exists(argument)) return true;
    Book *b = NULL;
    const char *path = NULL;
    if (run->args.book || run->args.book_default || book_find(".", run->arena)) {
        if (shelf_book(run, &b) && b) path = book_job_path(b, str_from(argument), run->arena);
    }
    return path && file_exists(path);
}

/* Cuts `when` off the front of what stands behind the @; a time of day has a colon itself. */
static bool read_when(Run *run, Str rest, LogState *out, Str *behind) {
    size_t used = 0;
    out->dated = date_read(rest, &out->date, &used) == DATE_OK;
    if (!out->dated) {
        size_t colon = str_find_char(rest, ':', 0);
        used = colon < rest.n ? colon : rest.n;
    }
    out->when = (Str){rest.p, used};
    *behind = str_skip(rest, used);
    if (out->dated || is_version(out->when)) return true;
    return err_set(&run->err, ERR_USAGE,
                   "'%.*s' behind the @ is neither a date (YYYY-MM-DD, also with THH:MM) nor the "
                   "first four or more digits of a record's id",
                   STR_ARG(out->when));
}

bool log_state_read(Run *run, const char *argument, LogState *out) {
    LogState s = {.job = argument};
    const char *name = strrchr(argument, '/');
    name = name ? name + 1 : argument;
    size_t n = strcspn(name, "@:");
    if (!name[n] || n == 0 || is_whole_name(run, argument)) {
        *out = s;
        return true;
    }
    s.job = arena_str(run->arena, (Str){argument, (size_t)(name - argument) + n}).p;
    Str behind = str_from(name + n);
    if (name[n] == '@' && !read_when(run, str_skip(behind, 1), &s, &behind)) return false;
    if (behind.n && behind.p[0] == ':') s.stage = str_trim(str_skip(behind, 1));
    if (behind.n && (behind.p[0] != ':' || !s.stage.n))
        return err_set(&run->err, ERR_USAGE, "what is '%.*s' behind '%s'? A stage is JOB:STAGE",
                       STR_ARG(behind), s.job);
    *out = s;
    return true;
}

bool log_state_target(Run *run, const char *job, bool past, Target *out) {
    Book *b;
    if (shelf_target(run, job, out)) return true;
    if (!past || run->err.kind != ERR_USAGE) return false;
    Err why = run->err;
    run->err = (Err){0};
    if (!shelf_book(run, &b)) return false;
    const char *path = b ? book_job_path(b, str_from(job), run->arena) : NULL;
    if (!path) {
        run->err = why;
        return false;
    }
    *out = (Target){b, path};
    return true;
}

/* ---- stages and moments -------------------------------------------------------------------------
 */

typedef struct Stage {
    Str name;
    uint32_t first, last; /* entries */
} Stage;

typedef struct Stages {
    Stage *items;
    uint32_t count, room;
} Stages;

static Stages stages_of(const Job *j, Arena *a) {
    Stages s = {0};
    TagId tag = j->vocab->roles[ROLE_STAGE];
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (r->tag != tag || r->flags & (READ_STRUCK | READ_SUSPECT)) continue;
        if (s.count) s.items[s.count - 1].last = r->entry ? r->entry - 1 : 0;
        arena_grow(a, s.items, s.count, s.room);
        s.items[s.count++] = (Stage){reading_text(j, r), r->entry, 0};
    }
    if (s.count) s.items[s.count - 1].last = j->entry_count - 1;
    return s;
}

static bool no_such_stage(const Job *j, const Stages *s, Str stage, Arena *a, Err *err) {
    Str text = {0};
    for (uint32_t i = 0; i < s->count; i++)
        text = arena_printf(a, "%.*s%s'%.*s'", STR_ARG(text), i ? ", " : "",
                            STR_ARG(s->items[i].name));
    return err_set(err, ERR_USAGE, "%.*s has no stage '%.*s'%s%.*s", STR_ARG(j->name),
                   STR_ARG(stage), s->count ? "; it has " : " (it states none)", STR_ARG(text));
}

bool log_state_stage(const Job *j, Str stage, uint32_t *before, uint32_t *last, Arena *a,
                     Err *err) {
    Stages s = stages_of(j, a);
    const Stage *found = NULL;
    for (uint32_t i = 0; i < s.count; i++) {
        if (str_ieq(s.items[i].name, stage)) found = &s.items[i];
    }
    if (!found) return no_such_stage(j, &s, stage, a, err);
    bool begins = found->first == 0 || j->entries[found->first - 1].date.day == DAY_NONE;
    *before = begins ? UINT32_MAX : found->first - 1;
    *last = found->last;
    return true;
}

bool log_state_entry(const Job *j, Date until, uint32_t *last) {
    bool any = false;
    if (until.minute < 0) until.minute = 24 * 60;
    for (uint32_t i = 0; i < j->entry_count; i++) {
        if (j->entries[i].corrects || date_cmp(j->entries[i].date, until) > 0) continue;
        *last = i;
        any |= j->entries[i].date.day != DAY_NONE;
    }
    return any;
}

/* ---- history ------------------------------------------------------------------------------------
 */

bool open_history(Run *run, const Book *b, HistoryUse use, Progress *told, History **out) {
    HistorySettings with = {.use = use,
                            .told = told ? progress_told : NULL,
                            .told_ctx = told,
                            .name = getenv("GIT_AUTHOR_NAME"),
                            .mail = getenv("GIT_AUTHOR_EMAIL")};
    if (!book_folder(b))
        return err_set(&run->err, ERR_USAGE,
                       "only what is in a book has a history: name one with --book DIR, or make "
                       "one with thou start");
    if (book_folder(b)) with.store = arena_printf(run->arena, "%s/" BOOK_STORE, book_folder(b)).p;
    return history_open(book_folder(b), &with, out, &run->err);
}

bool history_path(Run *run, const Book *b, const char *path, const char **out) {
    char folder[PATH_MAX], file[PATH_MAX];
    const char *dir = book_folder_of(path, run->arena);
    if (!book_folder(b) || !realpath(book_folder(b), folder) || !realpath(dir, file))
        return err_errno(&run->err, ERR_IO, "'%s' cannot be found", path);
    const char *slash = strrchr(path, '/');
    Str whole = arena_printf(run->arena, "%s/%s", file, slash ? slash + 1 : path);
    size_t n = strlen(folder);
    if (strcmp(folder, "/") == 0) n = 0;
    if (!str_starts(whole, (Str){folder, n}) || whole.p[n] != '/')
        return err_set(&run->err, ERR_USAGE,
                       "'%s' is not in the book '%s', which has no past of it", path,
                       book_folder(b));
    *out = whole.p + n + 1;
    return true;
}

bool log_state_version(Run *run, History *h, const char *path, Str when, HistoryVersion *out) {
    HistoryVersions all;
    if (!str_eq(when, STR("last")))
        return history_version_at(h, path, when, run->arena, out, &run->err);
    if (!history_versions(h, path, 1, run->arena, &all, &run->err)) return false;
    if (all.count == 0)
        return err_set(&run->err, ERR_USAGE, "%s has never been kept (thou keep does that)", path);
    *out = all.items[0];
    return true;
}

Str version_time(const HistoryVersion *v, Arena *a) {
    int64_t local = v->when + (int64_t)v->offset * 60;
    int64_t day = local / 86400 - (local % 86400 < 0);
    char text[DATE_TEXT];
    Date date = {(int32_t)day, (int16_t)((local - day * 86400) / 60)};
    return arena_printf(a, "%s", date_text(date, text));
}

Str version_text(const HistoryVersion *v, Arena *a) {
    return arena_printf(a, "%.*s, kept %.*s by %.*s", ID_SHOWN, v->id, STR_ARG(version_time(v, a)),
                        STR_ARG(v->name));
}
