#include "vocab/range.h"

#include "base/number.h"
#include <math.h>

typedef struct Value {
    double number;
    const Unit *unit; /* NULL: none was written */
} Value;

static bool fault_set(RangeFault *fault, Str at, Str text) {
    *fault = (RangeFault){.at = at, .text = text};
    return false;
}

static const char *dim_or(Dim d) {
    const char *name = dim_name(d);
    return *name ? name : "another dimension";
}

static bool unit_read(Str text, Dim want, Arena *a, const Unit **out, RangeFault *fault) {
    const Unit *unit = unit_find(text, want);
    if (!unit) {
        const char *advice = unit_advice(text);
        return fault_set(fault, text,
                         advice ? str_from(advice)
                                : arena_printf(a, "unknown unit '%.*s'", STR_ARG(text)));
    }
    if (unit->dim != want)
        return fault_set(fault, text,
                         arena_printf(a, "'%.*s' is a unit of %s, and %s is wanted", STR_ARG(text),
                                      dim_or(unit->dim), dim_or(want)));
    *out = unit;
    return true;
}

static bool value_read(Str text, Dim want, Arena *a, Value *out, RangeFault *fault) {
    Number number;
    NumberFault bad = number_read(text, &number);
    if (bad != NUMBER_OK)
        return fault_set(fault, text,
                         arena_printf(a, "'%.*s': %s", STR_ARG(text), number_fault_text(bad)));
    Value value = {.number = number.value};
    Str rest = str_trim(str_skip(text, number.len));
    if (rest.n && !unit_read(rest, want, a, &value.unit, fault)) return false;
    *out = value;
    return true;
}

static bool value_si(Value value, Dim want, const Unit *unit, bool difference, Str text, double *si,
                     RangeFault *fault) {
    const Unit *u = value.unit ? value.unit : unit;
    if (!u && want != DIM_NUMBER)
        return fault_set(fault, text, STR("a unit is missing behind the number"));
    if (!u)
        *si = value.number;
    else
        *si = difference ? unit_diff_to_si(u, value.number) : unit_to_si(u, value.number);
    return true;
}

bool range_value(Str text, Dim want, const Unit *unit, bool difference, Arena *a, double *si,
                 RangeFault *fault) {
    Value value;
    Str trimmed = str_trim(text);
    return value_read(trimmed, want, a, &value, fault) &&
           value_si(value, want, unit, difference, trimmed, si, fault);
}

/* `V .. V` and `V +/- V`; at is where the mark of `width` bytes stands. */
static bool two_values(Str text, size_t at, size_t width, bool tolerance, Dim want,
                       const Unit *unit, Arena *a, Range *out, RangeFault *fault) {
    Str first_text = str_trim((Str){text.p, at});
    Str second_text = str_trim(str_skip(text, at + width));
    Value first, second;
    if (!value_read(first_text, want, a, &first, fault) ||
        !value_read(second_text, want, a, &second, fault))
        return false;
    if (!first.unit)
        first.unit = second.unit;
    else if (!second.unit)
        second.unit = first.unit;
    double low, high;
    if (!value_si(first, want, unit, false, first_text, &low, fault) ||
        !value_si(second, want, unit, tolerance, second_text, &high, fault))
        return false;
    if (tolerance && high < 0)
        return fault_set(fault, second_text, STR("what stands behind +/- can't be less than 0"));
    if (!tolerance && low > high)
        return fault_set(fault, text, STR("the first value of a range must be the lesser one"));
    *out = tolerance ? (Range){low - high, low + high} : (Range){low, high};
    return true;
}

static bool starts_word(Str text, Str words) {
    return text.n > words.n && is_blank(text.p[words.n]) && str_ieq((Str){text.p, words.n}, words);
}

bool range_parse(Str text, Dim want, const Unit *unit, Arena *a, Range *out, RangeFault *fault) {
    static const Str at_least = {"at least", 8}, at_most = {"at most", 7};
    text = str_trim(text);
    double v;
    if (starts_word(text, at_least)) {
        if (!range_value(str_skip(text, at_least.n), want, unit, false, a, &v, fault)) return false;
        *out = (Range){v, INFINITY};
        return true;
    }
    if (starts_word(text, at_most)) {
        if (!range_value(str_skip(text, at_most.n), want, unit, false, a, &v, fault)) return false;
        *out = (Range){-INFINITY, v};
        return true;
    }
    size_t at = str_find(text, STR(" .. "), 0);
    if (at != SIZE_MAX) return two_values(text, at, 4, false, want, unit, a, out, fault);
    at = str_find(text, STR(" +/- "), 0);
    if (at != SIZE_MAX) return two_values(text, at, 5, true, want, unit, a, out, fault);
    return fault_set(fault, text,
                     STR("a range is 'at least V', 'at most V', 'V .. V' or 'V +/- V', with blanks "
                         "around the dots and the sign"));
}

const Unit *range_unit(Str text, Dim dim, const Unit *fallback) {
    for (size_t i = text.n; i-- > 0;) {
        if (!is_digit(text.p[i]) && text.p[i] != '.') continue;
        const Unit *u = unit_find(str_trim(str_skip(text, i + 1)), dim);
        return u && u->dim == dim ? u : fallback;
    }
    return fallback;
}

static bool is_plausible(const Tag *tag, double end) {
    return isinf(end) || end == 0 || range_has(&tag->plausible, end);
}

Str range_doubt(const Tag *tag, const Range *range, const Unit *unit, Arena *a) {
    if (!tag->has_plausible || !unit) return str_none;
    if (is_plausible(tag, range->low) && is_plausible(tag, range->high)) return str_none;
    return arena_printf(a,
                        "no %.*s is like that, it should lie in %.4g .. %.4g %s: a slip of the "
                        "pen, or of the unit?",
                        STR_ARG(tag->name), unit_from_si(unit, tag->plausible.low),
                        unit_from_si(unit, tag->plausible.high), unit->name);
}
