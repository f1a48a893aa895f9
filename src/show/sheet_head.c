/* The head of the sheet, and the notes that the builder wrote for the owner. */
#include "base/utf8.h"
#include "log/line.h"
#include "show/sheet_parts.h"

static void head_line(Sheet *s, Table *t, const char *name, Str value) {
    if (!value.n) return;
    uint32_t row = table_row(t);
    table_put(t, row, 0, str_from(name), TONE_DIM);
    table_put(t, row, 1, value, TONE_PLAIN);
    (void)s;
}

static Str fact(const Sheet *s, Role role) {
    return state_words(s->s, s->v->roles[role], SUBJECT_ENGINE);
}

static Str dates(Sheet *s) {
    int32_t first = INT32_MAX, last = INT32_MIN;
    for (uint32_t i = 0; i < s->j->entry_count; i++) {
        const Entry *e = &s->j->entries[i];
        if (e->source || e->date.day == DAY_NONE || !entry_counts(s->s, i)) continue;
        if (e->date.day < first) first = e->date.day;
        if (e->date.day > last) last = e->date.day;
    }
    if (first == INT32_MAX) return (Str){0};
    if (first == last) return sheet_date(s, first);
    return arena_printf(s->a, "%.*s to %.*s", STR_ARG(sheet_date(s, first)),
                        STR_ARG(sheet_date(s, last)));
}

static Str layout(Sheet *s) {
    Buf b = {0};
    buf_add(&b, fact(s, ROLE_LAYOUT));
    for (uint8_t c = 1; c < s->v->class_count; c++) {
        const Class *k = &s->v->classes[c];
        if (k->kind != CLASS_PLACE || !s->j->place_count[c]) continue;
        buf_printf(&b, "%s%u %.*s", b.n ? ", " : "", s->j->place_count[c], STR_ARG(k->plural));
    }
    Str text = arena_str(s->a, buf_str(&b));
    buf_release(&b);
    return text;
}

static Str run_time(Sheet *s) {
    TagId tag = s->v->roles[ROLE_RUN_TIME];
    if (tag == TAG_NONE || s->v->tags[tag].of != CLASS_ENGINE) return (Str){0};
    if (eval_tag(s->e, tag)->st[0] & V_MISSING) return (Str){0};
    Value value = sheet_value(s, tag, 0);
    return sheet_under(s, &value, NULL).text;
}

/* Who decided the units where none was written: a reader of another shop must know. */
static Str units(Sheet *s) {
    bool shop = false;
    for (uint32_t i = 0; i < s->j->reading_count && !shop; i++)
        shop = (s->j->readings[i].flags & READ_UNIT_SHOP) != 0;
    if (shop && s->v->units == SYSTEM_US)
        return STR("us where none is written, as the shop's own setting says");
    if (shop && s->v->units == SYSTEM_METRIC)
        return STR("metric where none is written, as the shop's own setting says");
    if (shop) return STR("where none is written, those of the shop's own setting");
    if (s->j->units == SYSTEM_US) return STR("us where none is written, as the job says");
    if (s->j->units == SYSTEM_METRIC) return STR("metric where none is written, as the job says");
    return (Str){0};
}

void sheet_head(Sheet *s) {
    Table *t = table_new(s->a);
    table_column(t, (TableColumn){.label = true});
    table_column(t, (TableColumn){0});
    if (!s->page) { /* there it is the page's heading */
        head_line(s, t, "job", s->j->name);
        head_line(s, t, "title", fact(s, ROLE_TITLE));
    }
    head_line(s, t, "engine", fact(s, ROLE_ENGINE));
    head_line(s, t, "owner", fact(s, ROLE_OWNER));
    head_line(s, t, "layout", layout(s));
    head_line(s, t, "entries", dates(s));
    head_line(s, t, "stage", fact(s, ROLE_STAGE));
    head_line(s, t, "run", run_time(s));
    head_line(s, t, "goes on from", fact(s, ROLE_CONTINUES));
    head_line(s, t, "units", units(s));
    if (s->how->until != INT32_MAX) head_line(s, t, "as of", sheet_date(s, s->how->until));
    s->paper->table(s, t, 0);
}

void sheet_notes(Sheet *s) {
    LineReader lines;
    Line line;
    bool counts = true, any = false;
    uint32_t entry = 0;
    line_start(&lines, s->j->sources[0], NULL);
    for (line_next(&lines, &line); line.kind != LINE_END; line_next(&lines, &line)) {
        if (line.kind == LINE_HEADING) {
            while (entry + 1 < s->j->entry_count &&
                   (s->j->entries[entry].source != 0 || s->j->entries[entry].span.off < line.off))
                entry++;
            counts = entry_counts(s->s, entry);
        }
        if (line.kind != LINE_NOTE || line.quoted_note || !counts) continue;
        if (line.body.n < 6 || !str_ieq((Str){line.body.p, 6}, STR("owner:"))) continue;
        if (!any) sheet_section(s, STR("For the owner"));
        any = true;
        sheet_say(s, 2, 2, str_trim(str_skip(line.body, 6)));
    }
}
