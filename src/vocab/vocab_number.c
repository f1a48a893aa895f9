/* The properties of quantities: units, values, curves, spots. */
#include "vocab/parts.h"

static Tag *tag_of(Loader *l, const Block *b) {
    return &l->v->tags[b->index];
}

/* NULL and a finding when the text names no unit. */
static const Unit *prop_unit(Loader *l, const Prop *p, Str text) {
    bool two_meanings;
    const Unit *unit = unit_certain(text, &two_meanings);
    if (unit) return unit;
    const char *advice = unit_advice(text);
    if (two_meanings)
        prop_fault(l, K_UNIT, p, "'%.*s' can be a force or a mass; write lbf or lbm",
                   STR_ARG(text));
    else
        prop_fault(l, K_UNIT, p, "unknown unit '%.*s'%s%s", STR_ARG(text), advice ? ": " : "",
                   advice ? advice : "");
    return NULL;
}

void parse_unit(Loader *l, Block *b, const Prop *p) {
    const Unit *unit = prop_unit(l, p, p->value);
    if (!unit) return;
    Tag *tag = tag_of(l, b);
    tag->unit = unit;
    tag->dim = unit->dim;
    tag->unit_from_shop = p->source == l->v->sources[1];
}

void parse_shows(Loader *l, Block *b, const Prop *p) {
    Str rest = p->value;
    Str count = str_word(&rest);
    unsigned places;
    bool right = whole_number(count, 9, &places);
    rest = str_trim(rest);
    if (right && (str_ieq(rest, STR("places")) || str_ieq(rest, STR("place"))))
        tag_of(l, b)->places = (uint8_t)places;
    else
        prop_fault(l, K_VALUE, p, "write how many decimals are shown, as '3 places' (9 at most)");
}

static void range_refused(Loader *l, const Prop *p, const RangeFault *fault) {
    vocab_fault(l->findings, K_VALUE, p->source, fault->at.n ? fault->at : p->value, "%.*s",
                STR_ARG(fault->text));
}

void parse_plausible(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    RangeFault fault;
    if (!tag->unit) return; /* the unit has its own finding */
    if (range_parse(p->value, tag->dim, tag->unit, l->scratch, &tag->plausible, &fault))
        tag->has_plausible = true;
    else
        range_refused(l, p, &fault);
}

/* A distance of more than 0 in the tag's unit. */
static bool distance(Loader *l, const Tag *tag, const Prop *p, Str text, double *out) {
    double si;
    RangeFault fault;
    if (!tag->unit) return false;
    if (!range_value(text, tag->dim, tag->unit, true, l->scratch, &si, &fault)) {
        range_refused(l, p, &fault);
        return false;
    }
    if (!(si > 0)) {
        prop_fault(l, K_VALUE, p, "this must be more than 0");
        return false;
    }
    *out = si;
    return true;
}

/* A part from 0 to most; a finding otherwise. */
static void percent(Loader *l, const Prop *p, double most, double *out) {
    double part;
    if (percent_value(p->value, &part) && part > 0 && part <= most)
        *out = part;
    else
        prop_fault(l, K_VALUE, p, "write it as 'N percent', above 0 and at most %.0f", most * 100);
}

void parse_repeats(Loader *l, Block *b, const Prop *p) {
    distance(l, tag_of(l, b), p, p->value, &tag_of(l, b)->repeatability);
}

void parse_alike(Loader *l, Block *b, const Prop *p) {
    const Tag *tag = tag_of(l, b);
    bool counts_percent = tag->dim == DIM_NUMBER && tag->unit && tag->unit->factor != 1;
    if (str_ends(p->value, STR(" percent")) && !counts_percent) /* of a percentage: points of it */
        percent(l, p, 1, &tag_of(l, b)->alike_part);
    else
        distance(l, tag_of(l, b), p, p->value, &tag_of(l, b)->alike);
}

void parse_changes(Loader *l, Block *b, const Prop *p) {
    distance(l, tag_of(l, b), p, p->value, &tag_of(l, b)->change_alike);
}

void parse_agrees(Loader *l, Block *b, const Prop *p) {
    percent(l, p, 1, &tag_of(l, b)->agrees);
}

void parse_only(Loader *l, Block *b, const Prop *p) {
    if (str_ieq(p->value, STR("rises")))
        tag_of(l, b)->trend = TREND_RISES;
    else if (str_ieq(p->value, STR("falls")))
        tag_of(l, b)->trend = TREND_FALLS;
    else
        prop_fault(l, K_VALUE, p, "'only' is rises or falls");
}

void parse_lowered(Loader *l, Block *b, const Prop *p) {
    tag_of(l, b)->lowered_by = prop_tag(l, p, p->value);
}

void parse_made_of(Loader *l, Block *b, const Prop *p) {
    TagId stock = prop_tag(l, p, p->value);
    if (stock == TAG_NONE) return;
    const Tag *of = &l->v->tags[stock];
    if (of->kind != TAG_STOCK || of->dim != tag_of(l, b)->dim)
        prop_fault(l, K_TAG, p, "'%.*s' is no stock of the same dimension", STR_ARG(p->value));
    else
        tag_of(l, b)->made_of = stock;
}

void parse_stocked(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    unsigned room = list_room(l, p, LIST_MOST);
    double *sizes = arena_array(l->v->arena, room, sizeof *sizes);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        if (!distance(l, tag, p, entry, &sizes[count++])) return;
    }
    tag->stocked = sizes;
    tag->stocked_count = count;
}

/* The last ` in ` parts the condition's name from its unit: `height in in`. */
static size_t find_in(Str s) {
    for (size_t at = s.n; at-- > 0;)
        if (s.n - at > 4 && at > 0 && is_blank(s.p[at]) && to_lower(s.p[at + 1]) == 'i' &&
            to_lower(s.p[at + 2]) == 'n' && is_blank(s.p[at + 3]))
            return at;
    return SIZE_MAX;
}

/* `height in in`, or with what it can be: `height in in, .5 .. 3.5 in`. */
void parse_over(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    size_t at = find_in(p->value), comma = str_find_char(p->value, ',', 0);
    if (at == SIZE_MAX) {
        prop_fault(l, K_VALUE, p, "write what it runs over and the unit, as 'height in mm'");
        return;
    }
    const Unit *unit = prop_unit(l, p, str_trim(str_skip(str_before(p->value, comma), at + 3)));
    if (!unit) return;
    RangeFault fault;
    if (comma != SIZE_MAX) {
        tag->has_over_plausible = range_parse(str_after(p->value, comma), unit->dim, unit,
                                              l->scratch, &tag->over_plausible, &fault);
        if (!tag->has_over_plausible) range_refused(l, p, &fault);
    }
    tag->over_name = name_tidy(l->v->arena, (Str){p->value.p, at});
    tag->over = unit;
    tag->has_curve = true;
}

void parse_reach(Loader *l, Block *b, const Prop *p) {
    percent(l, p, 1, &tag_of(l, b)->reach);
}

void parse_indexed(Loader *l, Block *b, const Prop *p) {
    if (str_ieq(p->value, STR("no")))
        tag_of(l, b)->unindexed = true;
    else
        prop_fault(l, K_VALUE, p, "'indexed' can only be no; leave it out otherwise");
}

/* `over` is known by now, of every quantity. */
void parse_compared(Loader *l, Block *b, const Prop *p) {
    TagId id = prop_tag(l, p, p->value);
    if (id == TAG_NONE) return;
    const Tag *tag = tag_of(l, b);
    if (tag->has_curve && l->v->tags[id].kind == TAG_NUMBER && !l->v->tags[id].has_curve &&
        l->v->tags[id].dim == tag->over->dim)
        tag_of(l, b)->compared_at = id;
    else if (tag->has_curve)
        prop_fault(l, K_TAG, p, "'%.*s' is no %.*s", STR_ARG(p->value), STR_ARG(tag->over_name));
}

void parse_shift(Loader *l, Block *b, const Prop *p) {
    tag_of(l, b)->shift_means = p->value;
}

void parse_tilt(Loader *l, Block *b, const Prop *p) {
    tag_of(l, b)->tilt_means = p->value;
}

void parse_spots(Loader *l, Block *b, const Prop *p) {
    unsigned room = list_room(l, p, SPOT_MOST);
    Str *spots = arena_array(l->v->arena, room, sizeof *spots);
    Str rest = p->value, entry, bad;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        Str name = name_tidy(l->v->arena, entry);
        const char *why = name_fault(l->v, name, &bad);
        for (unsigned i = 0; i < count && !why; i++)
            why = str_ieq(spots[i], name) ? "is there twice" : NULL;
        if (why) {
            prop_fault(l, K_NAME, p, "the spot '%.*s' %s", STR_ARG(name), why);
            return;
        }
        spots[count++] = name;
    }
    tag_of(l, b)->spots = spots;
    tag_of(l, b)->spot_count = count;
}

void parse_uses(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    for (uint8_t i = 0; i < tag->spot_count; i++)
        if (str_ieq(tag->spots[i], p->value)) {
            tag->uses_spot = true;
            tag->used_spot = i;
            return;
        }
    if (str_ieq(p->value, STR("mean")))
        tag->used_aggregate = AGG_MEAN;
    else if (str_ieq(p->value, STR("largest")))
        tag->used_aggregate = AGG_LARGEST;
    else if (str_ieq(p->value, STR("smallest")))
        tag->used_aggregate = AGG_SMALLEST;
    else
        prop_fault(l, K_VALUE, p, "'uses' is one of its spots, or mean, largest or smallest");
}

static const TagId *tag_list(Loader *l, const Prop *p, uint8_t *count) {
    unsigned room = list_room(l, p, LIST_MOST);
    TagId *tags = arena_array(l->v->arena, room, sizeof *tags);
    Str rest = p->value, entry;
    *count = 0;
    while (*count < room && list_next(&rest, &entry)) {
        TagId tag = prop_tag(l, p, entry);
        if (tag != TAG_NONE) tags[(*count)++] = tag;
    }
    return tags;
}

void parse_aside(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    tag->set_aside_by = tag_list(l, p, &tag->set_aside_count);
}

void parse_changed(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    tag->changed_by = tag_list(l, p, &tag->changed_count);
}

void parse_is(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    if (tag->has_curve || tag->spot_count) {
        prop_fault(l, K_CURVE, p, "a %s can't be computed as a whole",
                   tag->has_curve ? "curve" : "quantity with spots");
        return;
    }
    if (!tag->unit) return;
    tag->is = formula_parse(l->v, p->source, p->value, tag->of, true, tag->dim, l->findings);
    tag->is_where = p->source;
}
