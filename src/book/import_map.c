#include "book/import_map.h"

#include "base/near.h"
#include "base/number.h"

typedef struct MapReader {
    const Vocab *v;
    Arena *a;
    ImportMap *map;
    uint32_t line;
    Err *err;
} MapReader;

static bool fault(MapReader *r, const char *format, ...) __attribute__((format(printf, 2, 3)));
static bool fault(MapReader *r, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Str text = arena_vprintf(r->a, format, args);
    va_end(args);
    return err_set(r->err, ERR_USAGE, "%s:%u: %.*s", r->map->path, r->line, STR_ARG(text));
}

/* ---- a column: TAG [SPOT] [UNIT] [@ VALUE UNIT] [UNIT] --------------------------------------- */

typedef struct Parts {
    Str name, unit, at; /* the tag's own name is settled apart; at: "43.70 mm" */
} Parts;

static Parts split_parts(Str text) {
    Parts p = {.name = text};
    size_t at = str_find_char(text, '@', 0);
    if (at == SIZE_MAX) return p;
    p.name = str_trim((Str){text.p, at});
    Number n;
    Str right = str_trim(str_skip(text, at + 1));
    if (number_read(right, &n) != NUMBER_OK) return (Parts){.name = p.name, .at = right};
    Str behind = str_trim(str_skip(right, n.len));
    Str first = str_word(&behind);
    p.at = first.n ? (Str){right.p, (size_t)(first.p + first.n - right.p)} : right;
    p.unit = str_trim(behind);
    return p;
}

static bool good_condition(const Tag *tag, Str at) {
    Number n;
    if (number_read(at, &n) != NUMBER_OK) return false;
    Str name = str_trim(str_skip(at, n.len));
    const Unit *unit = name.n ? unit_find(name, tag->over->dim) : NULL;
    return unit && unit->dim == tag->over->dim;
}

static bool read_unit_of(MapReader *r, const Tag *tag, Str unit) {
    if (!unit.n) return true;
    const Unit *u = tag->kind == TAG_NUMBER ? unit_find(unit, tag->dim) : NULL;
    if (u && u->dim == tag->dim) return true;
    const char *advice = unit_advice(unit);
    return fault(r, "'%.*s' is no unit of '%.*s'%s%s", STR_ARG(unit), STR_ARG(tag->name),
                 advice ? ": " : "", advice ? advice : "");
}

static Str take_spot(const Tag *tag, Str *rest) {
    for (uint8_t i = 0; i < tag->spot_count; i++) {
        Str spot = tag->spots[i];
        if (rest->n < spot.n || !str_ieq((Str){rest->p, spot.n}, spot)) continue;
        *rest = str_trim(str_skip(*rest, spot.n));
        return spot;
    }
    return (Str){0};
}

static bool read_column(MapReader *r, Str text, ImportColumn *out) {
    Parts p = split_parts(text);
    Str rest;
    out->tag = vocab_match(r->v, p.name, &rest);
    if (out->tag == TAG_NONE) {
        Str near = vocab_near(r->v, p.name, r->a);
        return fault(r, "no quantity is called '%.*s'%.*s; write - for a column that is not read",
                     STR_ARG(p.name), STR_ARG(near));
    }
    const Tag *tag = &r->v->tags[out->tag];
    if (tag->kind != TAG_NUMBER && tag->kind != TAG_WORDS && tag->kind != TAG_CHOICE &&
        tag->kind != TAG_PLACEMENT)
        return fault(r, "'%.*s' can stand in no grid: write it by hand", STR_ARG(tag->name));
    out->spot = take_spot(tag, &rest);
    out->at = p.at;
    out->unit = rest.n ? rest : p.unit;
    if (rest.n && p.unit.n)
        return fault(r, "it says two units, '%.*s' and '%.*s'", STR_ARG(rest), STR_ARG(p.unit));
    if (!read_unit_of(r, tag, out->unit)) return false;
    if (p.at.n && !tag->has_curve)
        return fault(r, "'%.*s' is no curve: leave the @ out", STR_ARG(tag->name));
    if (p.at.n && !good_condition(tag, p.at))
        return fault(r, "behind the @ stands a %.*s and its unit, not '%.*s'",
                     STR_ARG(tag->over_name), STR_ARG(p.at));
    out->by_row = tag->has_curve && !p.at.n;
    out->head = arena_printf(r->a, "%.*s%s%.*s%s%.*s%s%.*s", STR_ARG(tag->name),
                             out->spot.n ? " " : "", STR_ARG(out->spot), out->unit.n ? " " : "",
                             STR_ARG(out->unit), p.at.n ? " @ " : "", STR_ARG(p.at));
    return true;
}

/* ---- lines ----------------------------------------------------------------------------------- */

typedef enum Setting {
    SET_SEPARATOR,
    SET_DECIMAL,
    SET_ROWS,
    SET_PLACE,
    SET_CONDITION,
    SETTINGS
} Setting;

static const Str setting_names[SETTINGS] = {
    [SET_SEPARATOR] = {"separator", 9},
    [SET_DECIMAL] = {"decimal", 7},
    [SET_ROWS] = {"rows", 4},
    [SET_PLACE] = {"place column", 12},
    [SET_CONDITION] = {"condition column", 16},
};

static Setting setting_of(Str name) {
    for (int i = 0; i < SETTINGS; i++) {
        if (str_ieq(setting_names[i], name)) return (Setting)i;
    }
    return SETTINGS;
}

bool import_is_setting(Str name) {
    return setting_of(name) != SETTINGS;
}

enum { SEPARATORS = 3 };

static const struct {
    Str word;
    char c;
} separators[SEPARATORS] = {{STR("comma"), ','}, {STR("semicolon"), ';'}, {STR("tab"), '\t'}};

char import_separator(Str word) {
    for (int i = 0; i < SEPARATORS; i++) {
        if (str_ieq(separators[i].word, word)) return separators[i].c;
    }
    return 0;
}

Str import_separator_word(char separator) {
    int i = 0;
    while (separators[i].c != separator && i + 1 < SEPARATORS)
        i++;
    return separators[i].word;
}

static bool read_separator(MapReader *r, Str text) {
    r->map->separator = import_separator(text);
    if (r->map->separator) return true;
    return fault(r, "the separator is comma, semicolon or tab, not '%.*s'", STR_ARG(text));
}

static bool read_rows(MapReader *r, Str text) {
    ClassId rows = vocab_class(r->v, text);
    ClassKind kind = rows == CLASS_NONE ? CLASS_SET : r->v->classes[rows].kind;
    if (rows == CLASS_ENGINE || (kind != CLASS_PLACE && kind != CLASS_ITEM))
        return fault(r, "rows are places or items, as valve or spring, not '%.*s'", STR_ARG(text));
    r->map->rows = rows;
    return true;
}

/* "No., Letter": columns put together, parted by a comma and a blank. */
static bool read_places(MapReader *r, Str text) {
    while (text.n) {
        size_t comma = str_find(text, STR(", "), 0);
        if (r->map->place_count == IMPORT_PLACES)
            return fault(r, "it names more than %d columns", IMPORT_PLACES);
        r->map->places[r->map->place_count++] =
            str_trim((Str){text.p, comma == SIZE_MAX ? text.n : comma});
        text = comma == SIZE_MAX ? str_none : str_skip(text, comma + 2);
    }
    return true;
}

static bool read_setting(MapReader *r, Setting s, Str text) {
    ImportMap *m = r->map;
    switch (s) {
    case SET_SEPARATOR: return read_separator(r, text);
    case SET_DECIMAL:
        m->decimal_stated = true;
        m->decimal_comma = str_ieq(text, STR("comma"));
        return m->decimal_comma || str_ieq(text, STR("point")) ||
               fault(r, "the decimal mark is point or comma, not '%.*s'", STR_ARG(text));
    case SET_ROWS: return read_rows(r, text);
    case SET_PLACE: return read_places(r, text);
    case SET_CONDITION: m->condition = text; return true;
    case SETTINGS: break;
    }
    return true;
}

static Str without_remark(Str text) {
    size_t at = str_find(text, STR(" ;"), 0);
    return str_trim(at == SIZE_MAX ? text : (Str){text.p, at});
}

/* The last ` = ` of the line: nothing right of it holds one, a column's name may. */
static size_t last_equals(Str line) {
    size_t found = SIZE_MAX;
    for (size_t at = 0; (at = str_find(line, STR(" = "), at)) != SIZE_MAX; at++)
        found = at;
    return found;
}

static bool read_line(MapReader *r, Str line) {
    if (!line.n || line.p[0] == ';' || line.p[0] == '>') return true;
    size_t at = last_equals(line);
    if (at == SIZE_MAX)
        return fault(
            r, "a line says COLUMN = QUANTITY, and this one has no equals sign between blanks");
    Str left = str_trim((Str){line.p, at}), right = without_remark(str_skip(line, at + 3));
    bool in_quotes = left.n > 1 && left.p[0] == '"' && left.p[left.n - 1] == '"';
    Setting s = in_quotes ? SETTINGS : setting_of(left);
    if (!right.n) return fault(r, "nothing stands right of the equals sign");
    if (s != SETTINGS) return read_setting(r, s, right);
    ImportMap *m = r->map;
    ImportColumn c = {.name = in_quotes ? (Str){left.p + 1, left.n - 2} : left, .tag = TAG_NONE};
    for (uint32_t i = 0; i < m->count; i++) {
        if (str_eq(m->columns[i].name, c.name))
            return fault(r, "the column '%.*s' stands there twice", STR_ARG(c.name));
    }
    if (!str_eq(right, STR("-")) && !read_column(r, right, &c)) return false;
    arena_grow(r->a, m->columns, m->count, m->room);
    m->columns[m->count++] = c;
    return true;
}

/* "Height [mm]", "height (mm)": the unit of a column that says where a curve was read. */
static Str unit_in_brackets(Str head) {
    for (size_t i = 0; i < head.n; i++) {
        char close = head.p[i] == '[' ? ']' : head.p[i] == '(' ? ')' : 0;
        size_t end = close ? str_find_char(head, close, i) : SIZE_MAX;
        if (end != SIZE_MAX) return str_trim((Str){head.p + i + 1, end - i - 1});
    }
    return (Str){0};
}

static bool check_map(MapReader *r) {
    ImportMap *m = r->map;
    const Tag *curve = NULL;
    uint32_t used = 0;
    r->line = 1;
    if (m->rows == CLASS_NONE)
        return fault(
            r, "it does not say what the rows are: write `rows = valve`, or spring, or cylinder");
    if (!m->place_count)
        return fault(r,
                     "it does not say which column names the place: write `place column = NAME`");
    for (uint32_t i = 0; i < m->count; i++) {
        used += m->columns[i].tag != TAG_NONE;
        if (m->columns[i].by_row) curve = &r->v->tags[m->columns[i].tag];
    }
    if (!used) return fault(r, "it reads no column: put a quantity in the place of a dash");
    if (!curve) return true;
    if (!m->condition.n)
        return fault(
            r, "'%.*s' needs its %.*s: write `@ VALUE %s` behind it, or `condition column = NAME`",
            STR_ARG(curve->name), STR_ARG(curve->over_name), curve->over->name);
    Str unit = unit_in_brackets(m->condition);
    m->condition_unit = unit.n ? unit_find(unit, curve->over->dim) : NULL;
    if (m->condition_unit && m->condition_unit->dim == curve->over->dim) return true;
    return fault(
        r,
        "the condition column's head must say its unit in brackets, as `Height [mm]`, not '%.*s'",
        STR_ARG(m->condition));
}

bool import_map_read(const Vocab *v, const char *path, Str text, Arena *a, ImportMap *out,
                     Err *err) {
    ImportMap m = {.path = path, .rows = CLASS_NONE};
    MapReader r = {.v = v, .a = a, .map = &m, .err = err};
    if (str_starts(text, STR("\xef\xbb\xbf"))) text = str_skip(text, 3);
    while (text.n) {
        size_t end = str_find_char(text, '\n', 0);
        Str line = {text.p, end == SIZE_MAX ? text.n : end};
        text = str_skip(text, line.n + 1);
        r.line++;
        if (!read_line(&r, str_trim(line))) return false;
    }
    if (!check_map(&r)) return false;
    *out = m;
    return true;
}
