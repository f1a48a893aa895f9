#include "book/import.h"

#include "base/buf.h"
#include "base/hash.h"
#include "base/utf8.h"
#include "log/line.h"

enum { MARK_DIGITS = 12, MARKS_A_LINE = 5 };

typedef struct Fields { /* where the map's columns stand in a record */
    uint32_t places[IMPORT_PLACES], condition;
    uint32_t *columns; /* UINT32_MAX: not read */
} Fields;

typedef struct Mark { /* of a row that stands in the log */
    Str text, heading;
    int32_t day; /* DAY_NONE above the first heading */
} Mark;

typedef struct Importer {
    Import *im;
    const ImportAsk *ask;
    Arena *a;
    Fields at;
    uint32_t fields;
    Mark *marks;
    uint32_t mark_count, mark_room;
    Err *err;
} Importer;

/* ---- the head -------------------------------------------------------------------------------- */

static bool find_field(Importer *p, const CsvRecord *head, Str name, uint32_t *out) {
    uint32_t found = 0;
    for (uint32_t i = 0; i < head->count; i++) {
        if (!str_eq(head->fields[i], name)) continue;
        *out = i;
        found++;
    }
    if (found == 1) return true;
    return err_set(p->err, ERR_USAGE, "%s: the CSV has %s column '%.*s'", p->im->map->path,
                   found ? "more than one" : "no", STR_ARG(name));
}

static bool find_fields(Importer *p, const CsvRecord *head) {
    const ImportMap *m = p->im->map;
    p->fields = head->count;
    p->at.condition = UINT32_MAX;
    p->at.columns = arena_array(p->a, m->count + 1, sizeof *p->at.columns);
    for (uint32_t i = 0; i < m->place_count; i++) {
        if (!find_field(p, head, m->places[i], &p->at.places[i])) return false;
    }
    if (m->condition.n && !find_field(p, head, m->condition, &p->at.condition)) return false;
    for (uint32_t i = 0; i < m->count; i++) {
        p->at.columns[i] = UINT32_MAX;
        if (m->columns[i].tag == TAG_NONE) continue;
        if (!find_field(p, head, m->columns[i].name, &p->at.columns[i])) return false;
    }
    return true;
}

/* ---- one row --------------------------------------------------------------------------------- */

static bool plain(Str s) {
    if (utf8_bad(s) != SIZE_MAX) return false;
    for (size_t i = 0; i < s.n; i++) {
        if ((unsigned char)s.p[i] < ' ' || s.p[i] == '|' || s.p[i] == ';') return false;
    }
    return true;
}

/* A declared decimal comma becomes a point; a number that has both is refused, not guessed. */
static bool number_text(Importer *p, Str text, Str *out, Str *why) {
    size_t comma = str_find_char(text, ',', 0);
    *out = text;
    if (!p->ask->decimal_comma) return true;
    if (str_find_char(text, '.', 0) != SIZE_MAX) {
        *why = arena_printf(p->a, "'%.*s' has a point, and the decimal mark is a comma",
                            STR_ARG(text));
        return false;
    }
    if (comma == SIZE_MAX) return true;
    if (str_find_char(text, ',', comma + 1) != SIZE_MAX) {
        *why = arena_printf(p->a, "'%.*s' has two commas", STR_ARG(text));
        return false;
    }
    *out = arena_printf(p->a, "%.*s.%.*s", (int)comma, text.p, STR_ARG(str_skip(text, comma + 1)));
    return true;
}

static bool all_digits(Str s) {
    for (size_t i = 0; i < s.n; i++) {
        if (!is_digit(s.p[i])) return false;
    }
    return s.n > 0;
}

static void read_label(Importer *p, const CsvRecord *rec, ImportRow *row) {
    const Class *k = &p->im->v->classes[p->im->map->rows];
    for (uint32_t i = 0; i < p->im->map->place_count; i++)
        row->label = arena_printf(p->a, "%.*s%.*s", STR_ARG(row->label),
                                  STR_ARG(rec->fields[p->at.places[i]]));
    if (!row->label.n) {
        row->why = STR("it names no place");
        return;
    }
    Str rest = row->label;
    (void)str_word(&rest);
    if (!plain(row->label) || str_trim(rest).n) {
        row->why = arena_printf(p->a, "'%.*s' is no place", STR_ARG(row->label));
        return;
    }
    if (k->kind != CLASS_ITEM) return;
    Str number = row->label.p[0] == '#' ? str_skip(row->label, 1) : row->label;
    if (all_digits(number))
        row->label = arena_printf(p->a, "%.*s#%.*s", STR_ARG(p->ask->set), STR_ARG(number));
}

static void read_value(Importer *p, ImportRow *row, uint32_t column, Str text) {
    const Tag *tag = &p->im->v->tags[p->im->map->columns[column].tag];
    Str value = text;
    if (!plain(text)) {
        row->why = arena_printf(p->a, "'%.*s' can stand in no grid", STR_ARG(text));
        return;
    }
    if (tag->kind == TAG_NUMBER && !number_text(p, text, &value, &row->why)) return;
    if (tag->kind == TAG_PLACEMENT && all_digits(text))
        value = arena_printf(p->a, "%.*s#%.*s", STR_ARG(p->ask->set), STR_ARG(text));
    row->values[column] = value;
}

static void read_condition(Importer *p, const CsvRecord *rec, ImportRow *row) {
    Str number;
    if (p->at.condition == UINT32_MAX) return;
    Str text = rec->fields[p->at.condition];
    if (!text.n || !plain(text)) {
        row->why = arena_printf(p->a, "its '%.*s' is empty", STR_ARG(p->im->map->condition));
        return;
    }
    if (!number_text(p, text, &number, &row->why)) return;
    row->condition =
        arena_printf(p->a, "%.*s %s", STR_ARG(number), p->im->map->condition_unit->name);
}

static void read_row(Importer *p, const CsvRecord *rec, ImportRow *row) {
    const ImportMap *m = p->im->map;
    bool any = false;
    if (rec->fault) {
        row->why = str_from(rec->fault);
        return;
    }
    if (rec->count != p->fields) {
        row->why =
            arena_printf(p->a, "it has %u fields and the head has %u", rec->count, p->fields);
        return;
    }
    read_label(p, rec, row);
    if (!row->why.n) read_condition(p, rec, row);
    for (uint32_t i = 0; i < m->count && !row->why.n; i++) {
        if (m->columns[i].tag == TAG_NONE) continue;
        Str text = rec->fields[p->at.columns[i]];
        if (text.n) read_value(p, row, i, text);
        any |= row->values[i].n && !str_eq(row->values[i], STR("-"));
    }
    if (!row->why.n && !any) row->why = STR("it has no value in a column that is read");
}

/* ---- marks ----------------------------------------------------------------------------------- */

/* What the row would bring into the log, and for the how many-th time in this file. */
static Str mark_of(Importer *p, const ImportRow *row, uint32_t nth) {
    Buf b = {0};
    buf_printf(&b, "%.*s\x1f%.*s\x1f%u", STR_ARG(row->label), STR_ARG(row->condition), nth);
    for (uint32_t i = 0; i < p->im->map->count; i++) {
        if (row->values[i].n)
            buf_printf(&b, "\x1f%.*s\x1f%.*s", STR_ARG(p->im->map->columns[i].head),
                       STR_ARG(row->values[i]));
    }
    uint64_t hash = hash_bytes(buf_str(&b));
    buf_release(&b);
    return arena_printf(p->a, "%012llx", (unsigned long long)(hash >> (64 - 4 * MARK_DIGITS)));
}

static bool same_row(const ImportRow *x, const ImportRow *y, uint32_t columns) {
    if (!str_eq(x->label, y->label) || !str_eq(x->condition, y->condition)) return false;
    for (uint32_t i = 0; i < columns; i++) {
        if (!str_eq(x->values[i], y->values[i])) return false;
    }
    return true;
}

#define MARKS_START "> rows: "

static void read_marks(Importer *p) {
    Source *log = arena_alloc(p->a, sizeof *log);
    LineReader *r = arena_alloc(p->a, sizeof *r);
    Line line;
    Mark m = {.day = DAY_NONE};
    *log = (Source){.text = p->ask->log};
    line_start(r, log, NULL);
    for (line_next(r, &line); line.kind != LINE_END; line_next(r, &line)) {
        if (line.kind == LINE_HEADING) {
            m.heading = str_trim(line.whole);
            m.day = line.date.day;
        }
        if (!str_starts(line.whole, STR(MARKS_START))) continue;
        Str rest = str_trim(str_skip(line.whole, sizeof MARKS_START - 1));
        while ((m.text = str_word(&rest)).n) {
            arena_grow(p->a, p->marks, p->mark_count, p->mark_room);
            p->marks[p->mark_count++] = m;
        }
    }
}

/* Without a day that was said the same values are the same reading, whenever they were imported. */
static void find_mark(Importer *p, ImportRow *row) {
    for (uint32_t i = 0; i < p->mark_count && !row->old; i++) {
        const Mark *m = &p->marks[i];
        if (!str_eq(m->text, row->mark)) continue;
        row->old = !p->ask->day || m->day == DAY_NONE || m->day == p->ask->day->day;
        row->again = m->heading;
    }
    if (!row->old) return;
    row->why = arena_printf(p->a, "it is in the log already%s%.*s", row->again.n ? ": " : "",
                            STR_ARG(row->again));
    row->again = str_none;
}

static void mark_row(Importer *p, ImportRow *row) {
    uint32_t nth = 0;
    for (const ImportRow *r = p->im->rows; r < row; r++)
        nth += !r->why.n || r->old ? same_row(r, row, p->im->map->count) : 0;
    row->mark = mark_of(p, row, nth);
    find_mark(p, row);
}

bool import_read(const Vocab *v, const ImportMap *map, const ImportAsk *ask, Arena *a, Import *out,
                 Err *err) {
    Import im = {.map = map, .v = v};
    Importer p = {.im = &im, .ask = ask, .a = a, .err = err};
    CsvRecord *rec = arena_alloc(a, sizeof *rec);
    CsvReader r;
    csv_start(&r, ask->csv, ask->separator);
    if (!csv_next(&r, a, rec)) return err_set(err, ERR_USAGE, "the CSV is empty");
    if (!find_fields(&p, rec)) return false;
    read_marks(&p);
    while (csv_next(&r, a, rec)) {
        if (rec->count == 1 && !rec->fields[0].n && !rec->fault) continue; /* an empty line */
        arena_grow(a, im.rows, im.count, im.room);
        ImportRow *row = &im.rows[im.count++];
        *row =
            (ImportRow){.line = rec->line, .values = arena_array(a, map->count + 1, sizeof(Str))};
        read_row(&p, rec, row);
        if (!row->why.n) mark_row(&p, row);
    }
    *out = im;
    return true;
}

/* ---- the entry ------------------------------------------------------------------------------- */

uint32_t import_taken(const Import *im) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < im->count; i++)
        n += !im->rows[i].why.n;
    return n;
}

uint32_t import_expected(const Import *im) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < im->count; i++) {
        for (uint32_t c = 0; c < im->map->count && !im->rows[i].why.n; c++) {
            Str value = im->rows[i].values[c];
            if (!value.n || str_eq(value, STR("-"))) continue;
            n += im->v->tags[im->map->columns[c].tag].kind != TAG_PLACEMENT;
        }
    }
    return n;
}

static bool by_lines(const ImportMap *m) {
    for (uint32_t i = 0; i < m->count; i++) {
        if (m->columns[i].by_row) return true;
    }
    return false;
}

static void put_lines(Buf *b, const Import *im, const ImportRow *row) {
    for (uint32_t i = 0; i < im->map->count; i++) {
        const ImportColumn *c = &im->map->columns[i];
        Str at = c->by_row ? row->condition : c->at;
        if (!row->values[i].n) continue;
        buf_printf(b, "%.*s %.*s%s%.*s = %.*s%s%.*s%s%.*s\n", STR_ARG(im->v->tags[c->tag].name),
                   STR_ARG(row->label), c->spot.n ? " " : "", STR_ARG(c->spot),
                   STR_ARG(row->values[i]), c->unit.n ? " " : "", STR_ARG(c->unit),
                   at.n ? " @ " : "", STR_ARG(at));
    }
}

typedef struct Widths {
    size_t label, columns[CSV_FIELDS];
    uint32_t last;
} Widths;

static void widen(size_t *width, Str text) {
    size_t wide = utf8_width(text);
    if (wide > *width) *width = wide;
}

static Widths measure(const Import *im) {
    Widths w = {0};
    widen(&w.label, im->v->classes[im->map->rows].name);
    for (uint32_t i = 0; i < im->map->count; i++) {
        if (im->map->columns[i].tag == TAG_NONE) continue;
        bool any = false;
        for (uint32_t r = 0; r < im->count; r++) {
            if (im->rows[r].why.n || !im->rows[r].values[i].n) continue;
            widen(&w.columns[i], im->rows[r].values[i]);
            any = true;
        }
        if (any) widen(&w.columns[i], im->map->columns[i].head);
        if (any) w.last = i;
    }
    for (uint32_t r = 0; r < im->count; r++) {
        if (!im->rows[r].why.n) widen(&w.label, im->rows[r].label);
    }
    return w;
}

static void padded(Buf *b, Str text, size_t width) {
    size_t wide = utf8_width(text);
    buf_add(b, text);
    buf_fill(b, ' ', width > wide ? width - wide : 0);
}

/* `row` NULL: the head. An empty last cell is a dash. */
static void put_row(Buf *b, const Import *im, const Widths *w, const ImportRow *row) {
    padded(b, row ? row->label : im->v->classes[im->map->rows].name, w->label);
    for (uint32_t i = 0; i <= w->last; i++) {
        if (!w->columns[i]) continue;
        Str text = row ? row->values[i] : im->map->columns[i].head;
        if (!text.n && i == w->last) text = STR("-");
        buf_puts(b, " | ");
        padded(b, text, i == w->last ? 0 : w->columns[i]);
    }
    buf_putc(b, '\n');
}

static void put_marks(Buf *b, const Import *im) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < im->count; i++) {
        if (im->rows[i].why.n) continue;
        bool first = n++ % MARKS_A_LINE == 0;
        if (first && n > 1) buf_putc(b, '\n');
        buf_printf(b, "%s%.*s", first ? MARKS_START : " ", STR_ARG(im->rows[i].mark));
    }
    buf_putc(b, '\n');
}

Str import_entry(Import *im, Str head, Arena *a) {
    Buf b = {0};
    bool lines = by_lines(im->map);
    Widths w = measure(im);
    buf_add(&b, head);
    buf_putc(&b, '\n');
    if (!lines) put_row(&b, im, &w, NULL);
    for (uint32_t i = 0; i < im->count; i++) {
        ImportRow *row = &im->rows[i];
        if (row->why.n) continue;
        size_t from = b.n;
        if (lines)
            put_lines(&b, im, row);
        else
            put_row(&b, im, &w, row);
        row->span = (Span){(uint32_t)from, (uint32_t)(b.n - from)};
    }
    buf_putc(&b, '\n');
    put_marks(&b, im);
    Str text = arena_str(a, buf_str(&b));
    buf_release(&b);
    return text;
}
