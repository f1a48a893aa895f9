/* Many names of the vocabulary at once: a line each for people, a row each for programs. */
#include "base/utf8.h"
#include "compute/say.h"
#include "show/table.h"
#include "show/tag.h"

enum { NARROW = 64, NAME_LEAST = 12, NAME_MOST = 28, UNIT_MOST = 8, GAP = 2 };

static Str unit_of(const Tag *t) {
    return t->unit ? str_from(t->unit->name) : (Str){0};
}

/* Placements, sets and part names need no words of their own: their kind says it. */
static Str meaning(const Tag *t, Arena *a) {
    return t->says.n ? t->says : tag_value_kind(t, a);
}

static size_t name_column(const Vocab *v, const TagId *tags, uint32_t count) {
    size_t wide = NAME_LEAST;
    for (uint32_t i = 0; i < count; i++) {
        size_t n = utf8_width(v->tags[tags[i]].name);
        if (n > wide) wide = n;
    }
    return wide < NAME_MOST ? wide : NAME_MOST;
}

static void fill_to(Buf *out, size_t used, size_t column) {
    buf_fill(out, ' ', used < column ? column - used : 1);
}

static void line(Buf *out, const Tag *t, Str says, size_t column, int width) {
    bool narrow = width > 0 && width < NARROW;
    Str unit = unit_of(t);
    buf_puts(out, "  ");
    buf_add(out, t->name);
    if (narrow) {
        if (unit.n) buf_printf(out, ", %.*s", STR_ARG(unit));
        buf_puts(out, "\n    ");
        fold_text(out, says, width, 4);
        return;
    }
    size_t used = utf8_width(t->name);
    fill_to(out, used, column + GAP);
    used = (used < column + GAP ? column + GAP : used + 1) + utf8_width(unit);
    buf_add(out, unit);
    fill_to(out, used, column + GAP + UNIT_MOST);
    fold_text(out, says, width, (int)(2 + column + GAP + UNIT_MOST));
}

void tag_list_text(Buf *out, const Vocab *v, const TagId *tags, uint32_t count, bool grouped,
                   Arena *a, int width, bool colour) {
    size_t column = name_column(v, tags, count);
    Str group = {0};
    for (uint32_t i = 0; i < count; i++) {
        const Tag *t = &v->tags[tags[i]];
        if (grouped && (i == 0 || !str_eq(t->group, group))) {
            if (i) buf_putc(out, '\n');
            group = t->group;
            tone_text(out, group.n ? group : STR("places and items"), TONE_HEAD, colour);
            buf_putc(out, '\n');
        }
        line(out, t, meaning(t, a), column, width);
    }
}

static Str also_cell(const Tag *t, Arena *a) {
    Str text = {0};
    for (uint8_t i = 0; i < t->also_count; i++)
        text = arena_printf(a, "%.*s%s%.*s", STR_ARG(text), i ? ", " : "", STR_ARG(t->also[i]));
    return text;
}

static Str checks_cell(const Tag *t, Arena *a) {
    const char *codes[TAG_CHECKS_MOST];
    unsigned count = tag_checks(t, codes);
    Str text = {0};
    for (unsigned i = 0; i < count; i++)
        text = arena_printf(a, "%.*s%s%s", STR_ARG(text), i ? ", " : "", codes[i]);
    return text;
}

enum {
    C_TAG,
    C_ALSO,
    C_GROUP,
    C_OF,
    C_VALUE,
    C_UNIT,
    C_OVER,
    C_FORMULA,
    C_CHECKS,
    C_SAYS,
    C_SOURCE
};

Table *tag_table(const Vocab *v, const TagId *tags, uint32_t count, Arena *a) {
    static const char *const keys[] = {
        [C_TAG] = "tag",       [C_ALSO] = "also", [C_GROUP] = "group",  [C_OF] = "of",
        [C_VALUE] = "value",   [C_UNIT] = "unit", [C_OVER] = "over",    [C_FORMULA] = "formula",
        [C_CHECKS] = "checks", [C_SAYS] = "says", [C_SOURCE] = "source"};
    Table *table = table_new(a);
    for (size_t c = 0; c < sizeof keys / sizeof *keys; c++)
        table_column(table, (TableColumn){.key = keys[c]});
    for (uint32_t i = 0; i < count; i++) {
        const Tag *t = &v->tags[tags[i]];
        uint32_t row = table_row(table);
        const Str cells[] = {
            [C_TAG] = t->name,
            [C_ALSO] = also_cell(t, a),
            [C_GROUP] = t->group,
            [C_OF] = v->classes[t->of].name,
            [C_VALUE] = tag_value_kind(t, a),
            [C_UNIT] = unit_of(t),
            [C_OVER] = t->has_curve
                           ? arena_printf(a, "%.*s in %s", STR_ARG(t->over_name), t->over->name)
                           : (Str){0},
            [C_FORMULA] = t->is ? source_slice(t->is_where, t->is->span) : (Str){0},
            [C_CHECKS] = checks_cell(t, a),
            [C_SAYS] = t->says,
            [C_SOURCE] = t->source,
        };
        for (uint32_t c = 0; c < sizeof cells / sizeof *cells; c++)
            table_put(table, row, c, cells[c], TONE_PLAIN);
    }
    return table;
}
