/* thou keep: the present state of the book goes into its history. */
#include "show/summary.h"

#include "cli/log_state.h"
#include "compute/check.h"

enum { OPT_MESSAGE, OPT_COUNT };
static const Option keep_options[OPT_COUNT] = {
    [OPT_MESSAGE] = {"message", 'm', OPTION_WORD, "TEXT",
                     "the record's first line; what changed follows below it"},
};

typedef struct KeepKind {
    const char *pattern;
    const char *one;
    bool readings; /* its lines are readings */
    bool only_new; /* made by thou start; later changes are the person's own affair */
} KeepKind;

static const KeepKind kinds[] = {
    {BOOK_JOBS "/*.job", "log", true, false},     {BOOK_PARTS "/*.part", "card", true, false},
    {BOOK_IMPORTS "/*.map", "map", false, false}, {BOOK_SHOP, "file", false, false},
    {"template.job", "file", false, false},       {".gitignore", "file", false, true},
};
enum { KINDS = sizeof kinds / sizeof *kinds };

typedef struct Keeping {
    Run *run;
    Arena *a;
    Book *book;
    History *h;
    bool sound; /* the vocabulary has no errors, so readings can be told */
    HistoryFile *files;
    SummaryLine *lines;
    uint32_t count, room, left_out;
    uint32_t line_room;
    Arena *scratch;                    /* of one file: its readings */
    uint32_t errors, warnings, faulty; /* findings, and the logs and cards that have some */
    Str one_faulty;
} Keeping;

static const KeepKind *kind_of(const char *path) {
    for (size_t i = 0; i < KINDS; i++) {
        const char *star = strchr(kinds[i].pattern, '*');
        size_t n = star ? (size_t)(star - kinds[i].pattern) : 0;
        if (star ? strncmp(path, kinds[i].pattern, n) == 0 : strcmp(path, kinds[i].pattern) == 0)
            return &kinds[i];
    }
    return NULL;
}

/* ---- what the readings say ----------------------------------------------------------------------
 */

static SaidList read_said(Keeping *k, const char *path, Str text, bool card, bool check) {
    Arena *a = k->scratch;
    Findings found = {.arena = a};
    Source *source = arena_alloc(a, sizeof *source);
    *source = (Source){.path = str_from(path), .text = text};
    source_map(source, a);
    BookDoor *door = arena_alloc(a, sizeof *door);
    *door = (BookDoor){.book = k->book, .arena = a};
    Door to_book = book_door(door);
    Job *j = job_read(book_vocab(k->book), source, card, &to_book, a, &found);
    if (check && !card) check_job(eval_new(state_at(j, INT32_MAX, a), a), &found);
    if (check && (found.errors || found.warnings)) {
        k->faulty++;
        k->one_faulty = arena_str(k->a, book_name_of(path));
    }
    k->errors += check ? found.errors : 0;
    k->warnings += check ? found.warnings : 0;
    return said_by(j, a);
}

static bool add_summary(Keeping *k, const HistoryFile *file, const KeepKind *kind, SummaryHow how) {
    bool card = strcmp(kind->one, "card") == 0, was_there = how != SUMMARY_NEW;
    SummaryFile s = {.name = book_name_of(file->path), .one = kind->one, .how = how};
    Str old = {0};
    if (kind->readings && k->sound) {
        s.vocab = book_vocab(k->book);
        if (was_there &&
            !history_recorded(k->h, file->path, k->scratch, &old, &was_there, &k->run->err))
            return false;
        if (was_there) s.old = read_said(k, file->path, old, card, false);
        if (!file->deleted) s.now = read_said(k, file->path, file->text, card, true);
        s.changes = changes_between(&s.old, &s.now, k->scratch);
    }
    arena_grow(k->a, k->lines, k->count, k->line_room);
    k->lines[k->count] = summary_line(&s, k->a);
    arena_reset(k->scratch);
    return true;
}

static const char *disk_path(const Keeping *k, const char *path) {
    const char *folder = book_folder(k->book);
    if (strcmp(folder, ".") == 0) return path;
    return arena_printf(k->a, "%s/%s", folder, path).p;
}

static bool add_file(Keeping *k, const HistoryChange *change) {
    const KeepKind *kind = kind_of(change->path);
    if (change->kind == HISTORY_NOT_PLAIN) {
        k->left_out++;
        complain("%s is a symbolic link or a folder: it was not kept; put the file itself there",
                 change->path);
        return true;
    }
    if (kind->only_new && change->kind != HISTORY_ADDED) return true;
    HistoryFile file = {.path = change->path, .deleted = change->kind == HISTORY_DELETED};
    const char *path = disk_path(k, change->path);
    if (!file.deleted && !file_read(k->a, path, &file.text, NULL, &k->run->err)) return false;
    SummaryHow how = file.deleted                    ? SUMMARY_GONE
                     : change->kind == HISTORY_ADDED ? SUMMARY_NEW
                                                     : SUMMARY_CHANGED;
    if (!add_summary(k, &file, kind, how)) return false;
    arena_grow(k->a, k->files, k->count, k->room);
    k->files[k->count++] = file;
    return true;
}

static bool gather(Keeping *k) {
    const char *patterns[KINDS];
    HistoryChanges found;
    for (size_t i = 0; i < KINDS; i++)
        patterns[i] = kinds[i].pattern;
    if (!history_status(k->h, patterns, KINDS, k->a, &found, &k->run->err)) return false;
    for (size_t i = 0; i < found.count; i++) {
        if (!add_file(k, &found.items[i])) return false;
    }
    return true;
}

/* ---- recording ----------------------------------------------------------------------------------
 */

/* SOURCE_DATE_EPOCH is how builds that must come out the same hand in the time. */
static HistoryNote note_now(const char *message) {
    const char *fixed = getenv("SOURCE_DATE_EPOCH");
    time_t now = fixed && *fixed ? (time_t)strtoll(fixed, NULL, 10) : time(NULL);
    struct tm local;
    localtime_r(&now, &local);
    return (HistoryNote){message, now, (int)(local.tm_gmtoff / 60)};
}

/* Findings do not hold a record back; how many there are is said behind it. */
static void say_findings(const Keeping *k) {
    Buf *b = &k->run->out.buf;
    if (k->errors + k->warnings == 0) return;
    buf_printf(b, ", with %u error%s and %u warning%s (thou check", k->errors,
               k->errors == 1 ? "" : "s", k->warnings, k->warnings == 1 ? "" : "s");
    if (k->faulty == 1) buf_printf(b, " %.*s", STR_ARG(k->one_faulty));
    buf_putc(b, ')');
}

static bool record(Keeping *k) {
    enum { ID_SHOWN = 10, SHOWN = 50 };
    Run *run = k->run;
    Buf message = {0}, *b = &run->out.buf;
    char id[HISTORY_ID];
    const OptionValue *said = &run->args.options[OPT_MESSAGE];
    summary_record(&message, k->lines, k->count, str_trim(str_from(said->text)));
    HistoryNote note = note_now(message.p);
    bool ok = history_record(k->h, k->files, k->count, &note, id, &run->err);
    buf_release(&message);
    if (!ok) return false;
    for (uint32_t i = 0; i < k->count && i < SHOWN; i++)
        buf_printf(b, "%.*s\n", STR_ARG(k->lines[i].whole));
    if (k->count > SHOWN) buf_printf(b, "and %u more files\n", k->count - SHOWN);
    buf_printf(b, "kept as %.*s", ID_SHOWN, id);
    say_findings(k);
    buf_putc(b, '\n');
    if (!k->sound)
        complain("shop.vocab has errors, so readings could not be told from other lines: thou "
                 "check");
    if (history_wants_packing(k->h))
        complain("the history has many single files by now: git gc packs them");
    return true;
}

/* What writes that were killed left in the folders that are recorded. */
static void sweep(Keeping *k) {
    static const char *const folders[] = {BOOK_JOBS, BOOK_PARTS, BOOK_IMPORTS, "."};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++)
        file_sweep(disk_path(k, folders[i]), (int64_t)time(NULL) * 1000000000);
}

static ExitCode run_keep(Run *run) {
    Keeping k = {.run = run, .a = run->arena};
    const OptionValue *said = &run->args.options[OPT_MESSAGE];
    if (said->given && !str_trim(str_from(said->text)).n) {
        err_set(&run->err, ERR_USAGE, "the message of -m is empty: leave it out, or say something");
        return EXIT_TROUBLE;
    }
    if (!shelf_need_book(run, &k.book) || !open_history(run, k.book, HISTORY_RECORD, NULL, &k.h))
        return EXIT_TROUBLE;
    sweep(&k);
    k.sound = book_vocab_findings(k.book)->errors == 0;
    k.scratch = arena_new();
    bool ok = gather(&k);
    arena_free(k.scratch);
    if (ok && k.count == 0)
        buf_puts(&run->out.buf, "nothing has changed since the last record\n");
    else if (ok)
        ok = record(&k);
    history_close(k.h);
    if (!ok) return EXIT_TROUBLE;
    return k.left_out ? EXIT_FINDINGS : EXIT_FINE;
}

const Command command_keep = {
    .name = "keep",
    .arguments = "",
    .summary = "records the book's logs, cards and shop.vocab in its history",
    .help = "Checks what changed in jobs/, parts/, imports/, shop.vocab and template.job and\n"
            "records it in the git repository around the book, with a summary made from the\n"
            "readings. What you staged or changed elsewhere is left alone. Errors in a log do\n"
            "not hold it back: what was written at the bench is worth keeping as it was written;\n"
            "how many there are is said. The author is git's user.name and user.email. When\n"
            "nothing has changed it says so, and ends with 0. thou past shows the records; git\n"
            "log, git push and every other git command work on them too.\n",
    .options = keep_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = 0,
    .run = run_keep,
};
