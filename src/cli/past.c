/* thou past: what was recorded when. */
#include "show/past.h"

#include "cli/open_job.h"
#include "compute/check.h"
#include "show/findings.h"
#include "show/sheet.h"

enum { OPT_AT, OPT_ALL, OPT_JSON, OPT_CSV, OPT_COUNT };
enum { SHOWN = 20, ID_SHOWN = 10 };
static const Option past_options[OPT_COUNT] = {
    [OPT_AT] = {"at", 0, OPTION_WORD, "DATE|VERSION",
                "the log as it was kept by the end of that day, or in that record"},
    [OPT_ALL] = {"all", 0, OPTION_FLAG, NULL, "every record and correction, not the newest 20"},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "the same rows for a spreadsheet"},
};

static PastOptions options_of(const Run *run) {
    return (PastOptions){.most = run->args.options[OPT_ALL].given ? 0 : SHOWN,
                         .width = (int)run->out.width,
                         .colour = run->out.colour};
}

static PastRecord record_of(const HistoryVersion *v, Arena *a) {
    return (PastRecord){.id = arena_str(a, (Str){v->id, ID_SHOWN}),
                        .kept = version_time(v, a),
                        .by = v->name,
                        .summary = v->summary};
}

/* ---- the book -----------------------------------------------------------------------------------
 */

static ExitCode show_book(Run *run) {
    const OptionValue *given = run->args.options;
    Arena *a = run->arena;
    Book *b;
    History *h;
    Progress progress;
    HistoryVersions all;
    if (given[OPT_AT].given) {
        err_set(&run->err, ERR_USAGE, "--at shows one log as it stood: name the job");
        return EXIT_TROUBLE;
    }
    if (!shelf_need_book(run, &b) || !open_history(run, b, HISTORY_READ, &progress, &h))
        return EXIT_TROUBLE;
    progress_start(&progress, "records");
    bool ok = history_records(h, given[OPT_ALL].given ? 0 : SHOWN, a, &all, &run->err);
    progress_wipe(&progress);
    history_close(h);
    if (!ok) return EXIT_TROUBLE;
    PastRecord *records = arena_array(a, all.count + 1, sizeof *records);
    for (size_t i = 0; i < all.count; i++)
        records[i] = record_of(&all.items[i], a);
    PastOptions how = options_of(run);
    if (given[OPT_JSON].given)
        past_records_json(&run->out.buf, records, (uint32_t)all.count);
    else if (given[OPT_CSV].given)
        past_records_csv(&run->out.buf, records, (uint32_t)all.count);
    else
        past_records_text(&run->out.buf, records, (uint32_t)all.count, &how);
    if (all.count == 0) complain("nothing has been kept yet (thou keep does that)");
    return all.count ? EXIT_FINE : EXIT_FINDINGS;
}

/* ---- a job --------------------------------------------------------------------------------------
 */

/* Five hundred versions of a log go on from the same earlier one: it is read once. */
typedef struct Remember {
    BookDoor door;
    Arena *a;
    struct Remembered {
        Str name;
        const Source *source;
    } * items;
    uint32_t count, room;
} Remember;

static const Source *remembered_log(void *ctx, Str name) {
    Remember *r = ctx;
    for (uint32_t i = 0; i < r->count; i++) {
        if (str_eq(r->items[i].name, name)) return r->items[i].source;
    }
    Door book = book_door(&r->door);
    const Source *source = book.log(book.ctx, name);
    arena_grow(r->a, r->items, r->count, r->room);
    r->items[r->count].name = arena_str(r->a, name);
    r->items[r->count++].source = source;
    return source;
}

static const Job *remembered_card(void *ctx, Str name) {
    Remember *r = ctx;
    const Card *card = book_card(r->door.book, name);
    return card ? card->job : NULL;
}

typedef struct Telling {
    Run *run;
    Target target;
    const char *path; /* as history has it */
    History *h;
    HistoryVersions all;
    PastRecord *records;
    Source *sources;
    uint32_t count; /* of both; the last may be the file itself */
    Timeline line;
} Telling;

static bool add_file(Telling *t) {
    Arena *a = t->run->arena;
    Str text;
    if (!file_exists(t->target.path)) return true;
    if (!file_read(a, t->target.path, &text, NULL, &t->run->err)) return false;
    if (t->count && str_eq(t->sources[t->count - 1].text, text)) return true;
    t->records[t->count].summary = STR("not kept yet");
    t->sources[t->count++].text = text;
    return true;
}

static bool read_versions(Telling *t) {
    Arena *a = t->run->arena;
    if (!history_versions(t->h, t->path, 0, a, &t->all, &t->run->err)) return false;
    t->records = arena_array(a, t->all.count + 1, sizeof *t->records);
    t->sources = arena_array(a, t->all.count + 1, sizeof *t->sources);
    for (size_t i = t->all.count; i-- > 0;) {
        const HistoryVersion *v = &t->all.items[i];
        if (!history_bytes(t->h, v, a, &t->sources[t->count].text, &t->run->err)) return false;
        t->records[t->count++] = record_of(v, a);
    }
    if (!add_file(t)) return false;
    return t->count > 0 || err_set(&t->run->err, ERR_USAGE,
                                   "%s is in no record, and there is no such file", t->path);
}

static void make_timeline(Telling *t) {
    Arena *a = t->run->arena, *scratch = arena_new();
    Remember remember = {.door = {.book = t->target.book, .arena = a}, .a = a};
    Door door = {.ctx = &remember, .log = remembered_log, .card = remembered_card};
    timeline_init(&t->line, a);
    for (uint32_t i = 0; i < t->count; i++) {
        Findings none = {.arena = scratch};
        Source *source = &t->sources[i];
        source->path = str_from(t->target.path);
        if (i + 1 == t->count) source_map(source, a); /* lines are told of the last alone */
        bool card = str_ends(source->path, STR(".part"));
        const Vocab *v = book_vocab(t->target.book);
        timeline_add(&t->line, job_read(v, source, card, &door, scratch, &none), i);
        arena_reset(scratch);
    }
    arena_free(scratch);
}

static void show(Telling *t) {
    Run *run = t->run;
    const OptionValue *given = run->args.options;
    PastOptions how = options_of(run);
    Past past = {.job = book_name_of(t->target.path),
                 .vocab = book_vocab(t->target.book),
                 .records = t->records,
                 .count = t->count,
                 .timeline = &t->line,
                 .now = &t->sources[t->count - 1]};
    if (given[OPT_JSON].given)
        past_json(&run->out.buf, &past);
    else if (given[OPT_CSV].given)
        past_csv(&run->out.buf, &past);
    else
        past_text(&run->out.buf, &past, &how);
}

static ExitCode show_job(Run *run, const char *job) {
    Telling t = {.run = run};
    Progress progress;
    if (!log_state_target(run, job, true, &t.target) ||
        !history_path(run, t.target.book, t.target.path, &t.path))
        return EXIT_TROUBLE;
    if (!book_need_vocab(t.target.book, &run->err)) return EXIT_TROUBLE;
    if (!open_history(run, t.target.book, HISTORY_READ, &progress, &t.h)) return EXIT_TROUBLE;
    progress_start(&progress, "records");
    bool ok = read_versions(&t);
    progress_wipe(&progress);
    history_close(t.h);
    if (!ok) return EXIT_TROUBLE;
    make_timeline(&t);
    show(&t);
    timeline_release(&t.line);
    return EXIT_FINE;
}

/* ---- the log as it stood ------------------------------------------------------------------------
 */

static ExitCode show_sheet(Run *run, LogState *asked) {
    const OptionValue *given = run->args.options;
    OpenJob o = {.until = INT32_MAX};
    ExitCode code = open_job_state(run, asked, true, &o);
    if (code != EXIT_FINE) return code;
    SheetOptions how = {.until = o.until, .width = (int)run->out.width, .colour = run->out.colour};
    Buf *b = &run->out.buf;
    if (given[OPT_JSON].given) {
        sheet_json(b, o.eval, &how);
    } else if (given[OPT_CSV].given) {
        sheet_csv(b, o.eval, &how);
    } else {
        buf_printf(b, "%.*s\n\n", STR_ARG(o.said));
        sheet_text(b, o.eval, &how);
        check_job(o.eval, &o.findings);
        findings_sort(&o.findings);
        if (o.findings.count) buf_putc(b, '\n');
        findings_text(b, &o.findings, out_style(&run->out));
    }
    return o.findings.errors ? EXIT_FINDINGS : EXIT_FINE;
}

static ExitCode run_past(Run *run) {
    const OptionValue *given = run->args.options, *at = &given[OPT_AT];
    LogState asked;
    if (given[OPT_JSON].given && given[OPT_CSV].given) {
        err_set(&run->err, ERR_USAGE, "--json and --csv are two answers: ask for one of them");
        return EXIT_TROUBLE;
    }
    if (!run->args.count) return show_book(run);
    const char *typed = run->args.words[0];
    if (at->given) typed = arena_printf(run->arena, "%s@%s", typed, at->text).p;
    if (!log_state_read(run, typed, &asked)) return EXIT_TROUBLE;
    if (asked.when.n) return show_sheet(run, &asked);
    if (!asked.stage.n) return show_job(run, asked.job);
    err_set(&run->err, ERR_USAGE, "a stage has no past of its own: thou past %s, or thou sheet %s",
            asked.job, typed);
    return EXIT_TROUBLE;
}

const Command command_past = {
    .name = "past",
    .arguments = "[JOB]",
    .summary = "when each reading came in, what was corrected, the log as it stood",
    .help = "Without JOB, the book's newest records. With JOB, its records, every correction\n"
            "(the old value, the new one, who and when) and each reading with the record it\n"
            "first came in with. A correction is a value written over, and one that the log\n"
            "itself makes: by an entry that corrects another, or by reading again. --at shows\n"
            "the log as it stood, checked and shown as a sheet of today is, with today's\n"
            "vocabulary and cards. Dates here are those of the records; the day of an entry is\n"
            "what thou sheet --at goes by.\n",
    .options = past_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = 1,
    .run = run_past,
};
