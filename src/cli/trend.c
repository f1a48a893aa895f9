/* thou trend: readings over the rebuilds of an engine, and over all builds with a part. */
#include "show/trend.h"

#include "base/near.h"
#include "base/number.h"
#include "cli/indexed.h"
#include "cli/progress.h"
#include "cli/shelf.h"
#include "index/again.h"
#include "index/ties.h"
#include <math.h>
#include <unistd.h>

enum {
    OPT_ENGINE,
    OPT_PART,
    OPT_BY,
    OPT_OVER,
    OPT_UNTIL,
    OPT_METHOD,
    OPT_CONTROL,
    OPT_RISE,
    OPT_WITH,
    OPT_UNITS,
    OPT_AS_IS,
    OPT_SVG,
    OPT_JSON,
    OPT_CSV,
    OPT_COUNT
};
static const Option trend_options[OPT_COUNT] = {
    [OPT_ENGINE] = {"engine", 0, OPTION_WORD, "SERIAL", "only this engine's jobs"},
    [OPT_PART] = {"part", 0, OPTION_WORD, "NAME", "all builds with this part, each counted once"},
    [OPT_BY] = {"by", 0, OPTION_WORD, "WHAT",
                "item, place, or a fact that puts them together: lot"},
    [OPT_OVER] = {"over", 0, OPTION_WORD, "WHAT", "hours, passes, miles or days"},
    [OPT_UNTIL] = {"until", 0, OPTION_WORD, "N",
                   "only readings up to so many hours (or passes...)"},
    [OPT_METHOD] = {"method", 0, OPTION_CHOICE, "least-squares|theil-sen",
                    "how the rate is found (else the readings decide)"},
    [OPT_CONTROL] = {"control", 0, OPTION_FLAG, NULL,
                     "a chart of the shop's own work: is it still as it was?"},
    [OPT_RISE] = {"rise", 0, OPTION_WORD, "N",
                  "only what rose by N or more since an earlier reading (-N: fell)"},
    [OPT_WITH] = {"with", 0, OPTION_WORD, "FACT",
                  "with --rise: what this fact says in the same entry"},
    [OPT_UNITS] = {"units", 0, OPTION_CHOICE, "metric|us", "in these units, whatever was written"},
    [OPT_AS_IS] = {"as-is", 0, OPTION_FLAG, NULL, "the index as it is: do not look for changes"},
    [OPT_SVG] = {"svg", 0, OPTION_WORD, "FILE", "a chart for paper, into a new file"},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "a line a series, for a spreadsheet"},
};
enum { TAGS_MOST = 8 };

typedef struct Asked {
    Book *book;
    const Vocab *v;
    TagId tags[TAGS_MOST];
    int tag_count;
    double at; /* condition; NAN */
    Str job;   /* empty: none */
    Str engine;
    TrendHow how;
    double rise;                /* that is looked for; NAN: none */
    Repeats repeats[TAGS_MOST]; /* of each tag, in the whole book */
    bool has_repeats;           /* there is a book to ask */
    unsigned threads;
} Asked;

/* ---- what was asked ---------------------------------------------------------------------------
 */

static Str joined_words(const Run *run) {
    Str text = {0};
    for (int i = 0; i < run->args.count; i++)
        text =
            arena_printf(run->arena, "%.*s%s%s", STR_ARG(text), i ? " " : "", run->args.words[i]);
    Buf apart = {0}; /* a name ends at a blank, not at a comma */
    for (size_t i = 0; i < text.n; i++) {
        if (text.p[i] == ',') buf_putc(&apart, ' ');
        buf_putc(&apart, text.p[i]);
    }
    text = arena_str(run->arena, buf_str(&apart));
    buf_release(&apart);
    return text;
}

/* `@ 1.700 in` behind a curve's name. */
static bool read_condition(Run *run, Asked *asked, Str *rest) {
    const Tag *tag = &asked->v->tags[asked->tags[asked->tag_count - 1]];
    if (rest->n == 0 || rest->p[0] != '@') return true;
    Str text = str_trim(str_skip(*rest, 1));
    Number n;
    if (!tag->has_curve)
        return err_set(&run->err, ERR_USAGE, "'%.*s' is no curve: it has no @", STR_ARG(tag->name));
    if (number_read(text, &n) != NUMBER_OK)
        return err_set(&run->err, ERR_USAGE, "behind the @ stands a %.*s, as in @ 1.700 in",
                       STR_ARG(tag->over_name));
    *rest = str_trim(str_skip(text, n.len));
    Str behind = *rest, word = str_word(&behind);
    const Unit *unit = word.n ? unit_find(word, tag->over->dim) : NULL;
    if (unit && unit->dim == tag->over->dim)
        *rest = str_trim(behind);
    else
        unit = asked->v->units ? unit_in(tag->over, asked->v->units) : tag->over;
    asked->at = unit_to_si(unit, n.value);
    return true;
}

static bool add_tag(Run *run, Asked *asked, TagId id) {
    const Tag *tag = &asked->v->tags[id];
    if (!series_possible(asked->v, id))
        return err_set(&run->err, ERR_USAGE, "'%.*s' is no number: it has no trend",
                       STR_ARG(tag->name));
    if (asked->tag_count == TAGS_MOST)
        return err_set(&run->err, ERR_USAGE, "no more than %d quantities at once", TAGS_MOST);
    asked->tags[asked->tag_count++] = id;
    return true;
}

static bool read_words(Run *run, Asked *asked) {
    Str rest = joined_words(run), behind;
    asked->at = NAN;
    asked->tag_count = 0;
    while (rest.n) {
        TagId id = vocab_match(asked->v, rest, &behind);
        if (id == TAG_NONE) break;
        if (!add_tag(run, asked, id)) return false;
        rest = behind;
        if (!read_condition(run, asked, &rest)) return false;
        if (rest.n && rest.p[0] == ',') rest = str_trim(str_skip(rest, 1));
    }
    if (!asked->tag_count) {
        Str near = vocab_near(asked->v, rest, run->arena);
        return err_set(&run->err, ERR_USAGE, "the vocabulary has no quantity '%.*s'%.*s",
                       STR_ARG(rest), STR_ARG(near));
    }
    Str job = str_word(&rest);
    if (str_trim(rest).n)
        return err_set(&run->err, ERR_USAGE,
                       "behind the quantity stands one job at most, not '%.*s %.*s'", STR_ARG(job),
                       STR_ARG(str_trim(rest)));
    asked->job = job;
    return true;
}

static bool read_over(Run *run, Asked *asked) {
    const OptionValue *over = &run->args.options[OPT_OVER];
    TrendHow *how = &asked->how;
    how->ask.over = asked->v->roles[ROLE_RUN_TIME];
    if (!over->given) return true;
    how->over_asked = true;
    if (strcmp(over->text, "days") == 0) {
        how->over_days = true;
        how->ask.over = TAG_NONE;
        return true;
    }
    TagId id = vocab_find(asked->v, str_from(over->text));
    const Tag *tag = id == TAG_NONE ? NULL : &asked->v->tags[id];
    if (!tag || tag->of != CLASS_ENGINE || tag->kind != TAG_NUMBER || tag->trend != TREND_RISES)
        return err_set(&run->err, ERR_USAGE,
                       "--over takes days, or what an engine gathers: hours, passes, miles; not "
                       "'%s'",
                       over->text);
    how->ask.over = id;
    return true;
}

static bool read_until(Run *run, Asked *asked) {
    const OptionValue *until = &run->args.options[OPT_UNTIL];
    Number n;
    asked->how.until = INFINITY;
    if (!until->given) return true;
    Str text = str_from(until->text);
    if (number_read(text, &n) != NUMBER_OK || n.len != text.n || n.value < 0)
        return err_set(&run->err, ERR_USAGE, "--until takes a number, such as 40; not '%s'",
                       until->text);
    asked->how.until = n.value;
    return true;
}

static bool read_rise(Run *run, Asked *asked) {
    const OptionValue *given = run->args.options, *rise = &given[OPT_RISE];
    Number n;
    asked->rise = NAN;
    if (given[OPT_WITH].given && !rise->given)
        return err_set(&run->err, ERR_USAGE, "--with goes with --rise");
    if (!rise->given) return true;
    Str text = str_from(rise->text);
    if (number_read(text, &n) != NUMBER_OK || n.len != text.n || n.value == 0)
        return err_set(&run->err, ERR_USAGE, "--rise takes a number, such as 5, or -5; not '%s'",
                       rise->text);
    if (given[OPT_CONTROL].given || given[OPT_SVG].given)
        return err_set(&run->err, ERR_USAGE, "--rise is a list: it has no --control and no --svg");
    asked->rise = n.value;
    if (!given[OPT_WITH].given) return true;
    TagId with = vocab_find(asked->v, str_from(given[OPT_WITH].text));
    TagKind kind = with == TAG_NONE ? TAG_NUMBER : asked->v->tags[with].kind;
    if (kind == TAG_NUMBER)
        return err_set(&run->err, ERR_USAGE, "--with takes a fact in words, not '%s'",
                       given[OPT_WITH].text);
    asked->how.ask.has_with = true;
    asked->how.ask.with = with;
    return true;
}

static bool read_by(Run *run, Asked *asked) {
    const OptionValue *by = &run->args.options[OPT_BY];
    asked->how.ask.group_by = TAG_NONE;
    if (!by->given || strcmp(by->text, "item") == 0) return true;
    if (strcmp(by->text, "place") == 0) {
        asked->how.ask.by_place = true;
        return true;
    }
    TagId id = vocab_find(asked->v, str_from(by->text));
    TagKind kind = id == TAG_NONE ? TAG_NUMBER : asked->v->tags[id].kind;
    if (kind != TAG_WORDS && kind != TAG_PART && kind != TAG_CHOICE)
        return err_set(&run->err, ERR_USAGE,
                       "--by takes item, place, or a fact in words such as lot; not '%s'",
                       by->text);
    asked->how.ask.group_by = id;
    return true;
}

static bool read_asked(Run *run, Asked *asked) {
    static const TrendMethod methods[] = {TREND_LEAST_SQUARES, TREND_THEIL_SEN};
    static const System systems[] = {SYSTEM_METRIC, SYSTEM_US};
    const OptionValue *given = run->args.options;
    TrendHow *how = &asked->how;
    *how = (TrendHow){.v = asked->v,
                      .level = .95,
                      .width = (int)run->out.width,
                      .colour = run->out.colour,
                      .method = TREND_BY_DATA};
    if (given[OPT_JSON].given && given[OPT_CSV].given)
        return err_set(&run->err, ERR_USAGE, "--json and --csv are two answers: ask for one");
    if (!read_words(run, asked) || !read_over(run, asked) || !read_by(run, asked) ||
        !read_until(run, asked) || !read_rise(run, asked))
        return false;
    if (given[OPT_METHOD].given) how->method = methods[given[OPT_METHOD].number];
    if (given[OPT_UNITS].given) how->system = systems[given[OPT_UNITS].number];
    if (given[OPT_PART].given) how->ask.part = str_from(given[OPT_PART].text);
    if (given[OPT_ENGINE].given) asked->engine = str_from(given[OPT_ENGINE].text);
    if (given[OPT_CONTROL].given) how->ask.over = TAG_NONE;
    how->ask.as_read = given[OPT_CONTROL].given;
    how->ask.at = asked->at;
    how->rows_wanted = given[OPT_JSON].given || given[OPT_CSV].given || given[OPT_SVG].given;
    return true;
}

/* ---- which jobs -------------------------------------------------------------------------------
 */

typedef struct Ties {
    Asked *asked;
    Arena *arena;
    BookJobs known, jobs;
    Str near; /* when no job has the engine: one like it */
} Ties;

static bool ask_ties(Index *x, Ties *t, Err *err) {
    const Asked *asked = t->asked;
    t->near = (Str){0};
    t->jobs = t->known;
    if (t->jobs.count) return true;
    if (!index_ties(x, asked->engine, asked->how.ask.part, t->arena, &t->jobs, err)) return false;
    if (!asked->engine.n || t->jobs.count) return true;
    return index_near_engine(x, asked->engine, t->arena, &t->near, err);
}

/* Which jobs, unless that is known, and what the whole book's readings repeat to. */
static bool ask_ties_and_repeats(Index *x, void *ctx, Err *err) {
    Ties *t = ctx;
    Asked *asked = t->asked;
    bool ok = ask_ties(x, t, err);
    for (int i = 0; ok && i < asked->tag_count; i++)
        ok = index_repeats(x, asked->tags[i], &asked->repeats[i], err);
    return asked->has_repeats = ok;
}

static bool ask_index(Run *run, Asked *asked, BookJobs *jobs) {
    Ties t = {.asked = asked, .arena = run->arena, .known = *jobs};
    IndexUse use = {.as_is = run->args.options[OPT_AS_IS].given, .threads = asked->threads};
    if (!indexed_ask(run, asked->book, use, ask_ties_and_repeats, &t)) return false;
    *jobs = t.jobs;
    if (!asked->engine.n || jobs->count) return true;
    return err_set(&run->err, ERR_USAGE, "no job of the book '%s' has the engine '%.*s'%.*s",
                   book_folder(asked->book), STR_ARG(asked->engine), STR_ARG(t.near));
}

/* A file of another book is read with that book's vocabulary: what was asked is, too. */
static bool move_to(Run *run, Asked *asked, Book *book) {
    if (book == asked->book) return true;
    asked->book = book;
    asked->v = book_vocab(book);
    if (book_vocab_findings(book)->errors)
        return err_set(&run->err, ERR_USAGE,
                       "the vocabulary of the book that '%.*s' stands in has errors: thou check",
                       STR_ARG(asked->job));
    return read_asked(run, asked);
}

/* A job stands for its engine; one that names none for itself alone. */
static bool engine_of_job(Run *run, Asked *asked, BookJobs *jobs) {
    Target t;
    if (!shelf_target(run, arena_str(run->arena, asked->job).p, &t)) return false;
    Source *s = arena_alloc(run->arena, sizeof *s);
    s->path = str_from(t.path);
    if (!file_read(run->arena, t.path, &s->text, NULL, &run->err)) return false;
    Findings dropped = {.arena = run->arena};
    Door none = {0};
    const Job *j = job_read(book_vocab(t.book), s, false, &none, run->arena, &dropped);
    const Reading *engine = job_fact(j, j->vocab->roles[ROLE_ENGINE]);
    if (!move_to(run, asked, t.book)) return false;
    if (engine) asked->engine = reading_text(j, engine);
    if (engine && book_folder(t.book)) return true;
    BookJob *only = arena_alloc(run->arena, sizeof *only);
    *only = (BookJob){.name = book_name_of(t.path), .path = t.path, .engine = asked->engine};
    *jobs = (BookJobs){only, 1, 1};
    return true;
}

static bool find_jobs(Run *run, Asked *asked, BookJobs *jobs) {
    *jobs = (BookJobs){0};
    if (asked->job.n && !engine_of_job(run, asked, jobs)) return false;
    return !book_folder(asked->book) || ask_index(run, asked, jobs);
}

/* ---- the answer -------------------------------------------------------------------------------
 */

static bool write_svg(Run *run, const Buf *chart) {
    const char *path = run->args.options[OPT_SVG].text;
    if (!path) return true;
    if (file_exists(path))
        return err_set(&run->err, ERR_USAGE, "%s is there already: name a new file", path);
    return file_write(path, buf_str(chart), NULL, &run->err);
}

static bool show_control(Run *run, const Asked *asked, const SeriesList *list, bool *any) {
    const OptionValue *given = run->args.options;
    ControlReport r;
    control_report(list, &asked->how, run->arena, &r);
    *any = r.count > 0;
    if (given[OPT_JSON].given)
        control_json(&run->out.buf, &r);
    else if (given[OPT_CSV].given)
        control_csv(&run->out.buf, &r);
    else if (*any)
        control_text(&run->out.buf, &r);
    if (!given[OPT_SVG].given || !*any) return true;
    Buf chart = {0};
    control_svg(&chart, &r);
    bool ok = write_svg(run, &chart);
    buf_release(&chart);
    return ok;
}

static bool show_trend(Run *run, const Asked *asked, const SeriesList *list, bool *any) {
    const OptionValue *given = run->args.options;
    TrendReport r;
    trend_report(list, &asked->how, run->arena, &r);
    *any = r.count > 0;
    if (given[OPT_JSON].given)
        trend_json(&run->out.buf, &r);
    else if (given[OPT_CSV].given)
        trend_csv(&run->out.buf, &r);
    else if (*any)
        trend_text(&run->out.buf, &r);
    if (!given[OPT_SVG].given || !*any) return true;
    Buf chart = {0};
    trend_svg(&chart, &r);
    bool ok = write_svg(run, &chart);
    buf_release(&chart);
    return ok;
}

static bool show_rises(Run *run, const Asked *asked, const SeriesList *list, bool *any) {
    const OptionValue *given = run->args.options;
    RiseReport r;
    rise_report(list, &asked->how, asked->rise, run->arena, &r);
    *any = r.count > 0;
    if (given[OPT_JSON].given)
        rise_json(&run->out.buf, &r);
    else if (given[OPT_CSV].given)
        rise_csv(&run->out.buf, &r);
    else if (*any)
        rise_text(&run->out.buf, &r);
    return true;
}

static void warn_of_faults(const BookSeries *s) {
    if (!s->faulty_logs) return;
    complain("%u line%s of %u log%s could not be read and count%s for nothing here: thou check "
             "%.*s%s",
             s->faulty_lines, s->faulty_lines == 1 ? "" : "s", s->faulty_logs,
             s->faulty_logs == 1 ? "" : "s", s->faulty_lines == 1 ? "s" : "", STR_ARG(s->faulty),
             s->faulty_logs > 1 ? " and others" : "");
}

static bool answer_tag(Run *run, Asked *asked, const BookJobs *jobs, int which, bool *any) {
    BookSeries series;
    TagId tag = asked->tags[which];
    asked->how.ask.tag = tag;
    asked->how.book = asked->has_repeats ? &asked->repeats[which] : NULL;
    Progress progress;
    SeriesPlan plan = {.threads = asked->threads, .told = progress_told, .told_ctx = &progress};
    progress_start(&progress, "jobs");
    bool ok = book_series(asked->book, jobs, &asked->how.ask, &plan, &series, &run->err);
    progress_wipe(&progress);
    if (ok) warn_of_faults(&series);
    if (ok)
        ok = run->args.options[OPT_CONTROL].given ? show_control(run, asked, &series.list, any)
             : !isnan(asked->rise)                ? show_rises(run, asked, &series.list, any)
                                                  : show_trend(run, asked, &series.list, any);
    if (ok && !*any && !isnan(asked->rise))
        complain("no reading of '%.*s' in %u log%s is so far from an earlier one",
                 STR_ARG(asked->v->tags[tag].name), series.logs, series.logs == 1 ? "" : "s");
    else if (ok && !*any)
        complain("no reading of '%.*s' in %u log%s that could be followed",
                 STR_ARG(asked->v->tags[tag].name), series.logs, series.logs == 1 ? "" : "s");
    book_series_free(&series);
    out_settle(&run->out);
    return ok;
}

static ExitCode run_trend(Run *run) {
    Asked asked = {.threads = 2};
    indexed_begin(run, run->args.options[OPT_AS_IS].given);
    if (!shelf_need_book(run, &asked.book)) return EXIT_TROUBLE;
    asked.v = book_vocab(asked.book);
    if (book_vocab_findings(asked.book)->errors) {
        complain("nothing can be computed until shop.vocab is put right: thou check");
        return EXIT_FINDINGS;
    }
    BookJobs jobs;
    if (!read_asked(run, &asked) || !find_jobs(run, &asked, &jobs)) return EXIT_TROUBLE;
    bool all = true;
    for (int i = 0; i < asked.tag_count; i++) {
        bool any = false;
        if (i && !run->args.options[OPT_JSON].given) buf_putc(&run->out.buf, '\n');
        if (!answer_tag(run, &asked, &jobs, i, &any)) return EXIT_TROUBLE;
        all &= any;
    }
    return all ? EXIT_FINE : EXIT_FINDINGS;
}

const Command command_trend = {
    .name = "trend",
    .arguments = "TAG... [JOB]",
    .summary = "what drifts between rebuilds, how sure that is, and when it runs out",
    .help = "Follows each item (spring S31#7 wherever it sat), or each place, through all jobs\n"
            "of an engine, over the hours it has run. Says the change, the rate with its 95 %\n"
            "interval, what is left to each limit, and in words what it comes to. A JOB stands\n"
            "for its engine; without one, and without --engine, every engine is told in a line.\n"
            "Loads are compared at one height, each read from its own curve: the bench height\n"
            "the log states, else the most common one, or `@ 1.700 in` behind the quantity.\n"
            "Suspect and struck readings are left out and counted. A change below what readings\n"
            "repeat to, over the whole book, is called steady. TAG needs no quotes; several\n"
            "are parted by commas. Ends with 1 when there is nothing to follow.\n",
    .options = trend_options,
    .option_count = OPT_COUNT,
    .least = 1,
    .most = -1,
    .run = run_trend,
};
