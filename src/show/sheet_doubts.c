/* Readings that do not count as they were written: doubted, struck, replaced, corrected for a
 * gauge. */
#include "show/sheet_parts.h"

static Str what(Sheet *s, const Reading *r) {
    Str name = say_subject(s->a, s->j, r->tag, r->subject);
    Str at = say_condition(s->a, s->j, r, s->how->system);
    return at.n ? arena_printf(s->a, "%.*s @ %.*s", STR_ARG(name), STR_ARG(at)) : name;
}

/* What the log says, whatever its gauge was found to be. */
static Str as_written(Sheet *s, const Reading *r) {
    Str text = reading_text(s->j, r);
    return r->unit ? arena_printf(s->a, "%.*s %s", STR_ARG(text), r->unit->name) : text;
}

static void add_remark(Sheet *s, Buf *b, const Reading *r) {
    Str remark = reading_remark(s->j, r);
    if (remark.n && !s->how->for_owner) buf_printf(b, "; %.*s", STR_ARG(remark));
}

/* The reading that counts in the place of r: the next of the same thing; NULL. */
static const Reading *instead(const Sheet *s, const Reading *r) {
    const Reading *found = NULL;
    for (uint32_t i = chain_last(s->j, r->tag, r->subject); i != NO_READING;
         i = chain_prev(s->j, i)) {
        const Reading *other = &s->j->readings[i];
        if (other == r) return found;
        if (sheet_counts(s, other) && same_condition(other->at, r->at) &&
            !(other->flags & READ_BAD))
            found = other;
    }
    return found;
}

static void write_one(Sheet *s, const Reading *r, const char *was, bool tell) {
    Buf line = {0};
    Str value = as_written(s, r);
    buf_printf(&line, "%.*s: %s %.*s (%.*s)", STR_ARG(what(s, r)), was, STR_ARG(value),
               STR_ARG(sheet_at(s, s->j, r)));
    const Reading *now = tell ? instead(s, r) : NULL;
    if (now)
        buf_printf(&line, ", now %.*s (%.*s)",
                   STR_ARG(say_reading(s->a, s->j, now, s->how->system, true)),
                   STR_ARG(sheet_at(s, s->j, now)));
    add_remark(s, &line, r);
    sheet_say(s, 2, 4, buf_str(&line));
    buf_release(&line);
}

/* Those with `flag` and none of `not`. */
static void write_flagged(Sheet *s, const char *title, uint16_t flag, uint16_t not, const char *was,
                          bool tell) {
    bool any = false;
    for (uint32_t i = 0; i < s->j->reading_count; i++) {
        const Reading *r = &s->j->readings[i];
        if (!(r->flags & flag) || (r->flags & not ) || r->source || !sheet_counts(s, r)) continue;
        if (!any) sheet_section(s, str_from(title));
        any = true;
        write_one(s, r, was, tell);
    }
}

static void write_gauged(Sheet *s) {
    Table *t = table_new(s->a);
    table_column(t, (TableColumn){.heading = STR("reading"), .label = true});
    table_column(t, (TableColumn){.heading = STR("as written"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("corrected"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("where")});
    for (uint32_t i = 0; i < s->j->reading_count; i++) {
        const Reading *r = &s->j->readings[i];
        if (!(r->flags & READ_GAUGED) || (r->flags & (READ_STRUCK | READ_REPLACED)) ||
            !sheet_counts(s, r))
            continue;
        uint32_t row = table_row(t);
        table_put(t, row, 0, what(s, r), TONE_PLAIN);
        table_put(t, row, 1, as_written(s, r), TONE_PLAIN);
        table_put(t, row, 2, say_reading(s->a, s->j, r, s->how->system, true), TONE_PLAIN);
        table_put(t, row, 3, sheet_at(s, s->j, r), TONE_PLAIN);
    }
    if (!t->row_count) return;
    sheet_section(s, STR("Corrected: taken with a gauge that was found off"));
    for (uint32_t i = 0; i < s->j->event_count; i++) {
        const Event *e = &s->j->events[i];
        if (e->kind != EVENT_GAUGE || !entry_counts(s->s, e->entry)) continue;
        const Source *source = s->j->sources[e->source];
        Str line = arena_printf(s->a, "%.*s (%.*s)", STR_ARG(source_slice(source, e->span)),
                                STR_ARG(sheet_place(s, source, e->span.off)));
        sheet_say(s, 2, 4, line);
    }
    s->paper->table(s, t, 2);
}

void sheet_doubts(Sheet *s) {
    write_flagged(s, "Doubted: not computed with", READ_SUSPECT, READ_STRUCK | READ_REPLACED, "was",
                  true);
    if (!s->how->for_owner)
        write_flagged(s, "Replaced by a later correction", READ_REPLACED, READ_STRUCK, "was", true);
    write_gauged(s);
    if (!s->how->for_owner) write_flagged(s, "Struck", READ_STRUCK, 0, "was", false);
}
