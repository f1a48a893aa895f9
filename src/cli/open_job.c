#include "cli/open_job.h"

#include "show/findings.h"
#include <unistd.h>

static void findings_to_stderr(const Findings *f) {
    Out errors;
    out_init(&errors, STDERR_FILENO);
    findings_text(&errors.buf, f, errors.colour);
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

ExitCode open_job(Run *run, const char *argument, const OptionValue *at, OpenJob *o) {
    Arena *a = run->arena;
    *o = (OpenJob){.findings = {.arena = a}, .until = at->given ? at->date.day : INT32_MAX};
    if (!shelf_target(run, argument, &o->target)) return EXIT_TROUBLE;
    Source *source = arena_alloc(a, sizeof *source);
    source->path = str_from(o->target.path);
    if (!file_read(a, o->target.path, &source->text, NULL, &run->err)) return EXIT_TROUBLE;
    source_map(source, a);
    if (!vocabulary_is_sound(o->target.book)) return EXIT_FINDINGS;
    o->door = (BookDoor){.book = o->target.book, .arena = a};
    Door door = book_door(&o->door);
    bool is_card = str_ends(source->path, STR(".part"));
    o->job = job_read(book_vocab(o->target.book), source, is_card, &door, a, &o->findings);
    o->eval = eval_new(state_at(o->job, o->until, a), a);
    if (o->findings.errors)
        complain("%u line%s of %s could not be read and count%s for nothing here: thou check %s",
                 o->findings.errors, o->findings.errors == 1 ? "" : "s", o->target.path,
                 o->findings.errors == 1 ? "s" : "", argument);
    return EXIT_FINE;
}

ExitCode open_job_exit(const OpenJob *o) {
    return o->findings.errors ? EXIT_FINDINGS : EXIT_FINE;
}

System units_asked(const OptionValue *units) {
    static const System by_word[] = {SYSTEM_METRIC, SYSTEM_US}; /* as in UNITS_ROW */
    return units->given ? by_word[units->number] : SYSTEM_NONE;
}
