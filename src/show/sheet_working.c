/* A number on a page: its digits, how it stands against its limits, and its working behind it. */
#include "show/sheet_parts.h"
#include "show/why.h"

const Verdict *sheet_verdict(const Sheet *s, TagId tag, SubjectId id) {
    const Verdict *worst = NULL;
    for (uint32_t i = 0; i < s->verdicts.count; i++) {
        const Verdict *v = &s->verdicts.items[i];
        if (v->force->tag != tag || v->subject != id || v->kind == VERDICT_UNJUDGED) continue;
        if (v->kind == VERDICT_BROKEN && !v->accepted) return v;
        if (!worst || v->kind == VERDICT_BROKEN) worst = v;
    }
    return worst;
}

/* The mark is a sign of its own, so that it is seen without colour. */
static void add_text(Sheet *s, Buf *out, Str text, const Verdict *v) {
    bool broken = v && v->kind == VERDICT_BROKEN;
    if (!broken) {
        buf_html(out, text);
        return;
    }
    s->marked[v->accepted ? MARK_ACCEPTED : MARK_BROKEN] = true;
    buf_puts(out, v->accepted ? "<b class=\"accepted\">" : "<b class=\"bad\">");
    buf_html(out, text);
    buf_puts(out, v->accepted ? "</b><i>a</i>" : "</b><i>!</i>");
}

static bool has_working(const Tag *t) {
    return t->kind == TAG_NUMBER;
}

void page_cell(void *sheet, Buf *out, const Cell *cell) {
    Sheet *s = sheet;
    const Ref *ref = cell->ref ? &s->refs[cell->ref - 1] : NULL;
    if (!ref || !has_working(&s->v->tags[ref->tag]) || str_eq(cell->text, STR("-"))) {
        buf_html(out, cell->text);
        return;
    }
    SubjectId id = s->j->classes[s->v->tags[ref->tag].of].ids[ref->i];
    Buf working = {0};
    if (ref->reading != NO_READING)
        why_read(&working, s->e, &s->j->readings[ref->reading], s->how->system);
    else
        why_short(&working, s->e, &s->verdicts, ref->tag, id, s->how->system);
    buf_puts(out, "<details name=\"w\"><summary>");
    add_text(s, out, cell->text,
             ref->reading == NO_READING ? sheet_verdict(s, ref->tag, id) : NULL);
    buf_puts(out, "</summary><div>");
    buf_html(out, str_trim(buf_str(&working)));
    buf_puts(out, "</div></details>");
    buf_release(&working);
}
