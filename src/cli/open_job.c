#include "cli/open_job.h"

#include "show/findings.h"
#include <unistd.h>

static void findings_to_stderr(const Findings *f) {
    Out errors;
    out_init(&errors, STDERR_FILENO);
    findings_text(&errors.buf, f, out_style(&errors));
    out_flush(&errors);
    out_release(&errors);
}

static bool vocabulary_is_sound(const Book *b) {
    const Findings *f = book_vocab_findings(b);
    if (f->errors == 0) return true;
    findings_to_stderr(f);
    complain("nothing can be computed until shop.vocab is put right");
    return false;
}

/* The text as it was kept, under a name that tells it from the file: jobs/26-014@1a2b3c4d5e.job */
static bool read_version(Run *run, OpenJob *o, Source *source) {
    enum { ID_SHOWN = 10 };
    Arena *a = run->arena;
    History *h;
    Progress progress;
    const char *path;
    o->version = arena_alloc(a, sizeof *o->version);
    if (!history_path(run, o->target.book, o->target.path, &path) ||
        !open_history(run, o->target.book, HISTORY_READ, &progress, &h))
        return false;
    progress_start(&progress, "records");
    bool ok = log_state_version(run, h, path, o->asked.when, o->version) &&
              history_bytes(h, o->version, a, &source->text, &run->err);
    progress_wipe(&progress);
    history_close(h);
    if (!ok) return false;
    if (o->version->deleted)
        return err_set(&run->err, ERR_USAGE, "%s was not there any more in %.*s", path, ID_SHOWN,
                       o->version->id);
    Str whole = str_from(o->target.path);
    size_t dot = whole.n;
    while (dot > 0 && whole.p[dot] != '.')
        dot--;
    source->path =
        arena_printf(a, "%.*s@%.*s%s", (int)dot, whole.p, ID_SHOWN, o->version->id, whole.p + dot);
    return true;
}

static bool read_text(Run *run, OpenJob *o, bool past, Source *source) {
    if (past) return read_version(run, o, source);
    source->path = str_from(o->target.path);
    return file_read(run->arena, o->target.path, &source->text, NULL, &run->err);
}

static bool nothing_yet(Run *run, const OpenJob *o) {
    return err_set(&run->err, ERR_USAGE, "%.*s has no entry up to %.*s", STR_ARG(o->job->name),
                   STR_ARG(o->asked.when));
}

/* Which entries count, and what the state is called. */
static bool play(Run *run, OpenJob *o, bool past) {
    Arena *a = run->arena;
    const LogState *asked = &o->asked;
    Str name = o->job->name;
    uint32_t last = UINT32_MAX;
    Str as = STR("");
    if (past) as = arena_printf(a, " as in %.*s", STR_ARG(version_text(o->version, a)));
    o->said = arena_printf(a, "%.*s%.*s", STR_ARG(name), STR_ARG(as));
    if (asked->stage.n) {
        if (!log_state_stage(o->job, asked->stage, &o->before, &last, a, &run->err)) return false;
        o->said = arena_printf(a, "%.*s%.*s at the end of '%.*s'", STR_ARG(name), STR_ARG(as),
                               STR_ARG(asked->stage));
    } else if (asked->dated && !past) {
        if (!log_state_entry(o->job, asked->date, &last)) return nothing_yet(run, o);
        o->said = arena_printf(a, "%.*s at %s%.*s", STR_ARG(name),
                               asked->date.minute < 0 ? "the end of " : "", STR_ARG(asked->when));
    }
    if (last == UINT32_MAX) {
        o->eval = eval_new(state_at(o->job, o->until, a), a);
        return true;
    }
    o->until = o->job->entries[last].date.day;
    o->eval = eval_new(state_after(o->job, last, a), a);
    return true;
}

/* `name`: what `thou check` is asked for; NULL: it does not read that version. */
static void tell_errors(const Job *j, const char *name) {
    const char *check = name ? ": thou check " : "";
    Str path = j->sources[0]->path;
    uint32_t unread = job_unread(j), cards = j->cards_missing;
    if (!name) name = "";
    if (unread)
        complain("%u line%s of %.*s could not be read and count%s for nothing here%s%s", unread,
                 unread == 1 ? "" : "s", STR_ARG(path), unread == 1 ? "s" : "", check, name);
    if (cards)
        complain("%u part%s of %.*s ha%s no card, so nothing that %s maker%s say%s counts here%s%s",
                 cards, cards == 1 ? "" : "s", STR_ARG(path), cards == 1 ? "s" : "ve",
                 cards == 1 ? "its" : "their", cards == 1 ? "" : "s", cards == 1 ? "s" : "", check,
                 name);
    else if (!unread && j->findings->errors)
        complain("every line of %.*s was read, but there are errors in it%s%s", STR_ARG(path),
                 check, name);
}

ExitCode open_job_state(Run *run, const LogState *asked, bool kept, OpenJob *o) {
    Arena *a = run->arena;
    int32_t until = o->until;
    *o = (OpenJob){.findings = {.arena = a}, .until = until, .asked = *asked, .before = UINT32_MAX};
    bool past = asked->when.n && (!asked->dated || kept);
    if (!log_state_target(run, asked->job, past, &o->target)) return EXIT_TROUBLE;
    Source *source = arena_alloc(a, sizeof *source);
    if (!read_text(run, o, past, source)) return EXIT_TROUBLE;
    source_map(source, a);
    if (!vocabulary_is_sound(o->target.book)) return EXIT_FINDINGS;
    o->door = (BookDoor){.book = o->target.book, .arena = a};
    Door door = book_door(&o->door);
    bool is_card = str_ends(source->path, STR(".part"));
    o->job = job_read(book_vocab(o->target.book), source, is_card, &door, a, &o->findings);
    if (!play(run, o, past)) return EXIT_TROUBLE;
    tell_errors(o->job, past ? NULL : asked->job);
    return EXIT_FINE;
}

ExitCode open_job_again(Run *run, const LogState *asked, OpenJob *o) {
    o->asked = *asked;
    o->until = INT32_MAX;
    o->before = UINT32_MAX;
    return play(run, o, o->version != NULL) ? EXIT_FINE : EXIT_TROUBLE;
}

bool open_job_places(Run *run, OpenJob *o, ClassId cls) {
    uint32_t before = o->job->subject_count;
    (void)job_places(o->job, cls);
    return o->job->subject_count == before || play(run, o, o->version != NULL);
}

ExitCode open_job(Run *run, const char *argument, const OptionValue *at, OpenJob *o) {
    LogState asked;
    *o = (OpenJob){.until = at->given ? at->date.day : INT32_MAX};
    if (!log_state_read(run, argument, &asked)) return EXIT_TROUBLE;
    if (at->given && (asked.stage.n || asked.dated)) {
        err_set(&run->err, ERR_USAGE, "'%s' says already which day is meant: leave --at out",
                argument);
        return EXIT_TROUBLE;
    }
    return open_job_state(run, &asked, false, o);
}

ExitCode open_job_exit(const OpenJob *o) {
    return o->findings.errors ? EXIT_FINDINGS : EXIT_FINE;
}

System units_asked(const OptionValue *units) {
    static const System by_word[] = {SYSTEM_METRIC, SYSTEM_US}; /* as in UNITS_ROW */
    return units->given ? by_word[units->number] : SYSTEM_NONE;
}
