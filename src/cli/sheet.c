/* thou sheet: the build sheet of a job. */
#include "show/sheet.h"

#include "cli/open_job.h"

enum { OPT_AT, OPT_UNITS, OPT_JSON, OPT_CSV, OPT_COUNT };
static const Option sheet_options[OPT_COUNT] = {
    [OPT_AT] = AT_ROW,
    [OPT_UNITS] = UNITS_ROW,
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "the same rows for a spreadsheet"},
};

static ExitCode run_sheet(Run *run) {
    const OptionValue *given = run->args.options;
    OpenJob o;
    if (given[OPT_JSON].given && given[OPT_CSV].given) {
        err_set(&run->err, ERR_USAGE, "--json and --csv are two answers: ask for one of them");
        return EXIT_TROUBLE;
    }
    ExitCode code = open_job(run, run->args.words[0], &given[OPT_AT], &o);
    if (code != EXIT_FINE) return code;
    SheetOptions how = {.system = units_asked(&given[OPT_UNITS]),
                        .until = o.until,
                        .width = (int)run->out.width,
                        .colour = run->out.colour};
    if (given[OPT_JSON].given)
        sheet_json(&run->out.buf, o.eval, &how);
    else if (given[OPT_CSV].given)
        sheet_csv(&run->out.buf, o.eval, &how);
    else
        sheet_text(&run->out.buf, o.eval, &how);
    return open_job_exit(&o);
}

const Command command_sheet = {
    .name = "sheet",
    .arguments = "JOB",
    .summary = "the build sheet: what was read and computed, place by place",
    .help =
        "Shows the header, a table for each kind of place, every limit with its margin and who\n"
        "set it, and what is missing. Doubted and struck readings are marked. Ends with 1\n"
        "when lines of the log could not be read: they are not on the sheet.\n",
    .options = sheet_options,
    .option_count = OPT_COUNT,
    .least = 1,
    .most = 1,
    .run = run_sheet,
};
