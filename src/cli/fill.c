/* thou fill: readings asked for at the bench, kept at once, appended to the log in the end. */
#include "cli/fill.h"

#include "base/pattern.h"
#include <time.h>

static const Option fill_options[FILL_OPTIONS] = {
    [FILL_BY] = {"by", 0, OPTION_WORD, "WHO", "who measures, written into the entry"},
    [FILL_WITH] = {"with", 0, OPTION_WORD, "GAUGE", "what is measured with, likewise"},
    [FILL_SET] = {"set", 0, OPTION_WORD, "NAME", "the set of the springs, pistons or other items"},
    [FILL_DAY] = {"day", 0, OPTION_DATE, "DATE", "the day of the entry; else now"},
    [FILL_FROM] = {"from", 0, OPTION_WORD, "FILE", "a gauge that types: a serial device, a file"},
    [FILL_PATTERN] = {"pattern", 0, OPTION_WORD, "TEXT", "how its lines look: 'ID ... VALUE UNIT'"},
    [FILL_SPEED] = {"speed", 0, OPTION_CHOICE, "1200|2400|4800|9600|19200|38400|57600|115200",
                    "of a serial line"},
    [FILL_CSV] = {"csv", 0, OPTION_WORD, "FILE",
                  "rows of a tester or spreadsheet, to be looked at"},
    [FILL_APPEND] = {"append", 0, OPTION_FLAG, NULL, "with --csv: writes it to the log"},
    [FILL_MAP] = {"map", 0, OPTION_WORD, "NAME", "imports/NAME.map says what its columns are"},
    [FILL_SEPARATOR] = {"separator", 0, OPTION_CHOICE, "comma|semicolon|tab", "of its columns"},
    [FILL_DECIMAL] = {"decimal", 0, OPTION_CHOICE, "point|comma",
                      "the decimal mark of its numbers"},
};

Str fill_when(Run *run) {
    const OptionValue *day = &run->args.options[FILL_DAY];
    char text[DATE_TEXT];
    if (day->given) return arena_printf(run->arena, "%s", date_text(day->date, text));
    time_t now = time(NULL);
    struct tm t;
    localtime_r(&now, &t);
    return arena_printf(run->arena, "%04d-%02d-%02d %02d:%02d", t.tm_year + 1900, t.tm_mon + 1,
                        t.tm_mday, t.tm_hour, t.tm_min);
}

static Str joined_words(Run *run) {
    Str text = {0};
    for (int i = 1; i < run->args.count; i++)
        text = arena_printf(run->arena, "%.*s%s%s", STR_ARG(text), i > 1 ? " " : "",
                            run->args.words[i]);
    return text;
}

/* "Heights, bores": the grids that something is asked of. */
static Str titles(Fill *f) {
    Str text = {0};
    uint32_t last = UINT32_MAX, n = 0;
    for (uint32_t i = 0; i < f->bench.count; i++) {
        uint32_t grid = f->bench.cells[i].grid;
        if (grid == last) continue;
        last = grid;
        if (++n > 3) return STR("Measured at the bench");
        text = arena_printf(f->run->arena, "%.*s%s%.*s", STR_ARG(text), n > 1 ? ", " : "",
                            STR_ARG(f->plan.grids[grid].title));
    }
    return text;
}

static void add_fact(Fill *f, TagId tag, const OptionValue *value) {
    if (!value->given || tag == TAG_NONE) return;
    Str name = book_vocab(f->book)->tags[tag].name;
    bench_line(&f->bench, arena_printf(f->run->arena, "%.*s = %s", STR_ARG(name), value->text));
}

/* The items that a grid is about: its rows, or what is placed in it. */
static ClassId items_of(const Vocab *v, const PlanGrid *g) {
    if (v->classes[g->rows].kind == CLASS_ITEM) return g->rows;
    for (uint32_t i = 0; i < g->column_count; i++) {
        for (ClassId c = 0; c < v->class_count; c++) {
            const Class *k = &v->classes[c];
            for (uint8_t slot = 0; k->kind == CLASS_ITEM && slot < k->slot_count; slot++)
                if (k->placement[slot] == g->columns[i].tag) return c;
        }
    }
    return CLASS_NONE;
}

static void add_facts(Fill *f) {
    const Vocab *v = book_vocab(f->book);
    const OptionValue *given = f->run->args.options;
    add_fact(f, v->roles[ROLE_BY], &given[FILL_BY]);
    add_fact(f, v->roles[ROLE_WITH], &given[FILL_WITH]);
    for (uint32_t i = 0; i < f->plan.count && given[FILL_SET].given; i++) {
        ClassId items = items_of(v, &f->plan.grids[i]);
        if (items != CLASS_NONE) add_fact(f, v->classes[items].set_tag, &given[FILL_SET]);
    }
}

/* The log as the book sees it, wherever the person stands. */
static Str log_in_book(const Fill *f) {
    const char *folder = book_folder(f->book);
    Str path = str_from(f->path);
    if (!folder) return book_name_of(f->path);
    Str front = str_from(folder);
    if (front.n && str_starts(path, front)) path = str_skip(path, front.n);
    while (str_starts(path, STR("./")) || str_starts(path, STR("/")))
        path = str_skip(path, path.p[0] == '/' ? 1 : 2);
    return path;
}

/* What a new side file begins with; the heading last, so that whoever finds it has it all. */
static void add_start(Fill *f, const PlanAsk *ask) {
    Run *run = f->run;
    Buf b = {0};
    f->bench.heading =
        arena_printf(run->arena, "%.*s  %.*s", STR_ARG(fill_when(run)), STR_ARG(titles(f)));
    buf_printf(&b,
               "; Typed with thou fill and not in the log yet; thou fill %s goes on with it.\n"
               "; log = %.*s\n; ask = %.*s\n; set = %.*s\n",
               f->name, STR_ARG(log_in_book(f)), STR_ARG(ask->what), STR_ARG(ask->set));
    for (uint32_t i = 0; i < f->bench.line_count; i++)
        buf_printf(&b, "; fact = %.*s\n", STR_ARG(f->bench.lines[i]));
    buf_printf(&b, "; heading = %.*s\n", STR_ARG(f->bench.heading));
    f->bench.start = arena_str(run->arena, buf_str(&b));
    buf_release(&b);
}

static void say_resumed(const Kept *kept, const Bench *b) {
    uint32_t n = bench_given(b);
    complain("%u value%s of %.*s %s kept from before: going on with them", n, n == 1 ? "" : "s",
             STR_ARG(kept->heading), n == 1 ? "is" : "are");
    if (kept->cut_off.n)
        complain("the last line there was cut off ('%.*s'): it is asked for again",
                 STR_ARG(kept->cut_off));
}

/* Columns and rows that cannot be asked for, and what would make it possible. */
static void say_unasked(const Fill *f) {
    const Vocab *v = book_vocab(f->book);
    for (uint32_t i = 0; i < f->plan.count; i++) {
        const PlanGrid *g = &f->plan.grids[i];
        if (g->lacks_set)
            complain("%.*s: the log names no set; say it with --set NAME", STR_ARG(g->title));
        for (uint32_t c = 0; c < g->column_count && !g->lacks_set; c++) {
            const Tag *tag = &v->tags[g->columns[c].tag];
            if (tag->has_curve && !g->columns[c].at_text.n &&
                (c == 0 || g->columns[c - 1].at_text.n))
                complain("%.*s: the log does not say at which %.*s; ask for '%.*s @ VALUE %s'",
                         STR_ARG(tag->name), STR_ARG(tag->over_name), STR_ARG(tag->name),
                         tag->over->name);
        }
    }
    Buf b = {0};
    for (uint32_t i = 0; i < f->plan.not_begun_count; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(f->plan.not_begun[i]));
    if (b.n) complain("to be asked for by name: %s", b.p);
    buf_release(&b);
}

static bool make_bench(Fill *f, const char *side, PlanAsk *ask) {
    Run *run = f->run;
    Kept kept;
    if (!kept_open(side, run->arena, &kept, &run->err)) return false;
    f->bench.fd = kept.fd; /* to be let go of, whatever comes */
    if (kept.there && kept.log.n && !str_eq(kept.log, log_in_book(f)))
        return err_set(&run->err, ERR_USAGE,
                       "%s holds values for %.*s: write those first, or move the file away", side,
                       STR_ARG(kept.log));
    if (!ask->what.n) ask->what = kept.ask;
    if (!ask->set.n) ask->set = kept.set;
    BookDoor *through = arena_alloc(run->arena, sizeof *through);
    *through = (BookDoor){.book = f->book, .arena = run->arena};
    Door *door = arena_alloc(run->arena, sizeof *door);
    *door = book_door(through);
    if (!plan_make(book_vocab(f->book), &f->log, door, ask, run->arena, &f->plan, &run->err))
        return false;
    bench_init(&f->bench, &f->plan, &kept, side, run->arena);
    if (kept.there && bench_is_in(&f->bench, f->log.text)) {
        complain("what was kept in %s stands in the log already: the file is gone now", side);
        if (!bench_drop(&f->bench, &run->err)) return false;
        return make_bench(f, side, ask);
    }
    add_facts(f);
    if (kept.there)
        say_resumed(&kept, &f->bench);
    else
        add_start(f, ask);
    return true;
}

static bool open_feeds(Fill *f) {
    const OptionValue *given = f->run->args.options;
    const OptionValue *from = &given[FILL_FROM], *pattern = &given[FILL_PATTERN];
    feed_keyboard(&f->feeds[0]);
    f->feeds[1] = (Feed){.fd = -1};
    if (!from->given && (pattern->given || given[FILL_SPEED].given))
        return err_set(&f->run->err, ERR_USAGE, "--pattern and --speed go with --from");
    if (!from->given) return true;
    f->pattern = str_from(pattern->text);
    const char *fault = pattern->given ? pattern_fault(f->pattern) : NULL;
    if (fault)
        return err_set(&f->run->err, ERR_USAGE, "the pattern '%s' is none: %s", pattern->text,
                       fault);
    if (!f->feeds[0].terminal) f->feeds[0].fd = -1; /* the gauge alone */
    return feed_gauge(&f->feeds[1], from->text, given[FILL_SPEED].text, &f->run->err);
}

static ExitCode ask(Fill *f) {
    Run *run = f->run;
    PlanAsk what = {.what = joined_words(run), .set = str_from(run->args.options[FILL_SET].text)};
    if (!make_bench(f, bench_side(book_folder(f->book), f->path, run->arena), &what))
        return EXIT_TROUBLE;
    f->asked = what;
    say_unasked(f);
    if (!f->bench.count && !f->bench.line_count) {
        complain("there is nothing to ask for in %s", f->path);
        return EXIT_FINE;
    }
    if (!open_feeds(f) || !bench_begin(&f->bench, &run->err)) return EXIT_TROUBLE;
    f->arenas[0] = arena_new();
    f->arenas[1] = arena_new();
    ExitCode code = fill_bench(f);
    arena_free(f->arenas[0]);
    arena_free(f->arenas[1]);
    return code;
}

/* Options of the one way of filling that stand beside the other's. */
static bool one_way(Run *run, bool csv) {
    for (int i = FILL_FROM; i < FILL_OPTIONS; i++) {
        bool of_csv = i >= FILL_CSV;
        if (i == FILL_CSV || of_csv == csv || !run->args.options[i].given) continue;
        return err_set(&run->err, ERR_USAGE, "--%s %s", fill_options[i].name,
                       csv ? "does not go with --csv" : "goes with --csv FILE");
    }
    if (!csv || run->args.count == 1) return true;
    return err_set(&run->err, ERR_USAGE, "what a CSV holds is said in its map, not as '%s'",
                   run->args.words[1]);
}

static ExitCode run_fill(Run *run) {
    Fill f = {.run = run, .name = run->args.words[0], .bench = {.fd = -1}};
    OpenJob o;
    bool csv = run->args.options[FILL_CSV].given;
    if (!one_way(run, csv)) return EXIT_TROUBLE;
    ExitCode code = open_job(run, f.name, &(OptionValue){0}, &o);
    if (code != EXIT_FINE) return code;
    if (o.job->is_card) {
        err_set(&run->err, ERR_USAGE, "%s is a part card: what its label says is written by hand",
                o.target.path);
        return EXIT_TROUBLE;
    }
    f.book = o.target.book;
    f.path = o.target.path;
    f.log.path = str_from(f.path);
    if (!file_read(run->arena, f.path, &f.log.text, &f.stamp, &run->err)) return EXIT_TROUBLE;
    if (csv) return fill_csv(&f, o.job);
    code = ask(&f);
    bench_release(&f.bench);
    feed_close(&f.feeds[0]);
    feed_close(&f.feeds[1]);
    return code;
}

const Command command_fill = {
    .name = "fill",
    .arguments = "JOB [WHAT]",
    .summary = "asks for readings one by one at the bench, and appends them to the log",
    .help = "WHAT is a form (heights), a quantity (chamber), with its places (lash I) and, for a\n"
            "curve, where it is read (spring load @ 1.720 in); several with commas between.\n"
            "Without it what the log's own grids lack is asked for. Every value is kept on the\n"
            "disk and judged at once; the same command goes on after a stop or a power cut. In\n"
            "the end the log gets one dated entry. While it asks: back, skip, next, ?, -, write,\n"
            "stop, help. Values may also come through a pipe, or from a gauge that types.\n"
            "With --csv the rows of a file become an entry, by a map of its columns that is made\n"
            "on first use. It only shows what would be written until --append is given; a row\n"
            "that is in the log already is taken again only where --day says another day.\n",
    .options = fill_options,
    .option_count = FILL_OPTIONS,
    .least = 1,
    .most = -1,
    .run = run_fill,
};
