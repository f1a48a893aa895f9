/* thou fit: which item goes where, over which adjusters. */
#include "show/fit.h"
#include "compute/say.h"

#include "cli/fit.h"
#include <time.h>

static const Option fit_options[FIT_OPTIONS] = {
    [FIT_AT] = AT_ROW,
    [FIT_UNITS] = UNITS_ROW,
    [FIT_HOLD] = {"hold", 0, OPTION_WORD, "PLACES", "what sits there stays: I1, I1,E2, I1..I4"},
    [FIT_ONLY] = {"only", 0, OPTION_WORD, "PLACES",
                  "these places alone; the others stay as they are"},
    [FIT_SET] = {"set", 0, OPTION_WORD, "NAMES", "choose from these sets: S31, or S31,S32"},
    [FIT_SLOT] = {"slot", 0, OPTION_WORD, "NAME", "where several sit at a place: outer, inner"},
    [FIT_APPEND] = {"append", 0, OPTION_FLAG, NULL, "put the lines at the end of the log"},
    [FIT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
};

static Str joined(Run *run) {
    Str text = {0};
    for (int i = 1; i < run->args.count; i++)
        text = arena_printf(run->arena, "%.*s%s%s", STR_ARG(text), i > 1 ? " " : "",
                            run->args.words[i]);
    return text;
}

static Str fit_names(const Vocab *v, Arena *a) {
    Str text = {0};
    for (uint16_t i = 0; i < v->fit_count; i++)
        text =
            arena_printf(a, "%.*s%s%.*s", STR_ARG(text), i ? ", " : "", STR_ARG(v->fits[i].name));
    return text;
}

static const Fit *which_fit(Run *run, const OpenJob *o) {
    const Vocab *v = o->job->vocab;
    Str what = joined(run);
    const Fit *fit = what.n ? vocab_fit(v, what) : fit_default(eval_state(o->eval));
    for (uint16_t i = 0; what.n && !fit && i < v->fit_count; i++) {
        ClassId item = v->fits[i].item;
        if (item != CLASS_NONE && vocab_class(v, what) == item) fit = &v->fits[i];
    }
    Str names = fit_names(v, run->arena);
    if (!fit && what.n)
        err_set(&run->err, ERR_USAGE, "no fit is called '%.*s'; there are %.*s", STR_ARG(what),
                STR_ARG(names));
    else if (!fit)
        err_set(
            &run->err, ERR_USAGE,
            "%s has nothing to choose from for any fit (there are %.*s): no place with numbered "
            "items, and no stock",
            o->target.path, STR_ARG(names));
    return fit;
}

static bool read_places(Run *run, const OpenJob *o, const OptionValue *given, const Fit *fit,
                        SubjectList *out) {
    if (!given->given) return true;
    if (job_subjects(o->job, fit->place, str_from(given->text), out) && out->count) return true;
    return err_set(&run->err, ERR_USAGE, "'%s' names no %.*s of this engine", given->text,
                   STR_ARG(o->job->vocab->classes[fit->place].name));
}

static bool add_set(Run *run, const OpenJob *o, const Fit *fit, Str name, SubjectList *out) {
    const SubjectList *sets = &o->job->classes[o->job->vocab->classes[fit->item].set];
    for (uint32_t i = 0; i < sets->count; i++) {
        if (!str_ieq(o->job->subjects[sets->ids[i]].name, name)) continue;
        arena_grow(run->arena, out->ids, out->count, out->room);
        out->ids[out->count++] = sets->ids[i];
        return true;
    }
    return err_set(&run->err, ERR_USAGE, "%s has no %.*s set '%.*s'", o->target.path,
                   STR_ARG(o->job->vocab->classes[fit->item].name), STR_ARG(name));
}

static bool read_sets(Run *run, const OpenJob *o, FitAsk *ask) {
    const OptionValue *given = &run->args.options[FIT_SET];
    if (!given->given) return true;
    if (ask->fit->item == CLASS_NONE)
        return err_set(&run->err, ERR_USAGE, "this fit chooses no items, so --set means nothing");
    Str rest = str_from(given->text);
    while (rest.n) {
        size_t comma = str_find_char(rest, ',', 0);
        if (!add_set(run, o, ask->fit, str_before(rest, comma), &ask->sets)) return false;
        rest = str_after(rest, comma);
    }
    return true;
}

static bool read_slot(Run *run, const OpenJob *o, FitAsk *ask) {
    const OptionValue *given = &run->args.options[FIT_SLOT];
    if (!given->given) return true;
    const Class *k = ask->fit->item == CLASS_NONE ? NULL : &o->job->vocab->classes[ask->fit->item];
    for (uint8_t i = 1; k && i < k->slot_count; i++) {
        ask->slot = i;
        if (str_ieq(k->slots[i], str_from(given->text))) return true;
    }
    return err_set(&run->err, ERR_USAGE, "'%s' is no slot of what this fit chooses", given->text);
}

static bool read_ask(Run *run, const OpenJob *o, FitAsk *ask) {
    const OptionValue *given = run->args.options;
    *ask = (FitAsk){.fit = which_fit(run, o)};
    if (!ask->fit) return false;
    if (given[FIT_HOLD].given && ask->fit->item == CLASS_NONE)
        return err_set(&run->err, ERR_USAGE, "this fit chooses no items, so there is none to hold");
    return read_places(run, o, &given[FIT_HOLD], ask->fit, &ask->held) &&
           read_places(run, o, &given[FIT_ONLY], ask->fit, &ask->only) && read_sets(run, o, ask) &&
           read_slot(run, o, ask);
}

static bool say_too_many(Run *run, const FitAnswer *f) {
    size_t columns = f->ask->fit->item == CLASS_NONE ? f->places : f->candidates;
    if (f->stacks.count == 0)
        return err_set(&run->err, ERR_LIMIT,
                       "a fit can tell %d sizes of %.*s apart, and the stock has more: leave out "
                       "those that will not be used",
                       FIT_THICKNESSES, STR_ARG(f->job->vocab->tags[f->ask->fit->adjust].name));
    if (columns * f->places * f->stacks.count <= FIT_COMBINATIONS)
        return err_set(&run->err, ERR_LIMIT,
                       "a fit can tell %d limits apart, and %u bear on it: fit fewer places at "
                       "once (--only)",
                       FIT_LIMITS, f->limits);
    return err_set(&run->err, ERR_LIMIT,
                   "%u places, %zu to choose from and %zu stacks make more than the %d million "
                   "combinations that can be worked out: fit fewer places at once (--only), or "
                   "leave out sizes",
                   f->places, columns, f->stacks.count, FIT_COMBINATIONS / 1000000);
}

/* Why there is nothing to solve, and what to do. */
static bool say_trouble(Run *run, const OpenJob *o, const FitAnswer *f) {
    const Vocab *v = o->job->vocab;
    const Fit *fit = f->ask->fit;
    Str place = v->classes[fit->place].name;
    Str item = fit->item == CLASS_NONE ? str_none : v->classes[fit->item].name;
    Str aim = fit->aim == TAG_NONE ? STR("TAG") : v->tags[fit->aim].name;
    Str at = subject_name(o->job, f->at, run->arena);
    Str line = say_place(run->arena, o->job->sources[f->line_source], f->line_off);
    switch (f->trouble) {
    case FIT_FINE: return true;
    case FIT_NO_PLACES:
        return err_set(&run->err, ERR_USAGE, "%s has no %.*s: does it say its layout?",
                       o->target.path, STR_ARG(place));
    case FIT_NO_ITEMS:
        return err_set(&run->err, ERR_USAGE, "%s has no %.*s that is free to choose",
                       o->target.path, STR_ARG(item));
    case FIT_NO_STOCK:
        return err_set(&run->err, ERR_USAGE, "%s says no sizes to choose from: write '%.*s = ...'",
                       o->target.path,
                       STR_ARG(fit->stock == TAG_NONE ? place : v->tags[fit->stock].name));
    case FIT_STOCK_UNREAD:
        return err_set(&run->err, ERR_USAGE,
                       "'%.*s' cannot be read in %.*s, so what there is to choose from is not "
                       "known: mend the line (thou check %s), or strike it with x",
                       STR_ARG(v->tags[fit->stock].name), STR_ARG(line), o->target.path);
    case FIT_HELD:
        return err_set(&run->err, ERR_USAGE, "no %.*s that is free sits at %.*s, so none can stay",
                       STR_ARG(item), STR_ARG(at));
    case FIT_MANY_SIT:
        return err_set(&run->err, ERR_USAGE,
                       "more than one %.*s can sit at %.*s, and one is chosen at a time: say which "
                       "with --slot; the other stays where it is",
                       STR_ARG(item), STR_ARG(at));
    case FIT_TOO_MANY: return say_too_many(run, f);
    case FIT_NO_MEASURE:
        return err_set(&run->err, ERR_USAGE,
                       "%s has neither a limit nor an aim to choose by: write one, as 'aim %.*s = "
                       "...' or 'limit %.*s = ... by shop'",
                       o->target.path, STR_ARG(aim), STR_ARG(aim));
    case FIT_UNKNOWN:
        return err_set(
            &run->err, ERR_USAGE,
            "nothing can be foretold for this fit: %.*s is missing or in doubt in %s%s",
            STR_ARG(f->missing == TAG_NONE ? aim : v->tags[f->missing].name), o->target.path,
            f->missing == fit->adjust && fit->adjust != TAG_NONE ? "; write 0 where there is none"
                                                                 : "");
    }
    return true;
}

/* The day of the entry: today, or the last entry's where that is later. */
static Date entry_day(const Job *j) {
    time_t now = time(NULL);
    struct tm t;
    localtime_r(&now, &t);
    char text[32];
    if (!strftime(text, sizeof text, "%Y-%m-%d", &t)) text[0] = '\0';
    Date day;
    size_t len;
    if (date_read(str_from(text), &day, &len) != DATE_OK) day = (Date){0, -1};
    for (uint32_t i = 0; i < j->entry_count; i++) {
        if (j->entries[i].date.day > day.day) day.day = j->entries[i].date.day;
    }
    return day;
}

static ExitCode show(Run *run, OpenJob *o, const FitAnswer *f) {
    const OptionValue *given = run->args.options;
    Str lines = fit_lines(f, entry_day(o->job), run->arena);
    FitShow how = {.width = (int)run->out.width,
                   .colour = run->out.colour,
                   .system = units_asked(&given[FIT_UNITS]),
                   .lines = lines};
    if (given[FIT_JSON].given)
        fit_json(&run->out.buf, f);
    else
        fit_text(&run->out.buf, f, &how);
    if (f->whole_broken && given[FIT_APPEND].given) {
        err_set(&run->err, ERR_USAGE,
                "what was found breaks a limit on all places together: nothing was written to %s",
                o->target.path);
        return EXIT_TROUBLE;
    }
    if (!f->result.choice || f->whole_broken) return EXIT_FINDINGS;
    if (given[FIT_APPEND].given && !fit_append(run, o, f, lines)) return EXIT_TROUBLE;
    return EXIT_FINE;
}

static ExitCode run_fit(Run *run) {
    const OptionValue *given = run->args.options;
    OpenJob o;
    FitAsk ask;
    FitAnswer answer;
    if (given[FIT_APPEND].given && given[FIT_AT].given) {
        err_set(&run->err, ERR_USAGE,
                "--append adds to the log's end, so it does not go with --at");
        return EXIT_TROUBLE;
    }
    ExitCode code = open_job(run, run->args.words[0], &given[FIT_AT], &o);
    if (code != EXIT_FINE) return code;
    if (!read_ask(run, &o, &ask)) return EXIT_TROUBLE;
    if (!fit_job(eval_state(o.eval), &ask, run->arena, &answer, &run->err)) return EXIT_TROUBLE;
    if (!say_trouble(run, &o, &answer)) return EXIT_TROUBLE;
    if (answer.result.status == FIT_GAVE_UP) {
        err_set(&run->err, ERR_LIMIT,
                "the search was given up before anything was found: hold some places or choose "
                "fewer at once (--hold, --only)");
        return EXIT_TROUBLE;
    }
    return show(run, &o, &answer);
}

const Command command_fit = {
    .name = "fit",
    .arguments = "JOB [WHAT]",
    .summary = "which spring goes to which valve over which shims, and other such choices",
    .help =
        "Chooses, from what was measured, what goes where, so that every limit of every author\n"
        "holds and the aim is met as nearly as can be. WHAT is a fit of the vocabulary: springs\n"
        "(the first the log has items for when none is said), pistons, main shells, rod shells,\n"
        "piston weights, rod weights, gasket, or one of shop.vocab. Shows what there is, what\n"
        "would be best, its margins, and the lines for the log. Ends with 1 when nothing fits.\n",
    .options = fit_options,
    .option_count = FIT_OPTIONS,
    .least = 1,
    .most = -1,
    .run = run_fit,
};
