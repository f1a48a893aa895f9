/* thou new: a job log from the template. It creates a file, and never writes over one. */
#include "book/template.h"

#include "book/plan.h"
#include "cli/shelf.h"
#include "show/paper.h"
#include <time.h>

/* Behind OPT_LIKE: words of the template, under the names they have there. */
enum {
    OPT_LIKE,
    OPT_DAY,
    OPT_LAYOUT,
    OPT_CYLINDERS,
    OPT_VALVES,
    OPT_WORDS,
    OPT_PAPER = OPT_WORDS,
    OPT_COUNT
};
static const Option new_options[OPT_COUNT] = {
    [OPT_LIKE] = {"like", 0, OPTION_WORD, "JOB", "the same kind of engine as that job's"},
    [OPT_DAY] = {"day", 0, OPTION_DATE, "DATE", "the first entry's day; else today"},
    [OPT_LAYOUT] = {"layout", 0, OPTION_WORD, "WORD", "inline, V or flat"},
    [OPT_CYLINDERS] = {"cylinders", 0, OPTION_COUNT, "N", "how many"},
    [OPT_VALVES] = {"valves", 0, OPTION_COUNT, "N", "how many a cylinder has; 2 unless said"},
    [OPT_PAPER] = {"paper", 0, OPTION_FLAG, NULL, "the measuring form, to print; writes no log"},
};

static Str today(Arena *a) {
    time_t now = time(NULL);
    struct tm t;
    localtime_r(&now, &t);
    return arena_printf(a, "%04d-%02d-%02d", t.tm_year + 1900, t.tm_mon + 1, t.tm_mday);
}

static bool read_like(Run *run, Book *b, Str *out) {
    const OptionValue *like = &run->args.options[OPT_LIKE];
    Target old;
    if (!like->given) return true;
    for (int i = OPT_LAYOUT; i < OPT_WORDS; i++) {
        if (run->args.options[i].given)
            return err_set(&run->err, ERR_USAGE,
                           "--like and --%s both say what engine it is: "
                           "leave one out",
                           new_options[i].name);
    }
    return shelf_target(run, like->text, &old) &&
           template_head(b, old.path, run->arena, out, &run->err);
}

static bool fill(Run *run, Book *b, Str name, Str *text, bool *rows) {
    TemplateWord words[OPT_WORDS + 2] = {{STR("job"), name}};
    unsigned count = 1;
    for (int i = 0; i < OPT_WORDS; i++) {
        TemplateWord *w = &words[count++];
        *w = (TemplateWord){str_from(new_options[i].name), str_from(run->args.options[i].text)};
        if (i == OPT_DAY && !w->text.n) w->text = today(run->arena);
        bool sized = run->args.options[OPT_CYLINDERS].given;
        if (i == OPT_VALVES && sized && !w->text.n) w->text = STR("2"); /* written into the log */
        if (i == OPT_LIKE) {
            w->text = (Str){0};
            if (!read_like(run, b, &w->text)) return false;
        }
    }
    Source from;
    return template_of(b, run->arena, &from, &run->err) &&
           template_fill(b, &from, words, count, run->arena, text, rows, &run->err);
}

static Str form_title(const Job *j, Str name, Arena *a) {
    TagId tag = j->vocab->roles[ROLE_TITLE];
    const Reading *title = tag == TAG_NONE ? NULL : job_fact(j, tag);
    Str text = title ? reading_text(j, title) : STR("Measuring form");
    return arena_printf(a, "%.*s  %.*s", STR_ARG(name), STR_ARG(text));
}

static void no_places(Run *run, bool there, Str name) {
    if (there)
        err_set(&run->err, ERR_USAGE,
                "a form has boxes for the places, and the log '%.*s' does not say how many there "
                "are: write into it `layout = `, `cylinders = ` and `valves per cylinder = `",
                STR_ARG(name));
    else
        err_set(&run->err, ERR_USAGE,
                "a form has boxes for the places, and nothing says how many places there are: "
                "there is no log '%.*s'. Say it, as in thou new %.*s --paper --layout inline "
                "--cylinders 4, or name a log of the same kind of engine with --like",
                STR_ARG(name), STR_ARG(name));
}

/* For the log that is there, else for the one that would be made. */
static ExitCode print_form(Run *run, Book *b, const char *path, Str name) {
    bool rows, there = file_exists(path);
    Source log = {.path = str_from(path)};
    Plan plan;
    if (!book_need_vocab(b, &run->err)) return EXIT_TROUBLE;
    if (there ? !file_read(run->arena, path, &log.text, NULL, &run->err)
              : !fill(run, b, name, &log.text, &rows))
        return EXIT_TROUBLE;
    BookDoor through = {.book = b, .arena = run->arena};
    Door door = book_door(&through);
    PlanAsk ask = {.blank = true};
    if (!plan_make(book_vocab(b), &log, &door, &ask, run->arena, &plan, &run->err))
        return EXIT_TROUBLE;
    uint32_t places = 0;
    for (uint32_t i = 0; i < plan.count; i++)
        places += plan.grids[i].row_count;
    if (!places) {
        no_places(run, there, name);
        return EXIT_TROUBLE;
    }
    paper_text(&run->out.buf, &plan, form_title(plan.job, name, run->arena));
    return EXIT_FINE;
}

static ExitCode run_new(Run *run) {
    Book *b;
    Str text, name = str_from(run->args.words[0]);
    bool rows;
    if (!shelf_need_book(run, &b)) return EXIT_TROUBLE;
    const char *path = book_job_path(b, name, run->arena);
    if (!path) {
        err_set(&run->err, ERR_USAGE, "'%s' can be no job's name: no slash, no dot in front",
                run->args.words[0]);
        return EXIT_TROUBLE;
    }
    if (run->args.options[OPT_PAPER].given) return print_form(run, b, path, name);
    if (file_exists(path)) {
        err_set(&run->err, ERR_USAGE, "the job '%s' is there already (%s)", run->args.words[0],
                path);
        return EXIT_TROUBLE;
    }
    if (!book_need_vocab(b, &run->err)) return EXIT_TROUBLE;
    if (!fill(run, b, name, &text, &rows) ||
        !file_mkdirs(book_folder_of(path, run->arena), &run->err) ||
        !file_write(path, text, NULL, &run->err))
        return EXIT_TROUBLE;
    buf_printf(&run->out.buf, "%s\n", path);
    if (!rows)
        complain("it has no rows for places, since nothing said how many there are: --layout, "
                 "--cylinders and --valves do, or --like JOB");
    return EXIT_FINE;
}

const Command command_new = {
    .name = "new",
    .arguments = "JOB",
    .summary = "begins a log, with a row for each place of the engine it is told of",
    .help = "Writes jobs/JOB.job in the book from a template and says its path. A file that is\n"
            "there already is never touched. The book may have a template of its own, a file\n"
            "template.job; format/template.job in the program's source is the built-in one and\n"
            "says how it works. How many places there are --layout, --cylinders and --valves\n"
            "say, or --like; told none of it, the log has a header and no rows.\n\n"
            "With --paper nothing is written: the measuring form comes out, boxes in the order\n"
            "in which thou fill asks, 80 columns and 60 lines a page. It is for the engine of\n"
            "the log JOB where that is there (thou new 26-014 --paper | lp); else it has to be\n"
            "told of the engine in the same way, and without that there is no form.\n",
    .options = new_options,
    .option_count = OPT_COUNT,
    .least = 1,
    .most = 1,
    .run = run_new,
};
