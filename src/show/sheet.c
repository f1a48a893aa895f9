#include "show/sheet_parts.h"

static Sheet sheet_start(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = {.out = out, .e = e, .how = how, .a = arena_new()};
    s.s = eval_state(e);
    s.j = eval_job(e);
    s.v = s.j->vocab;
    s.verdicts = verdicts_of(e, s.a);
    return s;
}

static void write_legend(Sheet *s) {
    static const char *const says[MARKS] = {
        [MARK_SUSPECT] = "? doubted, not computed with",
        [MARK_NOMINAL] = "* from the part's card, not measured",
        [MARK_CARRIED] = "~ carried on from an older reading, or beyond what was measured",
        [MARK_PARTIAL] = "+ of those that were measured, some are missing",
    };
    Buf line = {0};
    for (int i = 0; i < MARKS; i++) {
        if (!s->marked[i]) continue;
        buf_printf(&line, "%s%s", line.n ? "; " : "", says[i]);
    }
    if (line.n) {
        buf_puts(s->out, "\n  ");
        fold_text(s->out, buf_str(&line), s->how->width, 2);
    }
    buf_release(&line);
}

void sheet_text(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, e, how);
    sheet_head(&s);
    sheet_lists(&s);
    sheet_places(&s);
    sheet_curves(&s);
    sheet_limits(&s);
    write_legend(&s);
    sheet_missing(&s);
    sheet_doubts(&s);
    sheet_notes(&s);
    sheet_cautions(&s);
    arena_free(s.a);
}

void sheet_json(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, e, how);
    table_json(out, sheet_rows(&s));
    arena_free(s.a);
}

void sheet_csv(Buf *out, Eval *e, const SheetOptions *how) {
    Sheet s = sheet_start(out, e, how);
    table_csv(out, sheet_rows(&s));
    arena_free(s.a);
}
