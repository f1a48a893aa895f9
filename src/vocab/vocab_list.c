#include "vocab/parts.h"

#include "base/near.h"
#include "base/number.h"
#include <math.h>

bool list_next(Str *rest, Str *entry) {
    if (!rest->n) return false;
    size_t at = 0;
    for (;; at++) {
        at = str_find_char(*rest, ',', at);
        if (at == SIZE_MAX || at + 1 == rest->n || is_blank(rest->p[at + 1])) break;
    }
    size_t end = at == SIZE_MAX ? rest->n : at;
    *entry = str_trim((Str){rest->p, end});
    *rest = str_skip(*rest, end + 1);
    return true;
}

unsigned list_room(Loader *l, const Prop *p, unsigned most) {
    unsigned count = 0;
    Str rest = p->value;
    for (Str entry; list_next(&rest, &entry);)
        count++;
    if (count <= most) return count;
    prop_fault(l, K_FULL, p, "this list has %u entries; the most are %u", count, most);
    return 0;
}

bool whole_number(Str s, unsigned most, unsigned *out) {
    unsigned value = 0;
    if (!s.n || s.n > 9) return false;
    for (size_t i = 0; i < s.n; i++) {
        if (!is_digit(s.p[i])) return false;
        value = value * 10 + (unsigned)(s.p[i] - '0');
    }
    if (value > most) return false;
    *out = value;
    return true;
}

bool percent_value(Str s, double *out) {
    Number number;
    if (number_read(s, &number) != NUMBER_OK ||
        !str_ieq(str_trim(str_skip(s, number.len)), STR("percent")))
        return false;
    *out = number.value / 100;
    return true;
}

static bool is_decimal_si(const Unit *unit) {
    double power = log10(unit->factor);
    return fabs(power - round(power)) < 1e-9;
}

/* Both readings of a text that could name a mass or a force differ by an acceleration. A decimal
 * multiple of SI units is what SI says: kg is the mass, the force is written kgf. */
const Unit *unit_certain(Str text, bool *two_meanings) {
    const Dim acceleration = DIM(1, 0, -2, 0, 0);
    *two_meanings = false;
    const Unit *unit = unit_find(text, DIM_NUMBER);
    if (!unit) return NULL;
    const Unit *mass = unit_find(text, dim_div(unit->dim, acceleration));
    if (!mass || mass->dim == unit->dim) mass = unit;
    const Unit *force = unit_find(text, dim_mul(mass->dim, acceleration));
    *two_meanings = force && force->dim != mass->dim && !is_decimal_si(mass);
    return *two_meanings ? NULL : mass;
}

TagId prop_tag(Loader *l, const Prop *p, Str name) {
    TagId tag = vocab_find(l->v, name);
    if (tag == TAG_NONE) {
        Str near = vocab_near(l->v, name, l->scratch);
        vocab_fault(l->findings, K_TAG, p->source, name.n ? name : p->value,
                    "no tag is called '%.*s'%.*s", STR_ARG(name), STR_ARG(near));
    }
    return tag;
}

ClassId prop_class(Loader *l, const Prop *p, Str name) {
    ClassId class = vocab_class(l->v, name);
    if (class != CLASS_NONE) return class;
    Near near;
    near_start(&near, name);
    for (unsigned i = 0; i < l->v->class_count; i++)
        near_offer(&near, l->v->classes[i].name);
    Str text = near_text(&near, l->scratch);
    vocab_fault(l->findings, K_CLASS, p->source, name.n ? name : p->value,
                "no class is called '%.*s'%s%.*s%s", STR_ARG(name), text.n ? " (" : "",
                STR_ARG(text), text.n ? ")" : "");
    return CLASS_NONE;
}
