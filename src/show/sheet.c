#include "show/sheet_parts.h"

Sheet sheet_start(Buf *out, const Paper *paper, Eval *e, const SheetOptions *how) {
    Sheet s = {.out = out, .paper = paper, .e = e, .how = how, .a = arena_new()};
    s.s = eval_state(e);
    s.j = eval_job(e);
    s.v = s.j->vocab;
    s.groups = sheet_groups(s.v, s.a);
    s.verdicts = verdicts_of(e, s.a);
    return s;
}

Str sheet_legend(Sheet *s) {
    static const char *const says[MARKS] = {
        [MARK_SUSPECT] = "? doubted, not computed with",
        [MARK_NOMINAL] = "* from the part's card, not measured",
        [MARK_CARRIED] = "~ carried on from an older reading, or beyond what was measured",
        [MARK_PARTIAL] = "+ of those that were measured, some are missing",
        [MARK_BROKEN] = "! breaks a limit",
        [MARK_ACCEPTED] = "a breaks a limit, accepted",
    };
    Buf line = {0};
    for (int i = 0; i < MARKS; i++) {
        if (!s->marked[i]) continue;
        buf_printf(&line, "%s%s", line.n ? "; " : "", says[i]);
    }
    Str text = arena_str(s->a, buf_str(&line));
    buf_release(&line);
    return text;
}

/* ---- on a terminal ----------------------------------------------------------------------------
 */

static void text_section(Sheet *s, Str title) {
    Buf toned = {0};
    tone_text(&toned, title, TONE_HEAD, s->how->colour);
    buf_putc(s->out, '\n');
    fold_text(s->out, buf_str(&toned), s->how->width, 2);
    buf_release(&toned);
}

static void text_line(Sheet *s, const SheetLine *line) {
    buf_fill(s->out, ' ', (size_t)line->indent);
    if (line->lead.n) {
        tone_text(s->out, line->lead, line->tone, s->how->colour);
        buf_putc(s->out, ' ');
    }
    fold_text(s->out, line->text, s->how->width, line->hang);
}

static void text_table(Sheet *s, const Table *t, int indent) {
    table_text(s->out, t, (TextStyle){s->how->width, s->how->colour, indent});
}

/* "all 6: bore 3.560 in, stroke 3.500 in" */
static void text_facts(Sheet *s, Str lead, const Table *t) {
    Buf line = {0};
    buf_add(&line, lead);
    for (uint32_t row = 0; row < t->row_count; row++) {
        const Cell *cells = &t->cells[(size_t)row * t->column_count];
        buf_printf(&line, "%s %.*s %.*s", row ? "," : "", STR_ARG(cells[0].text),
                   STR_ARG(cells[1].text));
    }
    sheet_say(s, 2, 4, buf_str(&line));
    buf_release(&line);
}

static const Paper text_paper = {text_section, text_line, text_table, text_facts, 0};

void sheet_text(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, &text_paper, e, how);
    sheet_head(&s);
    sheet_lists(&s);
    sheet_places(&s);
    sheet_curves(&s);
    sheet_limits(&s);
    Str legend = sheet_legend(&s);
    if (legend.n) {
        buf_putc(out, '\n');
        sheet_say(&s, 2, 2, legend);
    }
    sheet_missing(&s);
    sheet_doubts(&s);
    sheet_notes(&s);
    sheet_cautions(&s);
    arena_free(s.a);
}

void sheet_json(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, &text_paper, e, how);
    table_json(out, sheet_rows(&s));
    arena_free(s.a);
}

void sheet_csv(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, &text_paper, e, how);
    table_csv(out, sheet_rows(&s));
    arena_free(s.a);
}
