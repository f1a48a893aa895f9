/* thou diff: what differs, reading by reading. */
#include "show/diff.h"

#include "cli/open_job.h"

enum { OPT_KEPT, OPT_COMPUTED, OPT_ALL, OPT_JSON, OPT_CSV, OPT_COUNT };
static const Option diff_options[OPT_COUNT] = {
    [OPT_KEPT] = {"kept", 0, OPTION_FLAG, NULL,
                  "JOB@DATE is the log as it was kept by the end of that day"},
    [OPT_COMPUTED] = {"computed", 0, OPTION_FLAG, NULL,
                      "every computed value that differs, not only those with a limit"},
    [OPT_ALL] = {"all", 0, OPTION_FLAG, NULL, "also what is the same, or in one of them only"},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "the same rows for a spreadsheet"},
};

static bool same_log(const LogState *a, const LogState *b, bool kept) {
    bool past[] = {a->when.n && (!a->dated || kept), b->when.n && (!b->dated || kept)};
    return strcmp(a->job, b->job) == 0 && past[0] == past[1] &&
           (!past[0] || str_eq(a->when, b->when));
}

/* What a lone argument is compared with: a stage with what stood before it, any other state with
 * the file, the file with the last record. */
static void complete(const LogState *one, LogState state[2]) {
    state[0] = state[1] = *one;
    if (one->stage.n) return;
    state[1].when = (Str){0};
    state[1].dated = false;
    if (!one->when.n) state[0].when = STR("last");
}

static ExitCode before_stage(Run *run, OpenJob *a, const OpenJob *b) {
    *a = *b;
    if (b->before == UINT32_MAX) {
        err_set(&run->err, ERR_USAGE, "%.*s begins with '%.*s': there is nothing before it",
                STR_ARG(b->job->name), STR_ARG(b->asked.stage));
        return EXIT_TROUBLE;
    }
    a->eval = eval_new(state_after(b->job, b->before, run->arena), run->arena);
    a->said = arena_printf(run->arena, "%.*s before '%.*s'", STR_ARG(b->job->name),
                           STR_ARG(b->asked.stage));
    return EXIT_FINE;
}

/* Two states of one text are two states of one job, so that a reading can be told from another
 * that only says the same. */
static ExitCode open_both(Run *run, OpenJob o[2]) {
    LogState state[2];
    bool kept = run->args.options[OPT_KEPT].given, lone = run->args.count == 1;
    if (!log_state_read(run, run->args.words[0], &state[0])) return EXIT_TROUBLE;
    if (lone)
        complete(&state[0], state);
    else if (!log_state_read(run, run->args.words[1], &state[1]))
        return EXIT_TROUBLE;
    o[0].until = o[1].until = INT32_MAX;
    ExitCode code = open_job_state(run, &state[1], kept, &o[1]);
    if (code != EXIT_FINE) return code;
    if (lone && state[0].stage.n) return before_stage(run, &o[0], &o[1]);
    if (!same_log(&state[0], &state[1], kept)) return open_job_state(run, &state[0], kept, &o[0]);
    o[0] = o[1];
    return open_job_again(run, &state[0], &o[0]);
}

static ExitCode run_diff(Run *run) {
    const OptionValue *given = run->args.options;
    OpenJob o[2] = {0};
    if (given[OPT_JSON].given && given[OPT_CSV].given) {
        err_set(&run->err, ERR_USAGE, "--json and --csv are two answers: ask for one of them");
        return EXIT_TROUBLE;
    }
    ExitCode code = open_both(run, o);
    if (code != EXIT_FINE) return code;
    if (o[0].job->vocab != o[1].job->vocab) {
        err_set(&run->err, ERR_USAGE,
                "'%s' and '%s' are of two books: they may mean two things by "
                "one word",
                run->args.words[0], run->args.words[run->args.count - 1]);
        return EXIT_TROUBLE;
    }
    Compare c = compare_states(o[0].eval, o[1].eval, run->arena);
    DiffOptions how = {.name = {o[0].said, o[1].said},
                       .all = given[OPT_ALL].given,
                       .computed = given[OPT_COMPUTED].given,
                       .width = (int)run->out.width,
                       .colour = run->out.colour};
    if (given[OPT_JSON].given)
        diff_json(&run->out.buf, &c, o[0].eval, o[1].eval, &how);
    else if (given[OPT_CSV].given)
        diff_csv(&run->out.buf, &c, o[0].eval, o[1].eval, &how);
    else
        diff_text(&run->out.buf, &c, o[0].eval, o[1].eval, &how);
    return diff_any(&c) ? EXIT_FINE : EXIT_FINDINGS;
}

const Command command_diff = {
    .name = "diff",
    .arguments = "A [B]",
    .summary = "what differs between two states of a log, or two jobs, reading by reading",
    .help = "A and B each name a state of a log:\n"
            "  26-014                 as the file stands\n"
            "  26-014@2026-03-05      as the engine stood at the end of that day, by the log\n"
            "  26-014@2026-03-02T14:00\n"
            "  26-014@1a2b3c4d        as it was kept (thou past lists the records)\n"
            "  26-014:teardown        at the end of that stage\n"
            "Without B a stage is compared with what stood before it, any other state of the\n"
            "past with the file, and the file with the last record.\n"
            "\n"
            "Places are compared by their names, springs and other items by their numbers\n"
            "wherever they sit by now; between jobs of two sets, what sits at the same place.\n"
            "Loads and other curves are compared at equal conditions: where one of them was not\n"
            "read there, its own curve is asked, and marked ^. Computed values that a limit is\n"
            "set on are marked =. Notes do not count. Both are read with today's vocabulary and\n"
            "cards. Ends with 1 when nothing differs.\n",
    .options = diff_options,
    .option_count = OPT_COUNT,
    .least = 1,
    .most = 2,
    .run = run_diff,
};
