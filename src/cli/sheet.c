/* thou sheet: the build sheet of a job. */
#include "show/sheet.h"

#include "base/file.h"
#include "cli/open_job.h"
#include <string.h>

enum { OPT_AT, OPT_UNITS, OPT_FOR, OPT_HTML, OPT_JSON, OPT_CSV, OPT_COUNT };
static const Option sheet_options[OPT_COUNT] = {
    [OPT_AT] = AT_ROW,
    [OPT_UNITS] = UNITS_ROW,
    [OPT_FOR] = {"for", 0, OPTION_CHOICE, "owner|shop",
                 "owner: no remarks, no struck readings, only notes that begin with owner:"},
    [OPT_HTML] = {"html", 0, OPTION_WORD, "FILE", "as a page to read, print or mail; - for stdout"},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "the same rows for a spreadsheet"},
};

/* A page of ours may be made anew; anything else in its place may be somebody's only copy. */
static bool is_our_page(Run *run, const char *path, FileStamp *was) {
    Str text;
    if (!file_read(run->arena, path, &text, was, &run->err)) return false;
    Str head = {text.p, text.n < 500 ? text.n : 500};
    if (str_find(head, STR("<meta name=\"generator\" content=\"thou sheet\">"), 0) != SIZE_MAX)
        return true;
    return err_set(&run->err, ERR_USAGE,
                   "'%s' is there already and is no page that thou sheet wrote: nothing was "
                   "written; give another name, or move it away",
                   path);
}

/* Whole or not at all: the page goes to a temporary file first. */
static bool write_page(Run *run, const char *path, Str page) {
    FileStamp was;
    if (!file_exists(path)) return file_write(path, page, NULL, &run->err);
    return is_our_page(run, path, &was) && file_write(path, page, &was, &run->err);
}

static bool put_page(Run *run, const OpenJob *o, const SheetOptions *how, const char *path) {
    if (strcmp(path, "-") == 0) {
        sheet_page(&run->out.buf, o->eval, how);
        return true;
    }
    Buf page = {0};
    sheet_page(&page, o->eval, how);
    bool ok = page.failed ? err_set(&run->err, ERR_LIMIT, "there is no memory for the page")
                          : write_page(run, path, buf_str(&page));
    buf_release(&page);
    return ok;
}

static ExitCode run_sheet(Run *run) {
    const OptionValue *given = run->args.options;
    bool for_owner = given[OPT_FOR].given && given[OPT_FOR].number == 0;
    OpenJob o;
    if (given[OPT_JSON].given + given[OPT_CSV].given + given[OPT_HTML].given > 1) {
        err_set(&run->err, ERR_USAGE,
                "--html, --json and --csv are different answers: ask for one of them");
        return EXIT_TROUBLE;
    }
    /* their rows carry what the owner is not to see, and a program would not notice its lack */
    if (for_owner && (given[OPT_JSON].given || given[OPT_CSV].given)) {
        err_set(&run->err, ERR_USAGE,
                "--json and --csv give every reading, for the shop: --for owner goes with the "
                "text and with --html");
        return EXIT_TROUBLE;
    }
    ExitCode code = open_job(run, run->args.words[0], &given[OPT_AT], &o);
    if (code != EXIT_FINE) return code;
    SheetOptions how = {.system = units_asked(&given[OPT_UNITS]),
                        .until = o.until,
                        .width = (int)run->out.width,
                        .colour = run->out.colour,
                        .for_owner = for_owner};
    if (given[OPT_HTML].given) {
        if (!put_page(run, &o, &how, given[OPT_HTML].text)) return EXIT_TROUBLE;
    } else if (given[OPT_JSON].given)
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
