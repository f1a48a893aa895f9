/* Lines that stand outside of blocks: `units`, `limit`, `aim`. */
#include "vocab/parts.h"

#include <math.h>

typedef struct LimitText {
    Str left, at, range, by; /* the tag and letter; behind the @; the range; its author */
    bool has_at;
} LimitText;

static void units_read(Loader *l, const Loose *p) {
    if (str_ieq(p->value, STR("metric")))
        l->v->units = SYSTEM_METRIC;
    else if (str_ieq(p->value, STR("us")))
        l->v->units = SYSTEM_US;
    else
        prop_fault(l, K_VALUE, p, "units are metric or us");
}

/* Splits at the first @ and the last ` by `. */
static LimitText limit_split(const Loose *p, Str keyword) {
    LimitText text = {.left = str_trim(str_skip(p->name, keyword.n)), .range = p->value};
    size_t at = str_find(text.left, STR(" @"), 0);
    if (at != SIZE_MAX) {
        text.has_at = true;
        text.at = str_trim(str_skip(text.left, at + 2));
        text.left = str_trim((Str){text.left.p, at});
    }
    size_t by = SIZE_MAX;
    for (size_t next = str_find(p->value, STR(" by "), 0); next != SIZE_MAX;
         next = str_find(p->value, STR(" by "), next + 1))
        by = next;
    if (by != SIZE_MAX) {
        text.by = str_trim(str_skip(p->value, by + 4));
        text.range = str_trim((Str){p->value.p, by});
    }
    return text;
}

static bool letter_read(Loader *l, const Loose *p, const Tag *tag, Str rest, uint8_t *letter) {
    ClassId of = tag->of;
    if (l->v->classes[of].kind == CLASS_ITEM)
        of = l->v->classes[of].up; /* what is read on a spring is limited at its valve */
    const char *letters = l->v->classes[of].letters;
    char c = rest.n == 1 ? rest.p[0] : '\0';
    if (!rest.n || (c && strchr(letters, c))) {
        *letter = (uint8_t)c;
        return true;
    }
    vocab_fault(l->findings, K_LIMIT, p->source, rest,
                "'%.*s' does not say where: behind the tag stands nothing%s%s", STR_ARG(rest),
                letters[0] ? " or one of the letters " : "", letters);
    return false;
}

static bool range_refused(Loader *l, const Loose *p, const RangeFault *fault) {
    vocab_fault(l->findings, K_LIMIT, p->source, fault->at.n ? fault->at : p->name, "%.*s",
                STR_ARG(fault->text));
    return false;
}

static bool condition_read(Loader *l, const Loose *p, const LimitText *text, const Tag *tag,
                           VocabLimit *limit) {
    RangeFault fault;
    limit->has_at = text->has_at;
    if (tag->has_curve != text->has_at) {
        prop_fault(l, K_LIMIT, p,
                   tag->has_curve ? "'%.*s' is a curve: say where on it, with @ and a value"
                                  : "'%.*s' is no curve, so @ means nothing",
                   STR_ARG(tag->name));
        return false;
    }
    if (!text->has_at ||
        range_value(text->at, tag->over->dim, tag->over, false, l->scratch, &limit->at, &fault))
        return true;
    return range_refused(l, p, &fault);
}

static bool value_read(Loader *l, const Loose *p, const LimitText *text, const Tag *tag,
                       VocabLimit *limit) {
    RangeFault fault;
    bool right;
    if (limit->is_aim) {
        right = range_value(text->range, tag->dim, tag->unit, false, l->scratch, &limit->range.low,
                            &fault);
        limit->range.high = limit->range.low;
    } else {
        right = range_parse(text->range, tag->dim, tag->unit, l->scratch, &limit->range, &fault);
    }
    if (!right) return range_refused(l, p, &fault);
    const Unit *unit = range_unit(text->range, tag->dim, tag->unit);
    Str doubt = range_doubt(tag, &limit->range, unit, l->scratch);
    if (doubt.n)
        vocab_fault(l->findings, K_IMPLAUSIBLE, p->source, text->range, "%.*s", STR_ARG(doubt));
    return true;
}

/* The same author's earlier line about the same thing; limit_count when there is none. */
static uint16_t limit_same(const Vocab *v, const VocabLimit *limit) {
    uint16_t i = 0;
    for (; i < v->limit_count; i++) {
        const VocabLimit *other = &v->limits[i];
        bool same_at = other->has_at == limit->has_at && (!limit->has_at || other->at == limit->at);
        if (other->tag == limit->tag && other->letter == limit->letter && same_at &&
            other->is_aim == limit->is_aim && str_ieq(other->by, limit->by))
            break;
    }
    return i;
}

static void limit_keep(Vocab *v, const VocabLimit *limit) {
    uint16_t at = limit_same(v, limit);
    v->limits[at] = *limit;
    v->limit_count += at == v->limit_count;
}

static void limit_lift(Vocab *v, const VocabLimit *limit) {
    uint16_t at = limit_same(v, limit);
    if (at == v->limit_count) return;
    v->limit_count--;
    memmove(&v->limits[at], &v->limits[at + 1], (size_t)(v->limit_count - at) * sizeof *v->limits);
}

static void limit_read(Loader *l, const Loose *p, bool is_aim, Str keyword) {
    Vocab *v = l->v;
    LimitText text = limit_split(p, keyword);
    Str rest;
    TagId id = vocab_match(v, text.left, &rest);
    if (id == TAG_NONE) {
        Str near = vocab_near(v, text.left, l->scratch);
        prop_fault(l, K_LIMIT, p, "no tag is called '%.*s'%.*s", STR_ARG(text.left), STR_ARG(near));
        return;
    }
    const Tag *tag = &v->tags[id];
    VocabLimit limit = {.tag = id,
                        .is_aim = is_aim,
                        .by = text.by.n ? text.by : STR("shop"),
                        .text = text.range,
                        .where = p->source,
                        .span = line_span(p->source, p->name)};
    if (tag->kind != TAG_NUMBER) {
        prop_fault(l, K_LIMIT, p, "'%.*s' has no numbers to limit", STR_ARG(tag->name));
        return;
    }
    if (!tag->unit || !letter_read(l, p, tag, rest, &limit.letter) ||
        !condition_read(l, p, &text, tag, &limit))
        return;
    if (str_ieq(text.range, STR("none")))
        limit_lift(v, &limit);
    else if (value_read(l, p, &text, tag, &limit)) {
        limit_keep(v, &limit);
    }
}

/* Of one letter, or of all places: unless the aim has a nearer one for the limit's letter. */
static bool meet(const Vocab *v, const VocabLimit *aim, const VocabLimit *limit) {
    if (!aim->is_aim || limit->is_aim || aim->tag != limit->tag || aim->has_at != limit->has_at ||
        (aim->has_at && aim->at != limit->at))
        return false;
    if (aim->letter == limit->letter || !limit->letter) return true;
    for (uint16_t i = 0; !aim->letter && i < v->limit_count; i++) {
        const VocabLimit *nearer = &v->limits[i];
        if (nearer->is_aim && nearer->tag == aim->tag && nearer->letter == limit->letter)
            return false;
    }
    return !aim->letter;
}

/* Equal to an end holds, also where the two are written in different units. */
static bool holds(const Range *range, double value) {
    double slack = 1e-9 * fabs(value);
    return value >= range->low - slack && value <= range->high + slack;
}

/* An aim that a limit beside it excludes; said once of an aim. */
static void doubt_aims(Loader *l) {
    const Vocab *v = l->v;
    for (uint16_t a = 0; a < v->limit_count; a++) {
        const VocabLimit *aim = &v->limits[a];
        for (uint16_t i = 0; i < v->limit_count; i++) {
            const VocabLimit *limit = &v->limits[i];
            if (!meet(v, aim, limit) || holds(&limit->range, aim->range.low)) continue;
            const VocabLimit *last = aim->span.off > limit->span.off ? aim : limit;
            finding_add(
                l->findings, &vocab_kinds[K_AIM], last->where, last->span,
                "the aim of %.*s is %.*s, and its limit is %.*s by %.*s: nothing meets both",
                STR_ARG(v->tags[aim->tag].name), STR_ARG(aim->text), STR_ARG(limit->text),
                STR_ARG(limit->by));
            break;
        }
    }
}

void limits_read(Loader *l) {
    static const Str limit = {"limit", 5}, aim = {"aim", 3};
    Vocab *v = l->v;
    v->limits = arena_array(v->arena, l->loose_count + 1u, sizeof *v->limits);
    for (uint32_t i = 0; i < l->loose_count; i++) {
        const Loose *p = &l->loose[i];
        Str rest = p->name;
        Str first = str_word(&rest);
        if (str_ieq(first, limit))
            limit_read(l, p, false, limit);
        else if (str_ieq(first, aim))
            limit_read(l, p, true, aim);
        else
            units_read(l, p);
    }
    doubt_aims(l);
}
