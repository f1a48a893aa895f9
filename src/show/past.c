#include "show/past.h"

#include "show/summary.h"
#include "show/table.h"

typedef struct Showing {
    Buf *out;
    const Past *p;
    Arena *a; /* its own */
    const PastOptions *how;
} Showing;

static const PastRecord *record_of(const Showing *s, uint32_t version) {
    return &s->p->records[version];
}

static Str when_of(const PastRecord *r) {
    return r->id.n ? r->kept : STR("not kept yet");
}

static void section(const Showing *s, const char *title) {
    buf_putc(s->out, '\n');
    tone_text(s->out, str_from(title), TONE_HEAD, s->how->colour);
    buf_putc(s->out, '\n');
}

static uint32_t first_shown(uint32_t count, const PastOptions *how) {
    return how->most && count > how->most ? count - how->most : 0;
}

static void say_left_out(Buf *out, uint32_t left, const char *what) {
    if (left) buf_printf(out, "  %u earlier %s%s (--all)\n", left, what, left == 1 ? "" : "s");
}

/* ---- records ------------------------------------------------------------------------------------
 */

static void record_line(Buf *out, const PastRecord *r, const PastOptions *how) {
    if (!r->id.n) {
        buf_puts(out, "  the file, not kept yet\n");
        return;
    }
    buf_printf(out, "  %.*s  %.*s", STR_ARG(r->id), STR_ARG(r->kept));
    if (fold_needed(out, r->by, how->width - 2))
        buf_puts(out, "\n    ");
    else
        buf_puts(out, "  ");
    fold_text(out, r->by, how->width, 6);
    buf_puts(out, "    ");
    fold_text(out, r->summary, how->width - 4, 4);
}

void past_records_text(Buf *out, const PastRecord *records, uint32_t count,
                       const PastOptions *how) {
    for (uint32_t i = 0; i < count; i++)
        record_line(out, &records[i], how);
}

typedef enum Key {
    KEY_KIND,
    KEY_JOB,
    KEY_ENTRY,
    KEY_SUBJECT,
    KEY_TAG,
    KEY_AT_VALUE,
    KEY_AT_UNIT,
    KEY_AT_SPOT,
    KEY_CHANGE,
    KEY_WAS_VALUE,
    KEY_WAS_UNIT,
    KEY_WAS_TEXT,
    KEY_VALUE,
    KEY_UNIT,
    KEY_TEXT,
    KEY_STATE,
    KEY_ID,
    KEY_KEPT,
    KEY_BY,
    KEY_SUMMARY,
    KEY_FILE,
    KEY_LINE,
    KEYS
} Key;

static const TableColumn columns[KEYS] = {
    [KEY_KIND] = {.key = "kind"},
    [KEY_JOB] = {.key = "job"},
    [KEY_ENTRY] = {.key = "entry"},
    [KEY_SUBJECT] = {.key = "subject"},
    [KEY_TAG] = {.key = "tag"},
    [KEY_AT_VALUE] = {.key = "at.value", .json = JSON_NUMBER},
    [KEY_AT_UNIT] = {.key = "at.unit"},
    [KEY_AT_SPOT] = {.key = "at.spot"},
    [KEY_CHANGE] = {.key = "change"},
    [KEY_WAS_VALUE] = {.key = "was.value", .json = JSON_NUMBER},
    [KEY_WAS_UNIT] = {.key = "was.unit"},
    [KEY_WAS_TEXT] = {.key = "was.text"},
    [KEY_VALUE] = {.key = "value", .json = JSON_NUMBER},
    [KEY_UNIT] = {.key = "unit"},
    [KEY_TEXT] = {.key = "text"},
    [KEY_STATE] = {.key = "state"},
    [KEY_ID] = {.key = "id"},
    [KEY_KEPT] = {.key = "kept"},
    [KEY_BY] = {.key = "by"},
    [KEY_SUMMARY] = {.key = "summary"},
    [KEY_FILE] = {.key = "file"},
    [KEY_LINE] = {.key = "line", .json = JSON_NUMBER},
};

static void put(Table *t, uint32_t row, Key key, Str text) {
    table_put(t, row, (uint32_t)key, text, TONE_PLAIN);
}

static Table *new_rows(Arena *a) {
    Table *t = table_new(a);
    for (int i = 0; i < KEYS; i++)
        table_column(t, columns[i]);
    return t;
}

static void put_record(Table *t, uint32_t row, const PastRecord *r) {
    if (!r->id.n) return; /* not kept yet: nothing of these */
    put(t, row, KEY_ID, r->id);
    put(t, row, KEY_KEPT, r->kept);
    put(t, row, KEY_BY, r->by);
}

static void record_row(Table *t, const PastRecord *r) {
    uint32_t row = table_row(t);
    put(t, row, KEY_KIND, STR("record"));
    put_record(t, row, r);
    put(t, row, KEY_SUMMARY, r->summary);
}

static Table *record_rows(const PastRecord *records, uint32_t count, Arena *a) {
    Table *t = new_rows(a);
    for (uint32_t i = 0; i < count; i++) {
        if (records[i].id.n) record_row(t, &records[i]);
    }
    return t;
}

void past_records_json(Buf *out, const PastRecord *records, uint32_t count) {
    Arena *a = arena_new();
    table_json(out, record_rows(records, count, a));
    arena_free(a);
}

void past_records_csv(Buf *out, const PastRecord *records, uint32_t count) {
    Arena *a = arena_new();
    table_csv(out, record_rows(records, count, a));
    arena_free(a);
}

/* ---- as text ------------------------------------------------------------------------------------
 */

static void show_records(const Showing *s) {
    uint32_t from = first_shown(s->p->count, s->how);
    section(s, "records");
    say_left_out(s->out, from, "record");
    past_records_text(s->out, s->p->records + from, s->p->count - from, s->how);
}

static void show_corrections(const Showing *s) {
    const Timeline *t = s->p->timeline;
    if (!t->step_count) return;
    uint32_t from = first_shown(t->step_count, s->how);
    section(s, "corrections");
    say_left_out(s->out, from, "correction");
    for (uint32_t i = from; i < t->step_count; i++) {
        const TimelineStep *step = &t->steps[i];
        const PastRecord *r = record_of(s, step->version);
        const Said *now = step->kind == CHANGE_REMOVED ? NULL : &step->now;
        Str text = summary_change(s->p->vocab, &step->was, now, step->kind, s->a);
        Str line = arena_printf(s->a, "%.*s%s%.*s  %.*s%s", STR_ARG(when_of(r)),
                                r->by.n ? "  " : "", (int)r->by.n, r->by.n ? r->by.p : "",
                                STR_ARG(text), step->in_log ? ", in the log" : "");
        buf_puts(s->out, "  ");
        fold_text(s->out, line, s->how->width - 2, 4);
    }
}

static Str date_of(const Showing *s, Date date) {
    char text[DATE_TEXT];
    if (date.day == DAY_NONE) return STR("head of the log");
    return arena_printf(s->a, "%s", date_text(date, text));
}

static void reading_row(const Showing *s, Table *t, const TimelineLine *line) {
    const PastRecord *r = record_of(s, line->first);
    uint32_t row = table_row(t);
    table_put(t, row, 0, said_name(s->p->vocab, &line->said, s->a), TONE_PLAIN);
    table_put(t, row, 1, said_value(&line->said, true, s->a), TONE_PLAIN);
    table_put(t, row, 2, when_of(r), TONE_PLAIN);
    table_put(t, row, 3, r->by, TONE_PLAIN);
    if (line->last == line->first) return;
    table_put(t, row, 4, when_of(record_of(s, line->last)), TONE_PLAIN);
}

static Table *reading_table(const Showing *s) {
    Table *t = table_new(s->a);
    table_column(t, (TableColumn){.heading = STR("reading"), .label = true});
    table_column(t, (TableColumn){.heading = STR("value"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("first kept")});
    table_column(t, (TableColumn){.heading = STR("by")});
    table_column(t, (TableColumn){.heading = STR("changed")});
    return t;
}

/* A table an entry, in the order of the file. */
static void show_readings(const Showing *s) {
    const Timeline *t = s->p->timeline;
    Table *table = NULL;
    Date at = {0};
    for (uint32_t i = 0; i <= t->order_count; i++) {
        const TimelineLine *line = i < t->order_count ? &t->lines[t->order[i]] : NULL;
        if (line && line->said.kind != SAID_READING) continue;
        bool same =
            table && line && line->said.date.day == at.day && line->said.date.minute == at.minute;
        if (table && !same)
            table_text(s->out, table, (TextStyle){s->how->width, s->how->colour, 2});
        if (!line) break;
        if (!same) {
            at = line->said.date;
            section(s, date_of(s, at).p);
            table = reading_table(s);
        }
        reading_row(s, table, line);
    }
}

void past_text(Buf *out, const Past *p, const PastOptions *how) {
    Showing s = {out, p, arena_new(), how};
    buf_printf(out, "%.*s: %u record%s", STR_ARG(p->job), p->count, p->count == 1 ? "" : "s");
    if (!p->records[p->count - 1].id.n) buf_puts(out, ", counting the file as it stands");
    buf_putc(out, '\n');
    show_records(&s);
    show_corrections(&s);
    show_readings(&s);
    arena_free(s.a);
}

/* ---- as rows ------------------------------------------------------------------------------------
 */

static void put_value(const Showing *s, Table *t, uint32_t row, const Said *said, Key value,
                      Key unit, Key text) {
    Buf number = {0};
    bool plain = said->kind == SAID_READING && json_reading(&number, said->text);
    put(t, row, value, arena_str(s->a, buf_str(&number)));
    if (!plain) put(t, row, text, said->text);
    if (said->unit) put(t, row, unit, str_from(said->unit->name));
    buf_release(&number);
}

static void put_said(const Showing *s, Table *t, uint32_t row, const Said *said) {
    put(t, row, KEY_JOB, s->p->job);
    if (said->date.day != DAY_NONE) put(t, row, KEY_ENTRY, date_of(s, said->date));
    put(t, row, KEY_SUBJECT, said->subject);
    put(t, row, KEY_TAG, said->tag == TAG_NONE ? said->head : s->p->vocab->tags[said->tag].name);
    if (said->at_unit) {
        put(t, row, KEY_AT_VALUE, said->condition);
        put(t, row, KEY_AT_UNIT, str_from(said->at_unit->name));
    } else {
        put(t, row, KEY_AT_SPOT, said->condition);
    }
    put_value(s, t, row, said, KEY_VALUE, KEY_UNIT, KEY_TEXT);
    put(t, row, KEY_STATE,
        said->flags & READ_STRUCK    ? STR("struck")
        : said->flags & READ_SUSPECT ? STR("suspect")
                                     : STR("ok"));
}

static void step_row(const Showing *s, Table *t, const TimelineStep *step) {
    static const char *const words[CHANGE_KINDS] = {
        [CHANGE_VALUE] = "value", [CHANGE_CONDITION] = "condition", [CHANGE_STATE] = "state",
        [CHANGE_MOVED] = "entry", [CHANGE_REMOVED] = "taken out",   [CHANGE_ADDED] = "added"};
    uint32_t row = table_row(t);
    put(t, row, KEY_KIND, STR("correction"));
    put(t, row, KEY_CHANGE, step->in_log ? STR("in log") : str_from(words[step->kind]));
    put_said(s, t, row, &step->now);
    put_value(s, t, row, &step->was, KEY_WAS_VALUE, KEY_WAS_UNIT, KEY_WAS_TEXT);
    put_record(t, row, record_of(s, step->version));
}

static void line_row(const Showing *s, Table *t, const TimelineLine *line) {
    static const char *const kinds[] = {[SAID_READING] = "reading",
                                        [SAID_FACT] = "fact",
                                        [SAID_PLACED] = "placed",
                                        [SAID_RULE] = "rule"};
    uint32_t row = table_row(t);
    put(t, row, KEY_KIND, str_from(kinds[line->said.kind]));
    put_said(s, t, row, &line->said);
    put_record(t, row, record_of(s, line->first));
    put(t, row, KEY_FILE, s->p->now->path);
    Position at = source_position(s->p->now, line->said.off);
    put(t, row, KEY_LINE, arena_printf(s->a, "%u", at.line));
}

static Table *past_rows(const Showing *s) {
    const Timeline *t = s->p->timeline;
    Table *rows = record_rows(s->p->records, s->p->count, s->a);
    for (uint32_t i = 0; i < t->step_count; i++)
        step_row(s, rows, &t->steps[i]);
    for (uint32_t i = 0; i < t->order_count; i++)
        line_row(s, rows, &t->lines[t->order[i]]);
    return rows;
}

void past_json(Buf *out, const Past *p) {
    Showing s = {out, p, arena_new(), NULL};
    table_json(out, past_rows(&s));
    arena_free(s.a);
}

void past_csv(Buf *out, const Past *p) {
    Showing s = {out, p, arena_new(), NULL};
    table_csv(out, past_rows(&s));
    arena_free(s.a);
}
