#include "base/utf8.h"
#include "cli/list.h"
#include "compute/job.h"
#include "show/table.h"

enum { GAP = 2, RUN_TEXT = 64 };

/* What a line of the list is made of, in its order. The last two go to a line of their own where
 * the terminal is narrow; a long owner goes on below in its column. */
enum { JOB, LAST, ERRORS, WARNINGS, RUN, ENGINE, OWNER, CELLS };
enum { OWNER_LEAST = 16, NUMBER_TEXT = 12 };

typedef struct Line {
    Str cells[CELLS];
    Tone tones[CELLS];
    char last[DATE_TEXT], run[RUN_TEXT], errors[NUMBER_TEXT], warnings[NUMBER_TEXT];
} Line;

static const Line headings = {
    .cells = {[JOB] = {"job", 3},
              [LAST] = {"last entry", 10},
              [RUN] = {"run", 3},
              [ERRORS] = {"errors", 6},
              [WARNINGS] = {"warnings", 8},
              [ENGINE] = {"engine", 6},
              [OWNER] = {"owner", 5}},
    .tones = {TONE_HEAD, TONE_HEAD, TONE_HEAD, TONE_HEAD, TONE_HEAD, TONE_HEAD, TONE_HEAD}};

static bool to_the_right(int cell) {
    return cell == RUN || cell == ERRORS || cell == WARNINGS;
}

static void say_findings(Line *l, const ListRow *row) {
    if (row->err.kind) {
        l->cells[ERRORS] = STR("unread");
        l->tones[ERRORS] = TONE_BAD;
        return;
    }
    (void)snprintf(l->errors, sizeof l->errors, "%u", row->errors);
    (void)snprintf(l->warnings, sizeof l->warnings, "%u", row->warnings);
    l->cells[ERRORS] = str_from(l->errors);
    l->cells[WARNINGS] = str_from(l->warnings);
    if (row->errors) l->tones[ERRORS] = TONE_BAD;
    if (row->warnings) l->tones[WARNINGS] = TONE_DOUBT;
}

static void line_of(Line *l, const ListRow *row) {
    *l = (Line){.cells = {[JOB] = row->name, [ENGINE] = row->engine, [OWNER] = row->owner}};
    if (row->last != DAY_NONE) l->cells[LAST] = str_from(date_text((Date){row->last, -1}, l->last));
    if (row->run.n) {
        (void)snprintf(l->run, sizeof l->run, "%.*s %.*s", STR_ARG(row->run),
                       STR_ARG(row->run_unit));
        l->cells[RUN] = str_from(l->run);
    }
    say_findings(l, row);
}

static void widen(size_t wide[CELLS], const Line *l) {
    for (int c = 0; c < CELLS; c++) {
        size_t n = utf8_width(l->cells[c]);
        if (n > wide[c]) wide[c] = n;
    }
}

static void add_cell(Buf *out, const Line *l, int c, size_t wide, bool last, bool colour) {
    size_t n = utf8_width(l->cells[c]), room = wide > n ? wide - n : 0;
    if (to_the_right(c)) buf_fill(out, ' ', room);
    tone_text(out, l->cells[c], l->tones[c], colour);
    if (!to_the_right(c) && !last) buf_fill(out, ' ', room);
    if (!last) buf_fill(out, ' ', GAP);
}

/* The text from here on, folded in its own column. */
static void add_folded(Buf *out, Str text, size_t column, unsigned width) {
    Buf folded = {0};
    buf_fill(&folded, ' ', column);
    fold_text(&folded, text, (int)width, (int)column);
    buf_add(out, str_skip(buf_str(&folded), column));
    buf_release(&folded);
}

typedef struct Layout {
    size_t wide[CELLS];
    size_t owner; /* the column where it starts */
    unsigned width;
    bool one;     /* line a job */
    int together; /* cells of the first line, when there are two */
    bool colour;
} Layout;

static void add_below(Buf *out, const Line *l, const Layout *how) {
    enum { INDENT = 4 };
    Buf text = {0};
    for (int c = how->together; c < CELLS; c++) {
        if (text.n && l->cells[c].n) buf_puts(&text, ", ");
        buf_add(&text, l->cells[c]);
    }
    if (text.n) {
        buf_fill(out, ' ', INDENT);
        add_folded(out, buf_str(&text), INDENT, how->width);
    }
    buf_release(&text);
}

static void add_line(Buf *out, const Line *l, const Layout *how) {
    bool owner = how->one && l->cells[OWNER].n;
    int end = how->one ? OWNER : how->together;
    while (!owner && end > 1 && !l->cells[end - 1].n)
        end--; /* nothing is filled up behind the last text */
    for (int c = 0; c < end; c++)
        add_cell(out, l, c, how->wide[c], c + 1 == end && !owner, how->colour);
    if (owner)
        add_folded(out, l->cells[OWNER], how->owner, how->width);
    else
        buf_putc(out, '\n');
    if (!how->one) add_below(out, l, how);
}

static size_t longest_word(Str text) {
    size_t longest = 0;
    for (Str word; (word = str_word(&text)).n;)
        if (utf8_width(word) > longest) longest = utf8_width(word);
    return longest;
}

void list_text(Buf *out, const List *l, unsigned width, bool colour) {
    Layout how = {.width = width, .colour = colour};
    size_t word = OWNER_LEAST;
    Line line;
    widen(how.wide, &headings);
    for (uint32_t i = 0; i < l->count; i++) {
        line_of(&line, &l->rows[i]);
        widen(how.wide, &line);
        size_t longest = longest_word(line.cells[OWNER]);
        if (longest > word) word = longest;
    }
    for (int c = 0; c < OWNER; c++)
        how.owner += how.wide[c] + GAP;
    size_t needed = how.wide[OWNER] < word ? how.wide[OWNER] : word;
    how.one = how.owner + needed <= width;
    size_t with_run = how.owner - how.wide[ENGINE] - 2 * GAP;
    how.together = with_run <= width ? ENGINE : RUN;
    add_line(out, &headings, &how);
    for (uint32_t i = 0; i < l->count; i++) {
        line_of(&line, &l->rows[i]);
        add_line(out, &line, &how);
    }
}
