/*
 * Values as they stand behind the equals sign or in a cell: numbers with their doubts, units and
 * conditions. The forms are format/format.md, "Values".
 */
#include "compute/bind.h"

#include <math.h>

const Unit *default_unit(Binder *b, TagId id, uint16_t *flags) {
    const Tag *tag = &b->v->tags[id];
    if (b->units != SYSTEM_NONE)
        *flags = READ_UNIT_JOB;
    else if (tag->unit_from_shop || b->v->units != SYSTEM_NONE)
        *flags = READ_UNIT_SHOP;
    else
        *flags = 0;
    if (b->default_units[id]) return b->default_units[id];
    const Unit *u = tag->unit;
    System system = b->units != SYSTEM_NONE ? b->units
                    : tag->unit_from_shop   ? SYSTEM_NONE
                                            : b->v->units;
    if (system != SYSTEM_NONE && u) u = unit_in(u, system);
    return b->default_units[id] = u;
}

const Unit *read_unit(Binder *b, Str text, Dim dim, const char *of_what, Str of) {
    const Unit *u = unit_find(text, dim);
    if (!u) {
        const char *advice = unit_advice(text);
        Near near;
        near_start(&near, text);
        size_t count;
        const Unit *rows = unit_rows(&count);
        for (size_t i = 0; i < count; i++) {
            if (rows[i].dim == dim) near_offer(&near, str_from(rows[i].name));
        }
        Str hint = near_text(&near, b->job->arena);
        fault(b, UNKNOWN_UNIT, text, "`%.*s` is no unit known here%s%s%s%.*s", STR_ARG(text),
              advice ? ": " : "", advice ? advice : "", hint.n ? "; " : "", STR_ARG(hint));
        return NULL;
    }
    if (u->dim != dim) {
        const char *is = dim_name(u->dim), *want = dim_name(dim);
        fault(b, WRONG_DIMENSION, text, "`%.*s` measures %s, but %s%s`%.*s` is %s", STR_ARG(text),
              *is ? is : "another quantity", of_what ? of_what : "", of_what ? " " : "",
              STR_ARG(of), *want ? want : "another quantity");
        return NULL;
    }
    return u;
}

static bool ends_unit(const char *p, const char *end) {
    return p >= end || *p == ',' || *p == '@' || *p == '?' ||
           (is_blank(*p) && p + 1 < end &&
            (is_digit(p[1]) || p[1] == '.' || p[1] == '+' || p[1] == '-' || p[1] == '#'));
}

/* The unit's text at the front of *rest: from the first letter to the next number, comma, @ or ?.
 */
static Str take_unit(Str *rest) {
    const char *p = rest->p, *end = p + rest->n;
    while (p < end && is_blank(*p) && !ends_unit(p, end))
        p++;
    const char *start = p;
    while (!ends_unit(p, end))
        p++;
    Str unit = str_trim((Str){start, (size_t)(p - start)});
    *rest = (Str){p, (size_t)(end - p)};
    return unit;
}

/* `1.8O2`, `l.805`: a letter that looks like a digit stands in the number that text begins with.
 * Told, and true. What has no digit is no number with a slip in it. */
static bool lookalike_fault(Binder *b, Str text) {
    size_t n = 0;
    char letter = '\0';
    bool digit = false;
    for (; n < text.n && !is_blank(text.p[n]) && !strchr(",@?", text.p[n]); n++) {
        char c = text.p[n];
        if (is_digit(c))
            digit = true;
        else if (strchr("OoIl", c))
            letter = letter ? letter : c;
        else if (!strchr(".+-/", c))
            return false;
    }
    if (!digit || !letter) return false;
    bool zero = letter == 'O' || letter == 'o';
    fault(b, NUMBER_FORM, (Str){text.p, n}, "`%.*s` holds a letter: is the %c a %s?", (int)n,
          text.p, letter, zero ? "zero" : "one");
    return true;
}

/* The unit behind a number that `number` begins with. */
static const Unit *unit_behind(Binder *b, Str number, Str text, Dim dim, const char *of_what,
                               Str of) {
    const Unit *u = unit_find(text, dim);
    if (u && u->dim == dim) return u;
    Str whole = {number.p, (size_t)(text.p + text.n - number.p)};
    bool glued = text.p > number.p && !is_blank(text.p[-1]);
    if (glued && lookalike_fault(b, whole)) return NULL;
    return read_unit(b, text, dim, of_what, of);
}

/* The quantity's own unit needs no looking up. */
static bool is_named(const Unit *u, Str text) {
    return u && str_eq(text, str_from(u->name));
}

/* A doubt is said once. */
static bool doubled_doubt(Binder *b, Str rest) {
    if (!rest.n || *rest.p != '?') return false;
    fault(b, VALUE_FORM, (Str){rest.p, 1}, "a value is doubted with one ?: take this one out");
    return true;
}

bool number_fault(Binder *b, Str text, const Number *n, NumberFault fault_kind) {
    if (lookalike_fault(b, text)) return false;
    Str bad = {text.p, n->len ? n->len : text.n};
    if (fault_kind == NUMBER_NONE) {
        fault(b, VALUE_FORM, text, "`%.*s` is no number", STR_ARG(text));
    } else {
        fault(b, NUMBER_FORM, bad, "`%.*s`: %s", STR_ARG(bad), number_fault_text(fault_kind));
    }
    return false;
}

static void skip_blanks(Str *s) {
    while (s->n && is_blank(*s->p))
        *s = str_skip(*s, 1);
}

/* `@ 1.720 in` behind a number. */
static bool take_condition(Binder *b, const Tag *tag, Str *rest, Value *v) {
    skip_blanks(rest);
    if (!rest->n || *rest->p != '@') return true;
    if (!tag->has_curve) {
        fault(b, CONDITION_UNWANTED, *rest, "`%.*s` is one value, not a curve: leave the @ out",
              STR_ARG(tag->name));
        return false;
    }
    *rest = str_skip(*rest, 1);
    skip_blanks(rest);
    Number n;
    NumberFault bad = number_read(*rest, &n);
    if (bad != NUMBER_OK) return number_fault(b, *rest, &n, bad);
    v->has_at = true;
    v->at = n.value;
    v->at_text = (Str){rest->p, n.len};
    *rest = str_skip(*rest, n.len);
    Str unit = take_unit(rest);
    if (unit.n) {
        v->at_unit =
            unit_behind(b, v->at_text, unit, tag->over->dim, "the condition of", tag->name);
        if (!v->at_unit) return false;
    }
    return true;
}

/* `1.762 x` strikes a cell. In a list the x would strike one number of it, and `2 x .015` is meant
 * otherwise. */
static bool strike(Binder *b, Str mark, Value *v) {
    v->struck = b->line.kind == LINE_GRID;
    if (v->struck) return true;
    fault(b, VALUE_FORM, mark,
          "an x behind a number strikes it in a grid only: begin the line with x to strike it, and "
          "write how many there are on a line of their own");
    return false;
}

static bool take_number(Binder *b, const Tag *tag, Str *rest, Value *v) {
    Number n;
    NumberFault bad = number_read(*rest, &n);
    if (bad != NUMBER_OK) return number_fault(b, *rest, &n, bad);
    v->number = n.value;
    v->places = n.places;
    v->fraction = n.fraction;
    v->text = (Str){rest->p, n.len};
    *rest = str_skip(*rest, n.len);
    if (!rest->n) return true;
    skip_blanks(rest);
    if (rest->n && *rest->p == '?') {
        v->suspect = true;
        *rest = str_skip(*rest, 1);
        skip_blanks(rest);
        if (doubled_doubt(b, *rest)) return false;
    }
    if (!rest->n || is_digit(*rest->p) || *rest->p == '.' || *rest->p == ',' || *rest->p == '@')
        return true;
    if ((*rest->p == '-' || *rest->p == '+') && rest->n > 1 && !is_alpha(rest->p[1])) return true;
    if (*rest->p == '-' && rest->n == 1) return true; /* a missing value comes next */
    if (*rest->p == 'x' && (rest->n == 1 || is_blank(rest->p[1]))) {
        Str mark = {rest->p, 1};
        *rest = str_skip(*rest, 1);
        return strike(b, mark, v);
    }
    Str unit = take_unit(rest);
    if (unit.n > 2 && unit.p[unit.n - 1] == 'x' && is_blank(unit.p[unit.n - 2])) {
        if (!strike(b, str_skip(unit, unit.n - 1), v)) return false;
        unit = str_trim((Str){unit.p, unit.n - 1});
    }
    if (!unit.n) return true;
    v->unit = is_named(tag->unit, unit) ? tag->unit
                                        : unit_behind(b, v->text, unit, tag->dim, NULL, tag->name);
    v->unit_flags = READ_UNIT_WRITTEN;
    return v->unit != NULL;
}

static Value *push_value(Binder *b, Values *out) {
    arena_grow(b->job->arena, out->items, out->count, out->room);
    return &out->items[out->count++];
}

/* Takes the numbers that text begins with, up to one that something else than a number follows:
 * most of a list are no more than that. Returns what is left. */
static Str take_numbers(Binder *b, Str text, Values *out) {
    const char *p = text.p, *end = p + text.n;
    for (Number n;;) {
        const char *behind = number_plain(p, end, &n), *next = behind;
        while (next && next < end && is_blank(*next))
            next++;
        bool another = next && next > behind && next < end && (is_digit(*next) || *next == '.');
        if (!next || (next < end && !another)) break;
        *push_value(b, out) =
            (Value){.number = n.value, .places = n.places, .text = {p, (size_t)(behind - p)}};
        p = next;
    }
    return (Str){p, (size_t)(end - p)};
}

/* A `?` behind the unit of a list doubts the whole list; behind one value, that one. */
static bool take_late_doubt(Binder *b, Str *rest, Values *out, bool unit_written) {
    skip_blanks(rest);
    if (!rest->n || *rest->p != '?') return true;
    *rest = str_skip(*rest, 1);
    skip_blanks(rest);
    uint32_t from = unit_written && rest->n == 0 ? 0 : out->count - 1;
    for (uint32_t i = from; i < out->count; i++)
        out->items[i].suspect = true;
    return !doubled_doubt(b, *rest);
}

static bool take_value(Binder *b, const Tag *tag, Str *rest, Values *out) {
    if (*rest->p == '-' && (rest->n == 1 || is_blank(rest->p[1]) || rest->p[1] == ',')) {
        *push_value(b, out) = (Value){.missing = true, .text = {rest->p, 1}};
        *rest = str_skip(*rest, 1);
        return true;
    }
    Value *v = push_value(b, out);
    *v = (Value){0};
    if (!take_number(b, tag, rest, v)) return false;
    if (!take_late_doubt(b, rest, out, v->unit != NULL)) return false;
    if (!take_condition(b, tag, rest, v)) return false;
    return !v->has_at || take_late_doubt(b, rest, out, v->at_unit != NULL);
}

/* Units that a value does not have itself come from the others of its line when those agree. */
static bool share_units(Binder *b, const Tag *tag, TagId id, Str text, Values *out) {
    const Unit *unit = NULL, *at_unit = NULL;
    bool two = false;
    for (uint32_t i = 0; i < out->count; i++) {
        const Value *v = &out->items[i];
        if (v->unit) {
            two |= unit && v->unit != unit;
            unit = v->unit;
        }
        if (v->at_unit) {
            two |= at_unit && v->at_unit != at_unit;
            at_unit = v->at_unit;
        }
    }
    uint16_t flags = READ_UNIT_WRITTEN;
    const Unit *fallback = unit ? unit : default_unit(b, id, &flags);
    for (uint32_t i = 0; i < out->count; i++) {
        Value *v = &out->items[i];
        if (v->missing) continue;
        if (two && (!v->unit || (v->has_at && !v->at_unit))) {
            fault(b, UNKNOWN_UNIT, text,
                  "this line mixes units: write the unit behind every number of it");
            return false;
        }
        if (!v->unit) {
            v->unit = fallback;
            v->unit_flags = flags;
        }
        if (!v->has_at) continue;
        if (!v->at_unit) v->at_unit = at_unit ? at_unit : default_condition_unit(b, tag);
        v->at = unit_to_si(v->at_unit, v->at);
    }
    return true;
}

const Unit *default_condition_unit(const Binder *b, const Tag *tag) {
    System system = b->units != SYSTEM_NONE ? b->units : b->v->units;
    return system == SYSTEM_NONE ? tag->over : unit_in(tag->over, system);
}

static bool starts_unit(char c) {
    return is_alpha(c) || c == '"' || c == '%' || (unsigned char)c >= 0x80;
}

/* The list's unit behind a `-` that ends it: `44.8 44.6 - - cc`. It is that of the numbers before.
 */
static bool take_list_unit(Binder *b, const Tag *tag, Str *rest, Values *out) {
    Str text = take_unit(rest);
    const Unit *unit = read_unit(b, text, tag->dim, NULL, tag->name);
    if (!unit) return false;
    for (uint32_t i = 0; i < out->count; i++) {
        if (out->items[i].missing || out->items[i].unit) continue;
        out->items[i].unit = unit;
        out->items[i].unit_flags = READ_UNIT_WRITTEN;
    }
    return take_late_doubt(b, rest, out, true);
}

bool read_values(Binder *b, const Tag *tag, TagId id, Str text, Values *out) {
    out->count = 0;
    out->each = false;
    Str rest = text;
    if (str_starts(rest, STR("each ")) || str_starts(rest, STR("each\t"))) {
        out->each = true;
        rest = str_trim(str_skip(rest, 4));
    }
    rest = take_numbers(b, rest, out);
    while (rest.n) {
        if (is_blank(*rest.p) ||
            (*rest.p == ',' && out->count && (rest.n == 1 || is_blank(rest.p[1])))) {
            rest = str_skip(rest, 1);
            continue;
        }
        if (out->count && out->items[out->count - 1].missing && starts_unit(*rest.p)) {
            if (!take_list_unit(b, tag, &rest, out)) return false;
            continue;
        }
        if (!take_value(b, tag, &rest, out)) return false;
    }
    if (out->count == 0) {
        fault(b, VALUE_MISSING, text.n ? text : b->line.left,
              "no value stands behind the equals sign");
        return false;
    }
    return share_units(b, tag, id, text, out);
}

bool read_quantity(Binder *b, Str text, Dim dim, const Unit *fallback, double *si,
                   const Unit **unit) {
    Number n;
    NumberFault bad = number_read(text, &n);
    if (bad != NUMBER_OK) return number_fault(b, text, &n, bad);
    Str name = str_trim(str_skip(text, n.len));
    const Unit *u = fallback;
    if (name.n) u = unit_behind(b, text, name, dim, "what is wanted here,", STR("this value"));
    if (!u) return false;
    *si = unit_to_si(u, n.value);
    if (unit) *unit = u;
    return true;
}
