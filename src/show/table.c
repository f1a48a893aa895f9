/* Tables: made here, written as CSV and JSON here; text is in table_text.c. */
#include "show/table.h"

#include "base/fatal.h"
#include "base/number.h"
#include "base/utf8.h"

Table *table_new(Arena *a) {
    Table *t = arena_alloc(a, sizeof *t);
    t->arena = a;
    return t;
}

uint32_t table_column(Table *t, TableColumn column) {
    if (t->row_count) fatal("a table's column was added after its first row");
    arena_grow(t->arena, t->columns, t->column_count, t->column_room);
    t->columns[t->column_count] = column;
    return t->column_count++;
}

uint32_t table_row(Table *t) {
    for (uint32_t i = 0; i < t->column_count; i++) {
        arena_grow(t->arena, t->cells, t->cell_count, t->cell_room);
        t->cells[t->cell_count++] = (Cell){0};
    }
    return t->row_count++;
}

void table_put_cell(Table *t, uint32_t row, uint32_t column, Cell cell) {
    if (row >= t->row_count || column >= t->column_count) fatal("a cell outside its table");
    t->cells[(size_t)row * t->column_count + column] = cell;
}

void table_put(Table *t, uint32_t row, uint32_t column, Str text, Tone tone) {
    table_put_cell(t, row, column, (Cell){.text = text, .tone = tone});
}

void tone_text(Buf *out, Str text, Tone tone, bool colour) {
    static const char *const codes[] = {
        [TONE_PLAIN] = "",        [TONE_BAD] = "\x1b[1;31m", [TONE_DOUBT] = "\x1b[33m",
        [TONE_GOOD] = "\x1b[32m", [TONE_DIM] = "\x1b[2m",    [TONE_HEAD] = "\x1b[1m",
    };
    if (!colour || tone == TONE_PLAIN) {
        buf_add(out, text);
        return;
    }
    buf_puts(out, codes[tone]);
    buf_add(out, text);
    buf_puts(out, "\x1b[0m");
}

/* Columns a text takes on the screen, the escape sequences of tones counting for nothing. */
static size_t columns_of(Str text) {
    size_t columns = 0;
    for (size_t at; (at = str_find_char(text, '\x1b', 0)) != SIZE_MAX;) {
        size_t end = str_find_char(text, 'm', at);
        columns += utf8_width((Str){text.p, at});
        text = str_skip(text, end == SIZE_MAX ? text.n : end + 1);
    }
    return columns + utf8_width(text);
}

/* Columns of the line that is being written. */
static size_t column_now(const Buf *out) {
    size_t n = 0;
    while (n < out->n && out->p[out->n - 1 - n] != '\n')
        n++;
    return n ? columns_of((Str){out->p + out->n - n, n}) : 0;
}

bool fold_needed(const Buf *out, Str text, int width) {
    return width > 0 && column_now(out) + columns_of(text) > (size_t)width;
}

void fold_text(Buf *out, Str text, int width, int indent) {
    size_t column = column_now(out), most = width > 0 ? (size_t)width : SIZE_MAX;
    bool first = true;
    for (Str word; (word = str_word(&text)).n; first = false) {
        size_t wide = columns_of(word);
        if (!first && column + 1 + wide > most) {
            buf_putc(out, '\n');
            buf_fill(out, ' ', (size_t)indent);
            column = (size_t)indent;
        } else if (!first) {
            buf_putc(out, ' ');
            column++;
        }
        buf_add(out, word);
        column += wide;
    }
    buf_putc(out, '\n');
}

bool json_number(Buf *out, Str digits) {
    size_t from = digits.n && (digits.p[0] == '+' || digits.p[0] == '-'), points = 0;
    if (from == digits.n) return false;
    for (size_t i = from; i < digits.n; i++) {
        if (digits.p[i] == '.')
            points++;
        else if (!is_digit(digits.p[i]))
            return false;
    }
    if (points > 1 || digits.n - from == points) return false;
    if (digits.p[0] == '-') buf_putc(out, '-');
    Str rest = str_skip(digits, from);
    while (rest.n > 1 && rest.p[0] == '0' && is_digit(rest.p[1]))
        rest = str_skip(rest, 1);
    if (rest.p[0] == '.') buf_putc(out, '0');
    if (rest.p[rest.n - 1] == '.') rest.n--;
    buf_add(out, rest);
    return true;
}

bool json_reading(Buf *out, Str text) {
    if (json_number(out, text)) return text.p[0] != '+';
    Number n;
    if (number_read(text, &n) == NUMBER_OK) buf_double(out, n.value);
    return false;
}

static Str skip_digits(Str s) {
    while (s.n && is_digit(s.p[0]))
        s = str_skip(s, 1);
    return s;
}

static Str skip_sign(Str s) {
    return str_skip(s, s.n && (s.p[0] == '+' || s.p[0] == '-'));
}

/* -0.010, +3, -2.1e-05 */
static bool is_plain_number(Str s) {
    s = skip_sign(s);
    Str rest = skip_digits(s);
    size_t digits = s.n - rest.n;
    if (rest.n && rest.p[0] == '.') {
        s = str_skip(rest, 1);
        rest = skip_digits(s);
        digits += s.n - rest.n;
    }
    if (!digits) return false;
    if (!rest.n) return true;
    if (rest.p[0] != 'e') return false;
    rest = skip_sign(str_skip(rest, 1));
    return rest.n && !skip_digits(rest).n;
}

/* A spreadsheet runs a cell that begins so, whoever wrote it into the log; behind an apostrophe it
 * shows it. */
static void add_csv_cell(Buf *out, Arena *a, Str text) {
    bool runs = text.n && str_find_char(STR("=+-@\t\r"), text.p[0], 0) != SIZE_MAX &&
                !is_plain_number(text);
    buf_csv(out, runs ? arena_printf(a, "'%.*s", STR_ARG(text)) : text);
}

void table_csv(Buf *out, const Table *t) {
    for (uint32_t i = 0; i < t->column_count; i++) {
        if (i) buf_putc(out, ',');
        buf_csv(out, str_from(t->columns[i].key));
    }
    buf_puts(out, "\r\n");
    for (uint32_t row = 0; row < t->row_count; row++) {
        const Cell *cells = &t->cells[(size_t)row * t->column_count];
        for (uint32_t i = 0; i < t->column_count; i++) {
            if (i) buf_putc(out, ',');
            add_csv_cell(out, t->arena, cells[i].text);
        }
        buf_puts(out, "\r\n");
    }
}

/* `at.value` and `at.unit` side by side are one object `at`. */
static Str object_of(Str key, Str *member) {
    size_t point = str_find_char(key, '.', 0);
    *member = point == SIZE_MAX ? key : str_skip(key, point + 1);
    return point == SIZE_MAX ? str_none : (Str){key.p, point};
}

static void add_json_cell(Buf *out, const TableColumn *c, Str text) {
    if (c->json == JSON_WORD)
        buf_add(out, text);
    else if (c->json == JSON_TEXT || !json_number(out, text))
        buf_json(out, text);
}

static void add_json_row(Buf *out, const Table *t, const Cell *cells) {
    Str open = {0};
    bool first = true;
    buf_putc(out, '{');
    for (uint32_t i = 0; i < t->column_count; i++) {
        if (!cells[i].text.n) continue;
        Str member, object = object_of(str_from(t->columns[i].key), &member);
        bool same = str_eq(object, open);
        if (open.n && !same) buf_putc(out, '}');
        if (!first) buf_putc(out, ',');
        if (object.n && !same) {
            buf_json(out, object);
            buf_puts(out, ":{");
        }
        open = object;
        buf_json(out, member);
        buf_putc(out, ':');
        add_json_cell(out, &t->columns[i], cells[i].text);
        first = false;
    }
    buf_puts(out, open.n ? "}}\n" : "}\n");
}

void table_json(Buf *out, const Table *t) {
    for (uint32_t row = 0; row < t->row_count; row++)
        add_json_row(out, t, &t->cells[(size_t)row * t->column_count]);
}
