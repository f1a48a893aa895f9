/* thou check: reads, computes and checks; everything that is wrong, in the order of the files. */
#include "cli/check.h"

#include "cli/lookup.h"
#include "show/findings.h"
#include <unistd.h>

enum { OPT_JSON, OPT_LIST, OPT_JOBS, OPT_COUNT };
static const Option check_options[OPT_COUNT] = {
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_LIST] = {"list", 0, OPTION_FLAG, NULL, "every code a finding can have, and what it means"},
    [OPT_JOBS] = {"jobs", 0, OPTION_COUNT, "N", "how many are checked at once (a thread each)"},
};

static const char *level_name(Level level) {
    return level == LEVEL_ERROR ? "error" : "warning";
}

static void list_kinds(Buf *b, bool json) {
    for (size_t i = 0; i < kind_table_count; i++) {
        for (size_t k = 0; k < *kind_tables[i].count; k++) {
            const FindingKind *kind = &kind_tables[i].rows[k];
            if (!json) {
                buf_printf(b, "%-22s %-7s  %s\n", kind->code, level_name(kind->level), kind->title);
                continue;
            }
            buf_printf(b, "{\"code\":\"%s\",\"level\":\"%s\",\"title\":", kind->code,
                       level_name(kind->level));
            buf_json(b, str_from(kind->title));
            buf_puts(b, "}\n");
        }
    }
}

typedef struct Check {
    Run *run;
    bool json, whole; /* whole: all of a book */
    Target *targets;
    uint32_t count, room;
    Tally tally;
} Check;

static void say_findings(Check *c, const Findings *f) {
    if (c->json)
        findings_json(&c->run->out.buf, f);
    else
        findings_text(&c->run->out.buf, f, out_style(&c->run->out));
    out_settle(&c->run->out);
    c->tally.errors += f->errors;
    c->tally.warnings += f->warnings;
}

static bool add_all(Check *c) {
    Book *b;
    BookFiles jobs;
    if (!shelf_need_book(c->run, &b) || !book_jobs(b, c->run->arena, &jobs, &c->run->err))
        return false;
    c->targets = arena_array(c->run->arena, jobs.count + 1, sizeof *c->targets);
    for (uint32_t i = 0; i < jobs.count; i++)
        c->targets[i] = (Target){b, jobs.items[i].path};
    c->count = jobs.count;
    return true;
}

static bool is_named(const char *path, Str suffix) {
    return str_ends(str_from(path), suffix);
}

/* A card is asked for by its name, so that its findings come with those of the other cards. */
static void ask_for_card(const Target *t) {
    book_card(t->book, book_name_of(t->path));
}

static bool add_word(Check *c, const char *word) {
    Target t;
    if (!shelf_target(c->run, word, &t)) return false;
    if (is_named(t.path, STR("/" BOOK_SHOP)) || strcmp(t.path, BOOK_SHOP) == 0) return true;
    if (is_named(t.path, STR(".part"))) {
        ask_for_card(&t);
        return true;
    }
    arena_grow(c->run->arena, c->targets, c->count, c->room);
    c->targets[c->count++] = t;
    return true;
}

/* With a faulty vocabulary a log would be read wrongly: such jobs are left out, and that is said.
 */
static void leave_out_unreadable(Check *c) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < c->count; i++) {
        if (book_vocab_findings(c->targets[i].book)->errors == 0)
            c->targets[kept++] = c->targets[i];
    }
    if (kept < c->count)
        complain("%u job%s not checked: put shop.vocab right first", c->count - kept,
                 c->count - kept == 1 ? " was" : "s were");
    c->count = kept;
}

static bool ask_for_all_cards(Check *c, Book *b) {
    BookFiles cards;
    if (book_vocab_findings(b)->errors) return true;
    if (!book_cards(b, c->run->arena, &cards, &c->run->err)) return false;
    for (uint32_t i = 0; i < cards.count; i++)
        book_card(b, cards.items[i].name);
    return true;
}

/* The cards the jobs named (all, when the whole book is checked), then the shop's vocabulary. */
static bool check_rest(Check *c, Book *b) {
    if (c->whole && !ask_for_all_cards(c, b)) return false;
    Cards cards = book_cards_read(b, c->run->arena);
    for (uint32_t i = 0; i < cards.count; i++) {
        c->tally.cards++;
        if (cards.items[i]->err.kind) {
            complain("%s", cards.items[i]->err.text);
            c->tally.trouble = true;
        }
        say_findings(c, &cards.items[i]->findings);
    }
    say_findings(c, book_vocab_findings(b));
    return true;
}

static unsigned threads_of(const OptionValue *asked) {
    enum { MOST = 8 };
    if (asked->given) return asked->number;
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    return cores < 1 ? 1 : cores > MOST ? MOST : (unsigned)cores;
}

static void count_line(const Tally *t) {
    const char *s[] = {"s", ""};
    complain("%u job%s, %u error%s, %u warning%s", t->jobs, s[t->jobs == 1], t->errors,
             s[t->errors == 1], t->warnings, s[t->warnings == 1]);
}

static ExitCode run_check(Run *run) {
    Check c = {.run = run, .json = run->args.options[OPT_JSON].given, .whole = !run->args.count};
    if (run->args.options[OPT_LIST].given) {
        list_kinds(&run->out.buf, c.json);
        return EXIT_FINE;
    }
    if (c.whole && !add_all(&c)) return EXIT_TROUBLE;
    for (int i = 0; i < run->args.count; i++) {
        if (!add_word(&c, run->args.words[i])) return EXIT_TROUBLE;
    }
    leave_out_unreadable(&c);
    CheckPlan plan = {.targets = c.targets,
                      .count = c.count,
                      .threads = threads_of(&run->args.options[OPT_JOBS]),
                      .json = c.json,
                      .brief = c.whole};
    check_files(&plan, &run->out, &c.tally);
    for (uint32_t i = 0; run->shelf && i < run->shelf->count; i++) {
        if (!check_rest(&c, run->shelf->books[i])) return EXIT_TROUBLE;
    }
    out_flush(&run->out);
    bool speak = isatty(STDERR_FILENO) || c.tally.errors || c.tally.warnings;
    if (speak && !c.json && !run->out.failed) count_line(&c.tally);
    return c.tally.trouble ? EXIT_TROUBLE : c.tally.errors ? EXIT_FINDINGS : EXIT_FINE;
}

const Command command_check = {
    .name = "check",
    .arguments = "[JOB...]",
    .summary = "reads, computes and checks logs; says everything that is wrong",
    .help = "Checks the jobs named, or all jobs, cards and shop.vocab of the book when none is\n"
            "named. A JOB is a job's name, a part of it that no other job has, or the path of\n"
            "a file; a lone file needs no book. Each finding is said as FILE:LINE:COLUMN with\n"
            "its code: in one line, and folded on a terminal. Ends with 1 when there is an\n"
            "error, 0 when there are only warnings.\n",
    .options = check_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = -1,
    .run = run_check,
};
