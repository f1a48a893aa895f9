#include "units/expression.h"
#include "base/fatal.h"
#include "units/units_table.h"
#include <math.h>
#include <pthread.h>

/*
 * A unit written as an expression: factors with whole powers, joined by a blank, '-', '*' or a
 * raised dot (products), or by '/' (quotients). Quotients read from the left, `in/in/degF` is
 * (in/in)/degF; a product behind a slash is refused, since people read it both ways.
 */
enum { FACTORS_MOST = 8, NAME_MOST = 80, TEXT_MOST = 64 };

typedef struct Factor {
    Str name; /* as it is written, without its power */
    int power;
    bool under; /* behind a slash */
} Factor;

typedef struct Factors {
    Factor items[FACTORS_MOST];
    unsigned count;
} Factors;

typedef enum Parse { PARSE_OK, PARSE_BAD, PARSE_AMBIGUOUS } Parse;

/* Bytes of what multiplies, at the start of s: '-', '*', U+00B7 or U+22C5. */
static size_t product_mark(Str s) {
    if (s.n && (s.p[0] == '-' || s.p[0] == '*')) return 1;
    if (str_starts(s, STR("\u00B7"))) return 2;
    return str_starts(s, STR("\u22C5")) ? 3 : 0;
}

static Str skip_blanks(Str s) {
    while (s.n && is_blank(s.p[0]))
        s = str_skip(s, 1);
    return s;
}

/* Takes the power off the end of a factor: `in3`, `in^3`, U+00B2 and U+00B3. One digit, from 1. */
static bool take_power(Str word, Factor *out) {
    static const struct {
        Str mark;
        int power;
    } raised[] = {{{"\u00B2", 2}, 2}, {{"\u00B3", 2}, 3}};
    *out = (Factor){.name = word, .power = 1};
    for (size_t i = 0; i < sizeof raised / sizeof *raised; i++) {
        if (!str_ends(word, raised[i].mark)) continue;
        out->name.n -= raised[i].mark.n;
        out->power = raised[i].power;
        return out->name.n > 0;
    }
    if (unit_plain(word, DIM_NUMBER)) return true; /* inH2O3 is none, inH2O is */
    char last = word.p[word.n - 1];
    if (!is_digit(last)) return word.n > 0;
    out->power = last - '0';
    out->name.n--;
    if (out->name.n && out->name.p[out->name.n - 1] == '^') out->name.n--;
    bool two_digits = out->name.n && is_digit(out->name.p[out->name.n - 1]);
    return out->name.n > 0 && out->power > 0 && !two_digits;
}

/* Takes the next factor off *rest. A lone 1 stands for nothing but a place before a slash. */
static bool take_factor(Str *rest, Factor *out) {
    size_t n = 0;
    while (n < rest->n && !is_blank(rest->p[n]) && rest->p[n] != '/' &&
           !product_mark(str_skip(*rest, n)))
        n++;
    Str word = {rest->p, n};
    *rest = str_skip(*rest, n);
    if (str_eq(word, STR("1"))) {
        *out = (Factor){.power = 0};
        return true;
    }
    return n > 0 && take_power(word, out);
}

static Parse parse(Str text, Factors *out) {
    bool under = false;
    *out = (Factors){.count = 0};
    if (text.n > TEXT_MOST) return PARSE_BAD;
    Str rest = skip_blanks(text);
    for (;;) {
        Factor factor;
        if (out->count == FACTORS_MOST || !take_factor(&rest, &factor)) return PARSE_BAD;
        factor.under = under;
        if (factor.power)
            out->items[out->count++] = factor;
        else if (out->count || under)
            return PARSE_BAD; /* a 1 can only come first */
        Str tail = skip_blanks(rest);
        if (tail.n == 0) return out->count ? PARSE_OK : PARSE_BAD;
        bool slash = tail.p[0] == '/';
        if (!slash && under) return PARSE_AMBIGUOUS;
        if (!slash && !factor.power) return PARSE_BAD; /* `1 mm` is a number and a unit */
        under = under || slash;
        rest = skip_blanks(str_skip(tail, slash ? 1 : product_mark(tail)));
    }
}

bool unit_is_ambiguous(Str text) {
    Factors factors;
    return parse(str_trim(text), &factors) == PARSE_AMBIGUOUS;
}

/* `prefer` decides what lb, oz and kg are: a mass or a force. */
static bool evaluate(const Factors *factors, Dim prefer, Unit *out, char name[NAME_MOST]) {
    size_t n = 0;
    *out = (Unit){.dim = DIM_NUMBER, .factor = 1, .source = "made of known units"};
    for (unsigned i = 0; i < factors->count; i++) {
        const Factor *f = &factors->items[i];
        const Unit *u = unit_plain(f->name, prefer);
        if (!u || !*u->name) return false; /* a plain number is no factor */
        for (int k = 0; k < f->power; k++) {
            out->dim = f->under ? dim_div(out->dim, u->dim) : dim_mul(out->dim, u->dim);
            out->factor = f->under ? out->factor / u->factor : out->factor * u->factor;
        }
        if (out->dim == DIM_OVER) return false;
        const char *join = f->under ? (i ? "/" : "1/") : (i ? " " : "");
        int wrote = snprintf(name + n, NAME_MOST - n, f->power > 1 ? "%s%s%d" : "%s%s", join,
                             u->name, f->power);
        if (wrote < 0 || (size_t)wrote >= NAME_MOST - n) return false;
        n += (size_t)wrote;
    }
    return true;
}

/* Two factors that should be the same came by different multiplications. */
static bool same_factor(double a, double b) {
    return fabs(a - b) <= 1e-14 * fabs(a);
}

static const Unit *row_like(const Unit *made) {
    if (made->dim == DIM_NUMBER) return NULL; /* in/in keeps its name */
    for (size_t i = 0; i < units_table_count; i++) {
        const Unit *row = &units_table[i];
        if (row->dim == made->dim && row->offset == 0 && same_factor(row->factor, made->factor))
            return row;
    }
    return NULL;
}

/* What was made so far. Kept for good: a reading may point at it for as long as the program runs.
 */
typedef struct Made {
    struct Made *next;
    Unit unit;
    char name[NAME_MOST];
} Made;

enum { CHAINS = 64 };
static Made *chains[CHAINS];
static pthread_mutex_t chains_lock = PTHREAD_MUTEX_INITIALIZER;

static const Unit *intern(const Unit *unit, const char *name) {
    size_t hash = 0;
    for (const char *p = name; *p; p++)
        hash = hash * 31 + (unsigned char)*p;
    Made **chain = &chains[hash % CHAINS];
    pthread_mutex_lock(&chains_lock);
    Made *made = *chain;
    while (made && (made->unit.dim != unit->dim || strcmp(made->name, name) != 0))
        made = made->next;
    if (!made) {
        made = calloc(1, sizeof *made);
        if (!made) fatal("out of memory");
        made->unit = *unit;
        memcpy(made->name, name, strlen(name) + 1);
        made->unit.name = made->name;
        made->next = *chain;
        *chain = made;
    }
    pthread_mutex_unlock(&chains_lock);
    return &made->unit;
}

/* Of the two readings of lb, oz and kg: the one of the wanted dimension, else one whose dimension
 * has a name. */
const Unit *unit_expression(Str text, Dim want) {
    Factors factors;
    Unit as_mass, as_force;
    char mass_name[NAME_MOST], force_name[NAME_MOST];
    if (parse(text, &factors) != PARSE_OK) return NULL;
    if (factors.count == 1 && factors.items[0].power == 1 && !factors.items[0].under)
        return NULL; /* no expression: unit_plain had its turn */
    if (!evaluate(&factors, DIM_MASS, &as_mass, mass_name) ||
        !evaluate(&factors, DIM_FORCE, &as_force, force_name))
        return NULL;
    bool force = as_mass.dim != want && (as_force.dim == want || !*dim_name(as_mass.dim));
    const Unit *unit = force ? &as_force : &as_mass;
    const Unit *row = row_like(unit);
    return row ? row : intern(unit, force ? force_name : mass_name);
}
