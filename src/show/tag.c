#include "show/tag.h"

#include "compute/say.h"
#include "show/table.h"
#include "vocab/formula.h"
#include <math.h>

enum { LABEL = 16 };

/* ---- words for single properties --------------------------------------------------------------
 */

/* As few decimals as say the number to nine digits: ranges are round in the unit they are of. */
static void add_plain(Buf *b, double v) {
    int places = 0;
    for (double scale = 1; places < 9; places++, scale *= 10)
        if (fabs(round(v * scale) / scale - v) <= 1e-9 * fabs(v)) break;
    buf_fixed(b, v, places);
}

static void add_unit(Buf *b, const Unit *unit) {
    if (unit->name[0]) buf_printf(b, " %s", unit->name);
}

static void add_value(Buf *b, const Unit *unit, double si) {
    add_plain(b, unit_from_si(unit, si));
    add_unit(b, unit);
}

static void add_difference(Buf *b, const Unit *unit, double si) {
    add_plain(b, unit_diff_from_si(unit, si));
    add_unit(b, unit);
}

static void add_range(Buf *b, const Unit *unit, Range r) {
    bool low = isfinite(r.low), high = isfinite(r.high);
    if (low && high) {
        add_plain(b, unit_from_si(unit, r.low));
        buf_puts(b, " .. ");
        add_value(b, unit, r.high);
    } else {
        buf_puts(b, low ? "at least " : "at most ");
        add_value(b, unit, low ? r.low : r.high);
    }
}

static const Unit *counterpart(const Unit *u) {
    const Unit *metric = unit_in(u, SYSTEM_METRIC);
    return metric == u ? unit_in(u, SYSTEM_US) : metric;
}

static void add_choices(Buf *b, const Tag *t) {
    buf_puts(b, "one of ");
    for (uint8_t i = 0; i < t->choice_count; i++)
        buf_printf(b, "%s%.*s", i ? ", " : "", STR_ARG(t->choices[i].name));
}

Str tag_value_kind(const Tag *t, Arena *a) {
    static const char *const kinds[] = {
        [TAG_WORDS] = "words",
        [TAG_DATE] = "a date",
        [TAG_PART] = "names a part card",
        [TAG_SET] = "names the set in use",
        [TAG_PLACEMENT] = "says which item sits there",
        [TAG_BANK] = "says which places are on it",
        [TAG_CARRIER] = "says where it sits",
        [TAG_SCRAP] = "says why an item is never fitted again",
        [TAG_GAUGE] = "says how far a gauge was off",
    };
    Buf b = {0};
    if (t->kind == TAG_NUMBER)
        buf_puts(&b, t->unit->name[0] ? t->unit->name : "a plain number");
    else if (t->kind == TAG_STOCK)
        buf_printf(&b, "sizes in %s, and how many of each", t->unit ? t->unit->name : "any unit");
    else if (t->kind == TAG_CHOICE)
        add_choices(&b, t);
    else
        buf_puts(&b, kinds[t->kind]);
    Str text = arena_str(a, buf_str(&b));
    buf_release(&b);
    return text;
}

static bool has_plausible(const Tag *t) {
    return t->has_plausible;
}
static bool has_repeatability(const Tag *t) {
    return t->repeatability > 0;
}
static bool has_alike(const Tag *t) {
    return t->alike > 0 || t->alike_part > 0;
}
static bool has_change_alike(const Tag *t) {
    return t->change_alike > 0;
}
static bool has_trend(const Tag *t) {
    return t->trend != TREND_ANY;
}
static bool has_lowered_by(const Tag *t) {
    return t->lowered_by != TAG_NONE;
}
static bool has_made_of(const Tag *t) {
    return t->made_of != TAG_NONE;
}
static bool has_agrees(const Tag *t) {
    return t->agrees > 0;
}

/* Which property of a tag switches on which check; tests/tag.sh holds the codes to the program's
 * own list. */
static const struct {
    const char *code;
    bool (*applies)(const Tag *t);
} check_rows[] = {
    {"implausible", has_plausible}, {"repeat-differs", has_repeatability},
    {"set-contradicts", has_alike}, {"digits-swapped", has_alike},
    {"unit-slip", has_alike},       {"change-unlike", has_change_alike},
    {"against-trend", has_trend},   {"not-lowered", has_lowered_by},
    {"not-stocked", has_made_of},   {"stated-differs", has_agrees},
};
enum { CHECK_ROWS = sizeof check_rows / sizeof *check_rows };
_Static_assert((int)CHECK_ROWS <= (int)TAG_CHECKS_MOST, "room for every check");

unsigned tag_checks(const Tag *t, const char *codes[TAG_CHECKS_MOST]) {
    unsigned count = 0;
    for (unsigned i = 0; i < CHECK_ROWS; i++)
        if (t->kind == TAG_NUMBER && check_rows[i].applies(t)) codes[count++] = check_rows[i].code;
    return count;
}

/* ---- the page ----------------------------------------------------------------------------------
 */

typedef struct Page {
    Buf *out;
    const Vocab *v;
    const Tag *tag;
    TagId id;
    Arena *arena;
    Buf text; /* of the field at hand */
    int width;
} Page;

/* Puts out the gathered text beside its label; nothing when there is none. */
static void field(Page *p, const char *label) {
    if (p->text.n) {
        size_t start = p->out->n;
        buf_printf(p->out, "  %s", label);
        buf_fill(p->out, ' ', LABEL - (p->out->n - start));
        fold_text(p->out, buf_str(&p->text), p->width, LABEL);
    }
    buf_clear(&p->text);
}

static void add_name(Page *p, const char *before, Str name) {
    buf_printf(&p->text, "%s%.*s", p->text.n ? before : "", STR_ARG(name));
}

static void add_tags(Page *p, const TagId *tags, unsigned count) {
    for (unsigned i = 0; i < count; i++)
        add_name(p, ", ", p->v->tags[tags[i]].name);
}

static void names(Page *p) {
    for (uint8_t i = 0; i < p->tag->also_count; i++)
        add_name(p, ", ", p->tag->also[i]);
    field(p, "also");
    const Class *of = &p->v->classes[p->tag->of];
    if (p->tag->of == CLASS_ENGINE)
        buf_puts(&p->text, "the engine as a whole");
    else
        buf_printf(&p->text, "each %.*s", STR_ARG(of->name));
    if (p->tag->holds_entry) buf_puts(&p->text, "; it holds for its entry only");
    field(p, "of");
}

static void unit(Page *p) {
    const Tag *t = p->tag;
    Str kind = tag_value_kind(t, p->arena);
    buf_add(&p->text, kind);
    if (t->unit) {
        const Unit *other = counterpart(t->unit);
        if (other != t->unit) buf_printf(&p->text, " (or %s)", other->name);
        if (t->unit_from_shop) buf_puts(&p->text, ", as the shop says");
    }
    if (t->kind == TAG_NUMBER)
        buf_printf(&p->text, "; computed ones are shown with %u decimal%s", t->places,
                   t->places == 1 ? "" : "s");
    field(p, t->unit ? "unit" : "value");
}

static void words(Page *p) {
    const Tag *t = p->tag;
    for (uint8_t i = 0; i < t->usual_count; i++)
        add_name(p, ", ", t->usual[i]);
    field(p, "usual");
    if (t->orders != CLASS_NONE)
        buf_printf(&p->text, "numbers put the %.*s in an order, each once",
                   STR_ARG(p->v->classes[t->orders].plural));
    field(p, "order");
}

static void curve(Page *p) {
    const Tag *t = p->tag;
    if (t->has_curve) {
        buf_printf(&p->text, "over %.*s in %s: each value is said with its @",
                   STR_ARG(t->over_name), t->over->name);
        if (t->reach > 0) {
            buf_puts(&p->text, "; it may be carried ");
            add_plain(&p->text, t->reach * 100);
            buf_puts(&p->text, " percent of its span beyond its ends");
        }
        if (t->compared_at != TAG_NONE)
            buf_printf(&p->text, "; compared over the years at %.*s",
                       STR_ARG(p->v->tags[t->compared_at].name));
    }
    field(p, "curve");
    for (uint8_t i = 0; i < t->spot_count; i++)
        add_name(p, ", ", t->spots[i]);
    field(p, "spots");
}

static void ranges(Page *p) {
    const Tag *t = p->tag;
    if (t->has_plausible) add_range(&p->text, t->unit, t->plausible);
    field(p, "plausible");
    if (t->repeatability > 0) {
        buf_puts(&p->text, "within ");
        add_difference(&p->text, t->unit, t->repeatability);
    }
    field(p, "repeats");
    for (uint8_t i = 0; i < t->stocked_count; i++) {
        if (i) buf_puts(&p->text, ", ");
        add_value(&p->text, t->unit, t->stocked[i]);
    }
    field(p, "stocked");
}

typedef struct Uses {
    TagId tag;
    bool found;
} Uses;

static void see_input(void *ctx, TagId tag) {
    Uses *u = ctx;
    u->found |= tag == u->tag;
}

static bool uses(const Formula *f, TagId tag) {
    Uses u = {.tag = tag};
    if (f) formula_inputs(f, see_input, &u);
    return u.found;
}

static void formula(Page *p) {
    const Tag *t = p->tag;
    if (t->is) {
        buf_printf(&p->text, "%.*s (%.*s)", STR_ARG(source_slice(t->is_where, t->is->span)),
                   STR_ARG(say_place(p->arena, t->is_where, t->is->span.off)));
    }
    field(p, "formula");
    for (uint16_t i = 0; i < p->v->computed_count; i++) {
        const Tag *other = &p->v->tags[p->v->computed[i]];
        if (uses(other->is, p->id)) add_name(p, ", ", other->name);
    }
    field(p, "used by");
    add_tags(p, t->set_aside_by, t->set_aside_count);
    field(p, "set aside by");
    add_tags(p, t->changed_by, t->changed_count);
    field(p, "changed by");
}

static void checks(Page *p) {
    const char *codes[TAG_CHECKS_MOST];
    unsigned count = tag_checks(p->tag, codes);
    for (unsigned i = 0; i < count; i++)
        add_name(p, ", ", str_from(codes[i]));
    field(p, "checks");
    for (uint16_t i = 0; i < p->v->rule_count; i++) {
        const Rule *r = &p->v->rules[i];
        if (uses(r->left, p->id) || uses(r->right, p->id)) add_name(p, ", ", r->name);
    }
    field(p, "rules");
}

static void shop_limits(Page *p) {
    for (uint16_t i = 0; i < p->v->limit_count; i++) {
        const VocabLimit *l = &p->v->limits[i];
        if (l->tag != p->id) continue;
        if (l->letter) buf_printf(&p->text, "%c: ", l->letter);
        if (l->has_at && p->tag->over) {
            buf_puts(&p->text, "@ ");
            add_value(&p->text, p->tag->over, l->at);
            buf_puts(&p->text, ": ");
        }
        buf_printf(&p->text, "%.*s by %.*s (%.*s)", STR_ARG(l->text), STR_ARG(l->by),
                   STR_ARG(say_place(p->arena, l->where, l->span.off)));
        field(p, l->is_aim ? "aim" : "limit");
    }
}

static void origin(Page *p) {
    const Tag *t = p->tag;
    buf_add(&p->text, t->source);
    field(p, "source");
    if (t->where) {
        buf_add(&p->text, say_place(p->arena, t->where, t->span.off));
        if (t->from_shop) buf_puts(&p->text, ", changed or declared by the shop");
    }
    field(p, "stands in");
}

void tag_text(Buf *out, const Vocab *v, TagId id, Arena *a, int width, bool colour) {
    Page p = {.out = out, .v = v, .tag = &v->tags[id], .id = id, .arena = a, .width = width};
    tone_text(out, p.tag->name, TONE_HEAD, colour);
    buf_putc(out, '\n');
    if (p.tag->says.n) {
        buf_puts(out, "  ");
        fold_text(out, p.tag->says, width, 2);
    }
    names(&p);
    unit(&p);
    words(&p);
    curve(&p);
    ranges(&p);
    formula(&p);
    checks(&p);
    shop_limits(&p);
    origin(&p);
    buf_release(&p.text);
}
