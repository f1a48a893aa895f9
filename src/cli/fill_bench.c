/* The asking: place by place, each value judged as it comes. */
#include "cli/fill.h"

#include "base/pattern.h"
#include "base/utf8.h"
#include "show/typed.h"

typedef enum Word {
    WORD_NONE,
    WORD_BACK,
    WORD_SKIP,
    WORD_NEXT,
    WORD_STOP,
    WORD_WRITE,
    WORD_DOUBT,
    WORD_HELP
} Word;

static const struct {
    Str text;
    Word word;
    const char *says;
} words[] = {
    {STR("back"), WORD_BACK, "the one before again"},
    {STR("skip"), WORD_SKIP, "leave this one for later"},
    {STR("next"), WORD_NEXT, "leave the rest of this grid"},
    {STR("?"), WORD_DOUBT, "the value before is doubtful"},
    {STR("-"), WORD_NONE, "not measured, and meant so"},
    {STR("write"), WORD_WRITE, "to the log with what there is"},
    {STR("stop"), WORD_STOP, "go on another time"},
    {STR("help"), WORD_HELP, "this list"},
};

static TextStyle style_of(const Fill *f) {
    return (TextStyle){.width = (int)f->run->out.width, .colour = f->run->out.colour};
}

static Word word_of(Str line) {
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (words[i].word != WORD_NONE && str_ieq(line, words[i].text)) return words[i].word;
    }
    return WORD_NONE;
}

static void say_words(Fill *f) {
    Buf *b = &f->run->out.buf;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        buf_printf(b, "  %-6s %s\n", words[i].text.p, words[i].says);
    fold_text(b, STR("  A value may have its own unit, a ? behind it, a ; and a remark."),
              (int)f->run->out.width, 2);
}

/* ---- the question ---------------------------------------------------------------------------- */

static uint32_t open_cells(const Bench *b) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->count; i++)
        n += !b->cells[i].value.n && !b->cells[i].skipped;
    return n;
}

static BenchCell *next_open(Fill *f, const BenchCell *behind) {
    Bench *b = &f->bench;
    uint32_t from = behind ? (uint32_t)(behind - b->cells) + 1 : 0;
    for (uint32_t i = 0; i < b->count; i++) {
        BenchCell *cell = &b->cells[(from + i) % b->count];
        if (!cell->value.n && !cell->skipped) return cell;
    }
    return NULL;
}

static void say_grid(Fill *f, const PlanGrid *g) {
    Buf *b = &f->run->out.buf;
    TextStyle style = style_of(f);
    buf_putc(b, '\n');
    Str title =
        arena_printf(f->run->arena, "%.*s (%u to go)", STR_ARG(g->title), open_cells(&f->bench));
    tone_text(b, title, TONE_HEAD, style.colour);
    buf_putc(b, '\n');
    if (g->form && g->form->says.n) fold_text(b, g->form->says, style.width, 0);
}

/* The place on a line of its own: it is what must not be mistaken. */
static void say_question(Fill *f, const BenchCell *cell) {
    const PlanGrid *g = &f->plan.grids[cell->grid];
    Buf *b = &f->run->out.buf;
    TextStyle style = style_of(f);
    Str place = g->labels[cell->row];
    if (!f->feeds[0].terminal) return;
    buf_putc(b, '\n');
    if (place.n) {
        tone_text(b, place, TONE_HEAD, style.colour);
        buf_puts(b, "  ");
    }
    Str was =
        cell->value.n ? arena_printf(f->run->arena, " (was %.*s)", STR_ARG(cell->value)) : (Str){0};
    Str head = arena_printf(f->run->arena, "%.*s%.*s", STR_ARG(g->columns[cell->column].head),
                            STR_ARG(was));
    fold_text(b, head, style.width - (int)place.n - 2, 2);
    buf_puts(b, "> ");
    out_flush(&f->run->out);
}

/* ---- the answer ------------------------------------------------------------------------------ */

static bool gauge_value(Fill *f, Str line, Str *value) {
    Str number, unit;
    static const Str plain[] = {STR("VALUE"), STR("VALUE UNIT")};
    bool fits = f->pattern.n ? pattern_fits(f->pattern, line, &number, &unit)
                             : pattern_fits(plain[0], line, &number, &unit) ||
                                   pattern_fits(plain[1], line, &number, &unit);
    if (!fits) return false;
    *value = arena_printf(f->run->arena, "%.*s%s%.*s", STR_ARG(number), unit.n ? " " : "",
                          STR_ARG(unit));
    return true;
}

static bool take_value(Fill *f, BenchCell *cell, Str typed, const char **fault) {
    BenchCell old = *cell;
    const Look *now = fill_try(f, cell, typed, fault);
    if (!now) return false;
    if (!bench_keep(&f->bench, cell, &f->run->err)) {
        *cell = old; /* what is not on the disk is not given */
        return false;
    }
    Buf *b = &f->run->out.buf;
    TextStyle style = style_of(f);
    if (!f->feeds[0].terminal) buf_printf(b, "%.*s:\n", STR_ARG(cell->key));
    typed_text(b, f->look, now, (Span){f->entry_at + cell->span.off, cell->span.len}, f->entry_at,
               style);
    out_flush(&f->run->out);
    f->look = now;
    f->last = cell;
    return true;
}

static bool doubt_last(Fill *f, const char **fault) {
    BenchCell *cell = f->last;
    *fault = "there is no value before to doubt";
    if (!cell || !cell->value.n || str_eq(cell->value, STR("-"))) return false;
    if (str_ends(cell->value, STR("?"))) {
        *fault = "it is doubted already";
        return false;
    }
    Str remark =
        cell->remark.n ? arena_printf(f->run->arena, " ; %.*s", STR_ARG(cell->remark)) : (Str){0};
    return take_value(
        f, cell, arena_printf(f->run->arena, "%.*s ?%.*s", STR_ARG(cell->value), STR_ARG(remark)),
        fault);
}

static bool skip_cells(Fill *f, BenchCell *cell, bool all) {
    Bench *b = &f->bench;
    for (uint32_t i = (uint32_t)(cell - b->cells); i < b->count; i++) {
        if (b->cells[i].grid != cell->grid) break;
        if (b->cells[i].value.n) continue;
        if (!bench_keep_skip(b, &b->cells[i], &f->run->err)) return false;
        b->cells[i].skipped = true;
        if (!all) break;
    }
    return true;
}

/* The cell before this one in the order they are asked. */
static BenchCell *cell_before(Fill *f, const BenchCell *cell) {
    Bench *b = &f->bench;
    if (!cell) return f->last ? f->last : b->count ? &b->cells[b->count - 1] : NULL;
    return cell > b->cells ? &b->cells[cell - b->cells - 1] : NULL;
}

/* ---- the end --------------------------------------------------------------------------------- */

static void say_kept(Fill *f) {
    uint32_t n = bench_given(&f->bench);
    if (!n) return;
    complain("%u value%s kept in %s and not in the log yet: thou fill %s goes on", n,
             n == 1 ? " is" : "s are", f->bench.side, f->name);
}

static ExitCode write_entry(Fill *f) {
    const Look *whole = fill_look(f);
    const Finding *bad = look_first_fault(whole, f->entry_at);
    if (bad) {
        err_set(&f->run->err, ERR_USAGE,
                "%s was not written: its new entry would not be read whole (%.*s)", f->path,
                STR_ARG(bad->message));
        return EXIT_TROUBLE;
    }
    uint32_t line = source_line_at(&whole->source, f->entry_at), n = bench_given(&f->bench);
    if (!bench_append(&f->bench, f->path, f->log.text, &f->stamp, &f->run->err)) {
        say_kept(f);
        return EXIT_TROUBLE;
    }
    buf_printf(&f->run->out.buf, "%s:%u: %u value%s written\n", f->path, line, n,
               n == 1 ? "" : "s");
    return EXIT_FINE;
}

static size_t widest(Str text) {
    size_t most = 0;
    for (size_t end; text.n; text = str_skip(text, end + 1)) {
        end = str_find_char(text, '\n', 0);
        if (end == SIZE_MAX) end = text.n;
        size_t wide = utf8_width((Str){text.p, end});
        if (wide > most) most = wide;
    }
    return most;
}

/* As it goes to the log; where that is too wide, a line a value. */
static void show_entry(Fill *f) {
    Buf *b = &f->run->out.buf;
    Str entry = bench_entry(&f->bench, f->run->arena);
    bool narrow = widest(entry) > f->run->out.width;
    buf_putc(b, '\n');
    if (!narrow) buf_add(b, entry);
    for (uint32_t i = 0; i < f->bench.count && narrow; i++) {
        const BenchCell *cell = &f->bench.cells[i];
        if (!cell->value.n) continue;
        Str line =
            arena_printf(f->run->arena, "%.*s = %.*s", STR_ARG(cell->key), STR_ARG(cell->value));
        fold_text(b, line, (int)f->run->out.width, 2);
    }
    buf_putc(b, '\n');
    fold_text(b, STR("Enter writes this to the log. back, stop."), (int)f->run->out.width, 0);
    buf_puts(b, "> ");
    out_flush(&f->run->out);
}

typedef enum Step { STEP_ON, STEP_WRITE, STEP_STOP, STEP_FAULT } Step;

/* A line for the cell that is asked for; NULL cell: all is given, and it is the last look. */
static Step take_line(Fill *f, BenchCell **at, const Feed *from, Str line) {
    const char *fault = NULL;
    BenchCell *cell = *at;
    Word word = from->gauge ? WORD_NONE : word_of(line);
    if (!line.n) return !cell && from->terminal ? STEP_WRITE : STEP_ON;
    if (from->gauge && !gauge_value(f, line, &line))
        fault = "it does not fit the pattern";
    else if (word == WORD_STOP || word == WORD_WRITE)
        return word == WORD_STOP ? STEP_STOP : STEP_WRITE;
    else if (word == WORD_HELP)
        say_words(f);
    else if (word == WORD_BACK)
        *at = cell_before(f, cell);
    else if (word == WORD_DOUBT)
        (void)doubt_last(f, &fault);
    else if (!cell)
        fault = "all is given";
    else if (word == WORD_SKIP || word == WORD_NEXT) {
        if (!skip_cells(f, cell, word == WORD_NEXT)) return STEP_FAULT;
        *at = next_open(f, cell);
    } else if (take_value(f, cell, line, &fault))
        *at = next_open(f, cell);
    if (f->run->err.kind) return STEP_FAULT;
    if (!fault) return STEP_ON;
    if (!from->terminal && !from->device) {
        err_set(&f->run->err, ERR_USAGE,
                "%s, line %u: '%.*s': %s; nothing behind it was taken, so that no value comes "
                "to stand at another place",
                from->name, from->line, STR_ARG(line), fault);
        return STEP_FAULT;
    }
    Str text = arena_printf(f->run->arena, "! '%.*s' is not taken: %s", STR_ARG(line), fault);
    fold_text(&f->run->out.buf, text, (int)f->run->out.width, 2);
    return STEP_ON;
}

static void say_again(Fill *f, Str dropped, Str twice) {
    Str text = arena_printf(f->run->arena, "! %s was changed meanwhile and is read again%s%.*s%s",
                            f->path, dropped.n ? ": it answers " : "", STR_ARG(dropped),
                            dropped.n ? ", not asked any more" : "");
    fold_text(&f->run->out.buf, text, (int)f->run->out.width, 2);
    if (!twice.n) return;
    text = arena_printf(
        f->run->arena,
        "! %.*s stands in it too by now: what was typed here comes behind it, and counts",
        STR_ARG(twice));
    fold_text(&f->run->out.buf, text, (int)f->run->out.width, 2);
}

/* Nobody types into a pipe with the log open beside it; at a terminal the change is said. */
static bool look_again(Fill *f, BenchCell **at) {
    bool changed, open = *at && !(*at)->skipped;
    Str dropped, twice;
    if (!fill_reread(f, &changed)) return false;
    if (!changed) return true;
    if (!fill_drop_answered(f, &dropped, &twice)) return false;
    say_again(f, dropped, twice);
    if (open && (*at)->skipped) *at = next_open(f, *at);
    f->look = fill_look(f);
    return true;
}

static ExitCode stop(Fill *f, bool meant) {
    say_kept(f);
    if (f->run->err.kind) return EXIT_TROUBLE;
    if (!meant)
        complain("%u value%s still wanted", open_cells(&f->bench),
                 open_cells(&f->bench) == 1 ? " is" : "s are");
    return meant ? EXIT_FINE : EXIT_FINDINGS;
}

static bool something(const Fill *f) {
    return bench_given(&f->bench) + f->bench.strays > 0;
}

ExitCode fill_bench(Fill *f) {
    BenchCell *cell = next_open(f, NULL);
    uint32_t grid = UINT32_MAX;
    f->look = fill_look(f);
    for (;;) {
        if (!f->feeds[0].terminal && !cell) return something(f) ? write_entry(f) : stop(f, true);
        if (f->feeds[0].terminal && !look_again(f, &cell)) return stop(f, false);
        if (cell && cell->grid != grid && f->feeds[0].terminal) {
            grid = cell->grid;
            say_grid(f, &f->plan.grids[grid]);
        }
        if (cell)
            say_question(f, cell);
        else
            show_entry(f);
        Str line;
        Feed *from;
        if (!feed_line(f->feeds, 2, f->run->arena, &line, &from)) return stop(f, false);
        switch (take_line(f, &cell, from, str_trim(line))) {
        case STEP_ON: break;
        case STEP_WRITE: return something(f) ? write_entry(f) : stop(f, true);
        case STEP_STOP: return stop(f, true);
        case STEP_FAULT: return stop(f, false);
        }
    }
}
