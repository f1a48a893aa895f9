/* A first map for a CSV, from what its head says. It is a guess for a person to look over. */
#include "book/import_map.h"

#include "base/buf.h"
#include "base/number.h"

typedef struct Guess {
    TagId tag;
    Str unit, at; /* as the log writes them; at: "43.70 mm" */
    Str name;     /* what is left of the head */
} Guess;

/* Cuts "[N]" or "(N)" out of the head. */
static Str cut_brackets(Arena *a, Str *head) {
    for (size_t i = 0; i < head->n; i++) {
        char close = head->p[i] == '[' ? ']' : head->p[i] == '(' ? ')' : 0;
        size_t end = close ? str_find_char(*head, close, i) : SIZE_MAX;
        if (end == SIZE_MAX) continue;
        Str unit = str_trim((Str){head->p + i + 1, end - i - 1});
        Str before = str_trim((Str){head->p, i}), after = str_trim(str_skip(*head, end + 1));
        *head = arena_printf(a, "%.*s%s%.*s", STR_ARG(before), after.n ? " " : "", STR_ARG(after));
        return unit;
    }
    return (Str){0};
}

/* "in" off "bind height in", "bind height, in". */
static Str cut_unit(Str *text) {
    size_t at = text->n, end;
    while (at > 0 && !is_blank(text->p[at - 1]) && text->p[at - 1] != ',')
        at--;
    end = at;
    while (end > 0 && (is_blank(text->p[end - 1]) || text->p[end - 1] == ','))
        end--;
    Str unit = str_skip(*text, at);
    *text = str_trim((Str){text->p, end});
    return unit;
}

/* "1,720 in" as the log has it, where the comma is declared to be the decimal mark. */
static Str with_point(Arena *a, Str text, bool decimal_comma) {
    size_t comma = str_find_char(text, ',', 0);
    if (!decimal_comma || comma == SIZE_MAX) return text;
    return arena_printf(a, "%.*s.%.*s", (int)comma, text.p, STR_ARG(str_skip(text, comma + 1)));
}

static bool has_word(Str text, Str word) {
    while (text.n) {
        if (str_ieq(str_word(&text), word)) return true;
    }
    return false;
}

/* The one measured quantity of the class that has this word in its name; TAG_NONE with two. */
static TagId by_word(const Vocab *v, ClassId rows, Str name) {
    TagId found = TAG_NONE;
    for (uint16_t i = 0; i < v->tag_count; i++) {
        const Tag *t = &v->tags[i];
        if (t->kind != TAG_NUMBER || t->is || (rows != CLASS_NONE && t->of != rows)) continue;
        if (!has_word(t->name, name)) continue;
        if (found != TAG_NONE) return TAG_NONE;
        found = i;
    }
    return found;
}

static TagId tag_named(const Vocab *v, ClassId rows, Str name) {
    TagId tag = vocab_find(v, name);
    if (tag == TAG_NONE && name.n) tag = by_word(v, rows, name);
    return tag;
}

static bool is_unit_of(const Vocab *v, TagId tag, Str unit) {
    const Unit *u = tag == TAG_NONE ? NULL : unit_find(unit, v->tags[tag].dim);
    return u && u->dim == v->tags[tag].dim;
}

/* "load [N] @ 43.70 mm", "load @ 43.70 [mm]", "load @ 43.70 mm [N]": what a bracket is the unit of.
 */
static void split_head(Guess *g, Str head, bool decimal_comma, Arena *a) {
    Number n;
    size_t at = str_find_char(head, '@', 0);
    g->name = str_before(head, at);
    g->unit = cut_brackets(a, &g->name);
    g->at = with_point(a, str_after(head, at), decimal_comma);
    Str behind = cut_brackets(a, &g->at);
    bool bare = number_read(g->at, &n) == NUMBER_OK && n.len == g->at.n;
    if (behind.n && bare)
        g->at = arena_printf(a, "%.*s %.*s", STR_ARG(g->at), STR_ARG(behind));
    else if (!g->unit.n)
        g->unit = behind;
}

static void settle_condition(const Vocab *v, Arena *a, Guess *g) {
    Number n;
    if (g->tag == TAG_NONE || !g->at.n || !v->tags[g->tag].has_curve) return;
    if (number_read(g->at, &n) != NUMBER_OK) return;
    if (!str_trim(str_skip(g->at, n.len)).n)
        g->at = arena_printf(a, "%.*s %s", STR_ARG(g->at), v->tags[g->tag].over->name);
}

static Guess guess(const Vocab *v, ClassId rows, Str head, bool decimal_comma, Arena *a) {
    Guess g = {.tag = TAG_NONE};
    split_head(&g, head, decimal_comma, a);
    g.tag = tag_named(v, rows, g.name);
    if (g.tag == TAG_NONE && !g.unit.n) {
        Str rest = g.name, unit = cut_unit(&rest);
        TagId tag = tag_named(v, rows, rest);
        if (is_unit_of(v, tag, unit)) {
            g.tag = tag;
            g.unit = unit;
        }
    }
    if (g.unit.n && !is_unit_of(v, g.tag, g.unit)) g.tag = TAG_NONE;
    settle_condition(v, a, &g);
    return g;
}

/* "Spring", "Spring No.", "spring #". */
static ClassId class_named(const Vocab *v, Str head) {
    static const Str numbers[] = {STR("no."), STR("no"), STR("nr."),
                                  STR("nr"),  STR("#"),  STR("number")};
    ClassId c = vocab_class(v, head);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers && c == CLASS_NONE; i++) {
        Str word = numbers[i];
        if (head.n <= word.n || !str_ieq(str_skip(head, head.n - word.n), word)) continue;
        Str name = {head.p, head.n - word.n};
        if (is_blank(name.p[name.n - 1]) || word.p[0] == '#') c = vocab_class(v, str_trim(name));
    }
    return c;
}

/* The column whose head names a class of places or items. */
static uint32_t place_column(const Vocab *v, const CsvRecord *head, bool decimal_comma, Arena *a,
                             ClassId *rows) {
    for (uint32_t i = 0; i < head->count; i++) {
        ClassId c = class_named(v, head->fields[i]);
        if (c == CLASS_NONE || c == CLASS_ENGINE) continue;
        if (v->classes[c].kind != CLASS_PLACE && v->classes[c].kind != CLASS_ITEM) continue;
        *rows = c;
        return i;
    }
    for (uint32_t i = 1; i < head->count && *rows == CLASS_NONE; i++) {
        Guess g = guess(v, CLASS_NONE, head->fields[i], decimal_comma, a);
        if (g.tag != TAG_NONE && v->tags[g.tag].of != CLASS_ENGINE) *rows = v->tags[g.tag].of;
    }
    return 0;
}

/* "Height [mm]" where a curve over height has no condition of its own. */
static uint32_t condition_column(const Vocab *v, const CsvRecord *head, ClassId rows, Arena *a) {
    for (uint32_t i = 0; i < head->count; i++) {
        Guess g = guess(v, rows, head->fields[i], false, a); /* whether it has a condition */
        if (g.tag == TAG_NONE || !v->tags[g.tag].has_curve || g.at.n) continue;
        for (uint32_t k = 0; k < head->count; k++) {
            Str name = head->fields[k];
            Str unit = cut_brackets(a, &name);
            if (k != i && unit.n && str_ieq(name, v->tags[g.tag].over_name)) return k;
        }
    }
    return UINT32_MAX;
}

static void put_column(Buf *b, const Vocab *v, const Guess *g, Str name) {
    bool odd = name.n == 0 || name.p[0] == '"' || name.p[0] == ';' || name.p[0] == '>' ||
               import_is_setting(name);
    buf_printf(b, "%s%.*s%s = ", odd ? "\"" : "", STR_ARG(name), odd ? "\"" : "");
    if (g->tag == TAG_NONE) {
        buf_puts(b, "-\n");
        return;
    }
    buf_add(b, v->tags[g->tag].name);
    if (g->unit.n) buf_printf(b, " %.*s", STR_ARG(g->unit));
    if (g->at.n) buf_printf(b, " @ %.*s", STR_ARG(g->at));
    buf_putc(b, '\n');
}

Str import_map_propose(const Vocab *v, const CsvRecord *head, char separator, bool decimal_comma,
                       Arena *a) {
    Buf b = {0};
    ClassId rows = CLASS_NONE;
    uint32_t place = place_column(v, head, decimal_comma, a, &rows),
             at = condition_column(v, head, rows, a);
    buf_puts(&b, "; How the columns of this kind of CSV come into the log, one a line:\n"
                 ";   COLUMN = QUANTITY [UNIT] [@ VALUE UNIT], or - for one that is not read\n"
                 "; This is a first guess: look it over.\n");
    buf_printf(&b, "separator = %.*s\ndecimal = %s\n", STR_ARG(import_separator_word(separator)),
               decimal_comma ? "comma" : "point");
    if (rows != CLASS_NONE)
        buf_printf(&b, "rows = %.*s\n", STR_ARG(v->classes[rows].name));
    else
        buf_puts(&b, "; rows =        what the rows are: valve, spring, cylinder, ...\n");
    buf_printf(&b, "place column = %.*s\n", STR_ARG(head->fields[place]));
    if (at != UINT32_MAX) buf_printf(&b, "condition column = %.*s\n", STR_ARG(head->fields[at]));
    for (uint32_t i = 0; i < head->count; i++) {
        Guess g = guess(v, rows, head->fields[i], decimal_comma, a);
        if (i != place && i != at && head->fields[i].n) put_column(&b, v, &g, head->fields[i]);
    }
    Str text = arena_str(a, buf_str(&b));
    buf_release(&b);
    return text;
}
