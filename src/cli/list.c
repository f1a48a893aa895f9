/* thou list: the jobs of the book and how each stands. */
#include "cli/list.h"

#include "compute/job.h"
#include "show/table.h"

enum { OPT_BY, OPT_JSON, OPT_CSV, OPT_COUNT };
static const Option list_options[OPT_COUNT] = {
    [OPT_BY] = {"by", 0, OPTION_CHOICE, "last|job|engine|owner|run|findings",
                "what comes first: the newest entry (else), the name, ..."},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "a line a job, for a spreadsheet"},
};

/* ---- order -------------------------------------------------------------------------------------
 */

static int down(double a, double b) {
    return a < b ? 1 : a > b ? -1 : 0;
}

static int by_job(const void *a, const void *b) {
    return str_cmp(((const ListRow *)a)->name, ((const ListRow *)b)->name);
}

static int by_last(const void *a, const void *b) {
    const ListRow *x = a, *y = b;
    int order = down(x->last, y->last);
    return order ? order : by_job(a, b);
}

/* Those without a text come last. */
static int up_text(Str a, Str b) {
    if (!a.n || !b.n) return (a.n == 0) - (b.n == 0);
    return str_cmp(a, b);
}

static int by_engine(const void *a, const void *b) {
    int order = up_text(((const ListRow *)a)->engine, ((const ListRow *)b)->engine);
    return order ? order : by_last(a, b);
}

static int by_owner(const void *a, const void *b) {
    int order = up_text(((const ListRow *)a)->owner, ((const ListRow *)b)->owner);
    return order ? order : by_last(a, b);
}

static int by_run(const void *a, const void *b) {
    int order = down(((const ListRow *)a)->run_si, ((const ListRow *)b)->run_si);
    return order ? order : by_last(a, b);
}

static int by_findings(const void *a, const void *b) {
    const ListRow *x = a, *y = b;
    int order = down(x->err.kind != ERR_NONE, y->err.kind != ERR_NONE);
    if (!order) order = down(x->errors, y->errors);
    if (!order) order = down(x->warnings, y->warnings);
    return order ? order : by_last(a, b);
}

static void sort(Run *run, List *l) {
    static int (*const orders[])(const void *, const void *) = {
        by_last, by_job, by_engine, by_owner, by_run, by_findings}; /* as in OPT_BY's words */
    const OptionValue *by = &run->args.options[OPT_BY];
    qsort(l->rows, l->count, sizeof *l->rows, orders[by->given ? by->number : 0]);
}

/* ---- rows for other programs -------------------------------------------------------------------
 */

static Str day_text(Arena *a, int32_t day) {
    char text[DATE_TEXT];
    if (day == DAY_NONE) return (Str){0};
    return arena_str(a, str_from(date_text((Date){day, -1}, text)));
}

static Str count_text(Arena *a, const ListRow *row, uint32_t n) {
    return row->err.kind ? str_none : arena_printf(a, "%u", n);
}

static Table *table_of(const List *l, Arena *a) {
    static const TableColumn columns[] = {{.key = "job"},
                                          {.key = "file"},
                                          {.key = "title"},
                                          {.key = "engine"},
                                          {.key = "owner"},
                                          {.key = "stage"},
                                          {.key = "first"},
                                          {.key = "last"},
                                          {.key = "run.value", .json = JSON_NUMBER},
                                          {.key = "run.unit"},
                                          {.key = "errors", .json = JSON_NUMBER},
                                          {.key = "warnings", .json = JSON_NUMBER}};
    enum { COLUMNS = sizeof columns / sizeof *columns };
    Table *t = table_new(a);
    for (unsigned c = 0; c < COLUMNS; c++)
        table_column(t, columns[c]);
    for (uint32_t i = 0; i < l->count; i++) {
        const ListRow *r = &l->rows[i];
        const Str cells[COLUMNS] = {r->name,
                                    str_from(r->path),
                                    r->title,
                                    r->engine,
                                    r->owner,
                                    r->stage,
                                    day_text(a, r->first),
                                    day_text(a, r->last),
                                    r->run,
                                    r->run_unit,
                                    count_text(a, r, r->errors),
                                    count_text(a, r, r->warnings)};
        uint32_t row = table_row(t);
        for (uint32_t c = 0; c < COLUMNS; c++)
            table_put(t, row, c, cells[c], TONE_PLAIN);
    }
    return t;
}

/* ---- the command -------------------------------------------------------------------------------
 */

static ExitCode say_list(Run *run, const List *l) {
    ExitCode code = EXIT_FINE;
    for (uint32_t i = 0; i < l->count; i++) {
        if (!l->rows[i].err.kind) continue;
        complain("%s", l->rows[i].err.text);
        code = EXIT_TROUBLE;
    }
    if (run->args.options[OPT_JSON].given)
        table_json(&run->out.buf, table_of(l, run->arena));
    else if (run->args.options[OPT_CSV].given)
        table_csv(&run->out.buf, table_of(l, run->arena));
    else
        list_text(&run->out.buf, l, run->out.width, run->out.colour);
    return code;
}

static ExitCode run_list(Run *run) {
    Book *b;
    BookFiles jobs;
    if (!shelf_need_book(run, &b) || !book_jobs(b, run->arena, &jobs, &run->err))
        return EXIT_TROUBLE;
    if (!book_need_vocab(b, &run->err)) return EXIT_TROUBLE;
    if (!jobs.count) {
        complain("this book has no jobs yet: thou new JOB begins one");
        return EXIT_FINDINGS;
    }
    List list;
    list_read(b, &jobs, &list, run->arena);
    sort(run, &list);
    ExitCode code = say_list(run, &list);
    list_free(&list);
    return code;
}

const Command command_list = {
    .name = "list",
    .arguments = "",
    .summary = "the jobs of the book and how each stands",
    .help = "Reads and checks every job of the book and says how each stands: the day of its\n"
            "last entry, how long the engine ran as the log leaves it, how many findings\n"
            "thou check has about it, the engine and its owner. The newest come first.\n\n"
            "On a narrow terminal a job takes two lines. Findings do not change how the\n"
            "command ends; a log that cannot be read does: with 2.\n",
    .options = list_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = 0,
    .run = run_list,
};
