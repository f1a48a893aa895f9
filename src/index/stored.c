/* What the tables hold, read: lists of places, rows of last values, and which subject is meant. */
#include "index/query.h"

/* ---- reading what is stored
 * ---------------------------------------------------------------------- */

/* A JSON array of texts, as digest_names writes it. */
static bool read_names(Query *q, int64_t places, Names *out) {
    sqlite3_stmt *s = db_statement(q->x, S_PLACES_GET, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, places);
    if (sqlite3_step(s) != SQLITE_ROW)
        return err_set(q->err, ERR_INDEX, "the index '%s' lacks a list of places", q->x->path);
    Str json = column_str(s, 0);
    Names names = {.items = arena_array(q->arena, json.n / 3 + 1, sizeof *names.items)};
    char *room = arena_alloc(q->arena, json.n + 1);
    for (size_t i = 0; i < json.n; i++) {
        if (json.p[i] != '"') continue;
        size_t n = 0;
        char *text = room;
        for (i++; i < json.n && json.p[i] != '"'; i++) {
            if (json.p[i] == '\\' && i + 1 < json.n) i++;
            text[n++] = json.p[i];
        }
        room += n;
        names.items[names.count++] = (Str){text, n};
    }
    sqlite3_reset(s);
    *out = names;
    return true;
}

bool names_of(Query *q, int64_t places, Names *out) {
    size_t at = (size_t)places % (sizeof q->named / sizeof *q->named);
    if (q->named[at].places != places) {
        if (!read_names(q, places, &q->named[at].names)) return false;
        q->named[at].places = places;
    }
    *out = q->named[at].names;
    return true;
}

Str full_name(Query *q, Str of, Str name) {
    return of.n ? arena_printf(q->arena, "%.*s%.*s", STR_ARG(of), STR_ARG(name)) : name;
}

void last_values(sqlite3_stmt *s, LastValues *out) {
    *out = (LastValues){.least = sqlite3_column_int64(s, 0),
                        .job = sqlite3_column_int64(s, 1),
                        .at = column_str(s, 2),
                        .of = column_str(s, 3),
                        .places = sqlite3_column_int64(s, 4),
                        .how = column_str(s, 5),
                        .form = sqlite3_column_int64(s, 6),
                        .deltas = column_str(s, 7)};
}

int64_t value_at(const LastValues *row, uint32_t i) {
    static const int64_t tens[] = {1, 10, 100, 1000};
    size_t width = (size_t)row->form / 10;
    int64_t more = 0, base = width > DELTA_WIDTH ? 10 : DELTA_BASE;
    char zero = width > DELTA_WIDTH ? '0' : DELTA_ZERO;
    for (size_t k = i * width; k < (i + 1) * width && k < row->deltas.n; k++)
        more = more * base + (row->deltas.p[k] - zero);
    return row->least + more * tens[row->form % 10 & 3];
}

uint8_t how_at(const LastValues *row, uint32_t i) {
    if (row->how.n == 1) i = 0;
    const char *bits = row->how.n > 2 ? row->how.p + 2 : "";
    if (is_digit(*bits) || *bits >= 'a') { /* two kinds: see schema.sql */
        if (2 + i / 4 >= row->how.n) return 0;
        char c = bits[i / 4];
        int four = is_digit(c) ? c - '0' : c - 'a' + 10;
        i = four >> (3 - i % 4) & 1;
    }
    return i < row->how.n ? (uint8_t)(row->how.p[i] - HOW_LETTER) : 0;
}

/* ---- subjects
 * ------------------------------------------------------------------------------------- */

static bool number_in(Str s, size_t from, uint32_t *out) {
    uint32_t n = 0;
    if (from >= s.n) return false;
    for (size_t i = from; i < s.n; i++) {
        if (!is_digit(s.p[i]) || n > 100000) return false;
        n = n * 10 + (uint32_t)(s.p[i] - '0');
    }
    *out = n;
    return true;
}

static size_t letters_of(Str s) {
    size_t n = 0;
    while (n < s.n && !is_digit(s.p[n]))
        n++;
    return n;
}

static bool in_span(Str typed, size_t dots, Str name) {
    Str from = {typed.p, dots}, to = str_skip(typed, dots + 2);
    uint32_t low, high, at;
    size_t letters = letters_of(from);
    bool same =
        letters_of(name) == letters && str_ieq((Str){name.p, letters}, (Str){from.p, letters});
    return same && number_in(from, letters, &low) && number_in(to, letters_of(to), &high) &&
           number_in(name, letters, &at) && at >= low && at <= high;
}

static bool one_matches(Str typed, Str of, Str name) {
    size_t dots = str_find(typed, STR(".."), 0);
    if (of.n && typed.n > of.n && str_ieq((Str){typed.p, of.n}, of)) typed = str_skip(typed, of.n);
    if (str_ieq(typed, name) || (of.n && str_ieq(typed, of))) return true;
    if (dots != SIZE_MAX) return in_span(typed, str_find(typed, STR(".."), 0), name);
    uint32_t unused;
    bool letter = typed.n == 1 && is_alpha(typed.p[0]) && name.n > 1;
    return letter && to_lower(name.p[0]) == to_lower(typed.p[0]) &&
           number_in((Str){name.p, name.n}, 1, &unused);
}

bool subject_matches(Str typed, Str of, Str name) {
    if (!typed.n) return true;
    while (typed.n) {
        size_t comma = str_find_char(typed, ',', 0);
        Str one = {typed.p, comma == SIZE_MAX ? typed.n : comma};
        if (one_matches(one, of, name)) return true;
        typed = str_skip(typed, one.n + 1);
    }
    return false;
}
