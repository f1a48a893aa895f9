/* thou why: the working behind one value. */
#include "show/why.h"

#include "cli/open_job.h"

enum { OPT_AT, OPT_UNITS, OPT_COUNT };
static const Option why_options[OPT_COUNT] = {
    [OPT_AT] = AT_ROW,
    [OPT_UNITS] = UNITS_ROW,
};

/* All words behind the job, as if they had been quoted. */
static Str joined(Run *run) {
    Str text = {0};
    for (int i = 1; i < run->args.count; i++)
        text = arena_printf(run->arena, "%.*s%s%s", STR_ARG(text), i > 1 ? " " : "",
                            run->args.words[i]);
    return text;
}

static bool find_subjects(Run *run, OpenJob *o, TagId id, Str text, SubjectList *out) {
    const Tag *tag = &o->job->vocab->tags[id];
    const Class *cls = &o->job->vocab->classes[tag->of];
    if (!open_job_places(run, o, tag->of)) return false;
    if (text.n && !job_subjects(o->job, tag->of, text, out))
        return err_set(&run->err, ERR_USAGE,
                       "'%.*s' is no place or item that %s has for '%.*s' (it is read on the %.*s)",
                       STR_ARG(text), o->target.path, STR_ARG(tag->name), STR_ARG(cls->name));
    if (text.n == 0) *out = o->job->classes[tag->of];
    if (out->count) return true;
    return err_set(&run->err, ERR_USAGE,
                   "%s has no %.*s to show '%.*s' of: does it say its layout?", o->target.path,
                   STR_ARG(cls->name), STR_ARG(tag->name));
}

/* The nearest name: of all words, then without the last ones, which may be the subject. */
static Str near_name(Run *run, const Vocab *v, Str words) {
    Str near = vocab_near(v, words, run->arena);
    while (near.n == 0 && words.n) {
        while (words.n && !is_blank(words.p[words.n - 1]))
            words.n--;
        words = str_trim(words);
        if (words.n) near = vocab_near(v, words, run->arena);
    }
    return near;
}

static ExitCode run_why(Run *run) {
    const OptionValue *given = run->args.options;
    OpenJob o;
    ExitCode code = open_job(run, run->args.words[0], &given[OPT_AT], &o);
    if (code != EXIT_FINE) return code;
    Str words = joined(run), subject;
    TagId id = vocab_match(o.job->vocab, words, &subject);
    if (id == TAG_NONE) {
        Str near = near_name(run, o.job->vocab, words);
        err_set(&run->err, ERR_USAGE, "the vocabulary has no quantity '%.*s'%.*s", STR_ARG(words),
                STR_ARG(near));
        return EXIT_TROUBLE;
    }
    SubjectList subjects = {0};
    if (!find_subjects(run, &o, id, subject, &subjects)) return EXIT_TROUBLE;
    for (uint32_t i = 0; i < subjects.count; i++) {
        if (i) buf_putc(&run->out.buf, '\n');
        why_text(&run->out.buf, o.eval, id, subjects.ids[i], units_asked(&given[OPT_UNITS]),
                 (int)run->out.width);
        out_settle(&run->out);
    }
    return open_job_exit(&o);
}

const Command command_why = {
    .name = "why",
    .arguments = "JOB TAG [SUBJECT]",
    .summary = "shows the working of a value, down to the readings it rests on",
    .help = "Shows the formula, each input with its file and line, the units, and every limit on\n"
            "the value. TAG and SUBJECT need no quotes: thou why 26-014 bind clearance I3.\n"
            "Without a SUBJECT every place that has the quantity is shown.\n",
    .options = why_options,
    .option_count = OPT_COUNT,
    .least = 2,
    .most = -1,
    .run = run_why,
};
