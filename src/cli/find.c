/* thou find: past builds by words, part, owner, engine, and by value. */
#include "cli/indexed.h"
#include "cli/shelf.h"

#include "index/find.h"
#include "show/table.h"

enum {
    OPT_ENGINE,
    OPT_PART,
    OPT_OWNER,
    OPT_STAGE,
    OPT_SINCE,
    OPT_UNTIL,
    OPT_EVER,
    OPT_SAME,
    OPT_LIMIT,
    OPT_AS_IS,
    OPT_JSON,
    OPT_CSV,
    OPT_COUNT
};
static const Option find_options[OPT_COUNT] = {
    [OPT_ENGINE] = {"engine", 0, OPTION_WORD, "SERIAL", "only this engine's jobs, or a beginning"},
    [OPT_PART] = {"part", 0, OPTION_WORD, "NAME", "only jobs with this part, or a beginning of it"},
    [OPT_OWNER] = {"owner", 0, OPTION_WORD, "NAME",
                   "only this owner's jobs, or a piece of the name"},
    [OPT_STAGE] = {"stage", 0, OPTION_WORD, "STAGE", "only jobs that stand at this stage"},
    [OPT_SINCE] = {"since", 0, OPTION_DATE, "DATE", "only jobs with an entry of this day or later"},
    [OPT_UNTIL] = {"until", 0, OPTION_DATE, "DATE", "only jobs begun on this day or before"},
    [OPT_EVER] = {"ever", 0, OPTION_FLAG, NULL,
                  "at any entry of the log, not only as the log leaves it"},
    [OPT_SAME] = {"same", 0, OPTION_CHOICE, "place|engine",
                  "the conditions hold on one place or item; or in any jobs of one engine"},
    [OPT_LIMIT] = {"limit", 0, OPTION_COUNT, "N", "how many jobs are shown at most (else 20)"},
    [OPT_AS_IS] = {"as-is", 0, OPTION_FLAG, NULL, "the index as it is: do not look for changes"},
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "a line a match, for a spreadsheet"},
};
enum { LIMIT_DEFAULT = 20, SHOWN_MOST = 16 };

static Str date_of(Arena *a, int32_t day) {
    char text[DATE_TEXT];
    if (day == DAY_NONE) return (Str){0};
    return arena_str(a, str_from(date_text((Date){day, -1}, text)));
}

/* ---- text ------------------------------------------------------------------------------------ */

static void add_marked(Buf *b, const Match *m, bool colour) {
    size_t at = 0;
    for (uint32_t i = 0; i < m->mark_count; i++) {
        const Span *s = &m->marks[i];
        buf_add(b, (Str){m->text.p + at, s->off - at});
        tone_text(b, (Str){m->text.p + s->off, s->len}, TONE_HEAD, colour);
        at = s->off + s->len;
    }
    buf_add(b, str_skip(m->text, at));
}

static void add_behind(Buf *b, const char *before, Str text) {
    if (text.n) buf_printf(b, "%s%.*s", before, STR_ARG(text));
}

static void add_value(Buf *b, const Match *m) {
    buf_add(b, m->tag);
    add_behind(b, " ", m->subject);
    add_behind(b, " = ", m->value);
    add_behind(b, " ", m->unit);
    add_behind(b, " @ ", m->at);
    add_behind(b, " ", m->at_unit);
    if (m->corrected.n) buf_printf(b, " (%.*s, as the gauge was off)", STR_ARG(m->corrected));
    if (m->kind == MATCH_COMPUTED)
        buf_printf(b, " (computed%s%.*s)", m->how.n ? ", " : "", STR_ARG(m->how));
    else if (m->how.n)
        buf_printf(b, " (%.*s)", STR_ARG(m->how));
}

/* A terminal gets a line that is too long for it folded; a file or a pipe as one, to be searched.
 */
static void add_line(Out *out, Str line) {
    enum { HANG = 4 };
    if (out->terminal && fold_needed(&out->buf, line, (int)out->width)) {
        fold_text(&out->buf, line, (int)out->width, HANG);
    } else {
        buf_add(&out->buf, line);
        buf_putc(&out->buf, '\n');
    }
}

static void match_text(Out *out, const FoundJob *job, const Match *m) {
    Buf line = {0};
    buf_printf(&out->buf, "  %.*s", STR_ARG(job->file));
    if (m->line) buf_printf(&out->buf, ":%u", m->line);
    buf_puts(&out->buf, "  ");
    if (m->text.n)
        add_marked(&line, m, out->colour);
    else
        add_value(&line, m);
    add_line(out, buf_str(&line));
    buf_release(&line);
}

static void job_text(Run *run, const FoundJob *job) {
    Buf *b = &run->out.buf, head = {0};
    const char *gap = "  ";
    tone_text(b, job->name, TONE_HEAD, run->out.colour);
    add_behind(&head, "", date_of(run->arena, job->last));
    add_behind(&head, head.n ? gap : "", job->engine);
    add_behind(&head, head.n ? gap : "", job->owner);
    if (head.n) buf_puts(b, gap);
    add_line(&run->out, buf_str(&head));
    buf_release(&head);
    if (job->title.n) {
        buf_puts(b, "  ");
        add_line(&run->out, job->title);
    }
    uint32_t shown = job->match_count > SHOWN_MOST ? SHOWN_MOST : job->match_count;
    for (uint32_t i = 0; i < shown; i++)
        match_text(&run->out, job, &job->matches[i]);
    if (shown < job->match_count)
        buf_printf(b, "  and %u more like these\n", job->match_count - shown);
    out_settle(&run->out);
}

/* ---- tables ---------------------------------------------------------------------------------- */

typedef struct Answer {
    Run *run;
    const FoundJob *job;
    const Match *m; /* NULL: the job alone, when only filters were asked */
} Answer;

static Str number_text(Arena *a, uint32_t n) {
    return n ? arena_printf(a, "%u", n) : (Str){0};
}

static bool is_words(const Match *m) {
    return m->kind == MATCH_FACT || m->kind == MATCH_PLACEMENT;
}

#define MATCH_COLUMN(name, value)             \
    static Str name##_cell(const Answer *x) { \
        return x->m ? (value) : (Str){0};     \
    }
static Str kind_cell(const Answer *x) {
    return str_from(x->m ? match_kind_name(x->m->kind) : "job");
}
static Str job_cell(const Answer *x) {
    return x->job->name;
}
static Str engine_cell(const Answer *x) {
    return x->job->engine;
}
static Str owner_cell(const Answer *x) {
    return x->job->owner;
}
static Str title_cell(const Answer *x) {
    return x->job->title;
}
static Str last_cell(const Answer *x) {
    return date_of(x->run->arena, x->job->last);
}
static Str file_cell(const Answer *x) {
    return x->job->file;
}
MATCH_COLUMN(line, number_text(x->run->arena, x->m->line))
MATCH_COLUMN(entry, date_of(x->run->arena, x->m->day))
MATCH_COLUMN(tag, x->m->tag)
MATCH_COLUMN(subject, x->m->subject)
MATCH_COLUMN(value, is_words(x->m) ? str_none : x->m->value)
MATCH_COLUMN(unit, x->m->unit)
MATCH_COLUMN(at, x->m->at)
MATCH_COLUMN(at_unit, x->m->at_unit)
MATCH_COLUMN(corrected, x->m->corrected)
MATCH_COLUMN(how, x->m->how)
MATCH_COLUMN(text, x->m->text.n || !is_words(x->m) ? x->m->text : x->m->value)

static const struct {
    const char *key;
    Json json;
    Str (*cell)(const Answer *x);
} columns[] = {
    {"kind", JSON_TEXT, kind_cell},       {"job", JSON_TEXT, job_cell},
    {"engine", JSON_TEXT, engine_cell},   {"owner", JSON_TEXT, owner_cell},
    {"title", JSON_TEXT, title_cell},     {"last", JSON_TEXT, last_cell},
    {"file", JSON_TEXT, file_cell},       {"line", JSON_NUMBER, line_cell},
    {"entry", JSON_TEXT, entry_cell},     {"tag", JSON_TEXT, tag_cell},
    {"subject", JSON_TEXT, subject_cell}, {"value", JSON_NUMBER, value_cell},
    {"unit", JSON_TEXT, unit_cell},       {"at.value", JSON_NUMBER, at_cell},
    {"at.unit", JSON_TEXT, at_unit_cell}, {"corrected", JSON_TEXT, corrected_cell},
    {"how", JSON_TEXT, how_cell},         {"text", JSON_TEXT, text_cell},
};
enum { COLUMNS = sizeof columns / sizeof *columns };

static void add_row(Table *t, const Answer *x) {
    uint32_t row = table_row(t);
    for (uint32_t c = 0; c < COLUMNS; c++)
        table_put(t, row, c, columns[c].cell(x), TONE_PLAIN);
}

static Table *table_of(Run *run, const Found *found) {
    Table *t = table_new(run->arena);
    for (size_t c = 0; c < COLUMNS; c++)
        table_column(t, (TableColumn){.key = columns[c].key, .json = columns[c].json});
    for (uint32_t i = 0; i < found->count; i++) {
        const FoundJob *job = &found->jobs[i];
        Answer x = {.run = run, .job = job};
        if (!job->match_count) add_row(t, &x);
        for (uint32_t k = 0; k < job->match_count; k++) {
            x.m = &job->matches[k];
            add_row(t, &x);
        }
    }
    return t;
}

/* ---- the question ------------------------------------------------------------------------------
 */

static bool read_ask(Run *run, const Book *b, Ask *ask) {
    const OptionValue *o = run->args.options;
    *ask = (Ask){.engine = str_from(o[OPT_ENGINE].text),
                 .part = str_from(o[OPT_PART].text),
                 .owner = str_from(o[OPT_OWNER].text),
                 .stage = str_from(o[OPT_STAGE].text),
                 .since = o[OPT_SINCE].given ? o[OPT_SINCE].date.day : INT32_MIN,
                 .until = o[OPT_UNTIL].given ? o[OPT_UNTIL].date.day : INT32_MAX,
                 .ever = o[OPT_EVER].given,
                 .same_place = o[OPT_SAME].given && o[OPT_SAME].number == 0,
                 .same_engine = o[OPT_SAME].given && o[OPT_SAME].number == 1,
                 .limit = o[OPT_LIMIT].given ? o[OPT_LIMIT].number : LIMIT_DEFAULT};
    for (int i = 0; i < run->args.count; i++) {
        if (!ask_add(ask, b, str_from(run->args.words[i]), run->arena, &run->err)) return false;
    }
    bool filtered = ask->engine.n || ask->part.n || ask->owner.n || ask->stage.n ||
                    o[OPT_SINCE].given || o[OPT_UNTIL].given;
    if (run->args.count || filtered) return true;
    return err_set(&run->err, ERR_USAGE,
                   "say what to look for: words, a condition like 'bind clearance < .070', or a "
                   "filter (thou find -h)");
}

typedef struct Asking {
    const Ask *ask;
    Arena *arena;
    Found found;
    Str near; /* when nothing was found: a name like what was asked for */
} Asking;

static bool ask_index(Index *x, void *ctx, Err *err) {
    Asking *a = ctx;
    a->near = (Str){0};
    if (!index_find(x, a->ask, a->arena, &a->found, err)) return false;
    return a->found.count || index_near(x, a->ask, a->arena, &a->near, err);
}

static void say_found(Run *run, const Found *found) {
    if (run->args.options[OPT_JSON].given) {
        table_json(&run->out.buf, table_of(run, found));
    } else if (run->args.options[OPT_CSV].given) {
        table_csv(&run->out.buf, table_of(run, found));
    } else {
        for (uint32_t i = 0; i < found->count; i++)
            job_text(run, &found->jobs[i]);
    }
    if (found->more)
        complain("there are more than these %u jobs, %s; --limit N shows more", found->count,
                 found->by_words ? "which fit the words best" : "the newest");
}

/* Nothing is an answer that is believed: what may have been asked otherwise than it was meant. */
static void say_nothing_found(const Vocab *v, const Ask *ask, Str near) {
    complain("nothing found%s%.*s", near.n ? "; " : "", STR_ARG(near));
    for (uint32_t i = 0; i < ask->word_count; i++) {
        Str text = ask->words[i].text;
        if (ask_word_compares(v, text))
            complain("'%.*s' was looked for as words; to compare a value write < <= > >= = or "
                     "V .. V",
                     STR_ARG(text));
    }
    for (uint32_t i = 0; i < ask->condition_count; i++) {
        const Condition *c = &ask->conditions[i];
        if (c->at.n && v->tags[c->tag].has_curve)
            complain("'%.*s': only logs that read it just there were asked, and nothing between "
                     "the points of a curve",
                     STR_ARG(c->typed));
    }
}

static ExitCode run_find(Run *run) {
    enum { WORKERS = 2 };
    Book *b;
    Ask ask;
    Asking a = {.ask = &ask, .arena = run->arena};
    IndexUse use = {.as_is = run->args.options[OPT_AS_IS].given, .threads = WORKERS};
    indexed_begin(run, use.as_is);
    if (!shelf_need_book(run, &b)) return EXIT_TROUBLE;
    if (!read_ask(run, b, &ask) || !indexed_ask(run, b, use, ask_index, &a)) return EXIT_TROUBLE;
    if (a.found.count) {
        say_found(run, &a.found);
        return EXIT_FINE;
    }
    say_nothing_found(book_vocab(b), &ask, a.near);
    return EXIT_FINDINGS;
}

const Command command_find = {
    .name = "find",
    .arguments = "[WORD...] [CONDITION...]",
    .summary = "past builds by words, part, owner, engine, and by value",
    .help =
        "Words are looked for in notes, remarks, facts, titles, owners and part names, each\n"
        "also as a beginning; several words in one argument are a phrase. A part number is\n"
        "found as it is written, without its hyphens, and by its beginning. An item, S31#7,\n"
        "brings what was read on it, where it sat, and the notes that name it.\n\n"
        "A condition compares a quantity, measured or computed, as the log leaves it:\n"
        "  'bind clearance < .070'        'chamber 44.5 .. 45 cc'\n"
        "  'spring part = HL-1450'        'spring load @ 1.720 in > 185 lbf'\n"
        "  'installed height I3 >= 1.720' 'spring I3 = S31#7': the item that sits there\n"
        "The operators are < <= > >= = and V .. V.\n"
        "A log that continues another has its facts, owner and parts, as on the sheet, until\n"
        "it says otherwise: such a fact is found at the line of `continues`, with (from LOG).\n"
        "Words, items, and what sits where, are those the log itself says.\n"
        "A shell needs the quotes. All that is asked must hold on the same job; with\n"
        "--same engine each condition, and the words together, in some job of one engine.\n\n"
        "Each job comes with what matched and where it stands. When words are asked for, the\n"
        "jobs that fit them best come first: those that say them more often, and rarer words\n"
        "count for more. Conditions and options leave jobs out and change nothing in that order.\n"
        "Without words, among jobs that fit equally well, and when most of a large book says the\n"
        "words, the newest come first. Ends with 1 when nothing was found.\n",
    .options = find_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = -1,
    .run = run_find,
};
