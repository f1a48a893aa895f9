/* Limits, aims and accepted exceptions. */
#include "compute/bind.h"

#include "vocab/range.h"
#include <math.h>

static bool takes_word(Str *s, const char *word) {
    Str copy = *s;
    if (!str_ieq(str_word(&copy), str_from(word))) return false;
    *s = str_trim(copy);
    return true;
}

/* Cuts ` by WHO` off the end; the last one counts. */
static Str cut_author(Str *right) {
    for (size_t at = right->n; at-- > 0;) {
        if (right->p[at] != 'b' || at + 3 > right->n || right->p[at + 1] != 'y' ||
            !is_blank(right->p[at + 2]))
            continue;
        if (at > 0 && !is_blank(right->p[at - 1])) continue;
        Str who = str_trim(str_skip(*right, at + 2));
        *right = str_trim((Str){right->p, at});
        return who;
    }
    return (Str){0};
}

static Str author_above(const Binder *b, Str by) {
    enum { LOOKED_MOST = 256 };
    uint32_t looked = 0;
    for (uint32_t i = b->job->event_count; i-- > 0 && looked < LOOKED_MOST; looked++) {
        const Event *e = &b->job->events[i];
        if (e->by.n && !str_ieq(e->by, by)) {
            if (near_distance(e->by, by, 1) == 1) return e->by;
        } else if (e->by.n) {
            return (Str){0}; /* said before, and looked at then */
        }
    }
    return (Str){0};
}

/* `by hsop`: a second author, whose limits replace none of the first. `by shop  slow engine`: a
 * remark without its semicolon. */
static void doubt_author(Binder *b, Str by) {
    enum { NAME_LEAST = 3 };
    static const char *const usual[] = {"shop", "maker"};
    Str rest = by, first = str_word(&rest), near = {0};
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        Str name = str_from(usual[i]);
        if (str_ieq(by, name)) return;
        if (str_ieq(first, name) || near_distance(by, name, 1) == 1) near = name;
    }
    if (!near.n && by.n >= NAME_LEAST) near = author_above(b, by);
    if (!near.n) return;
    fault(
        b, AUTHOR_NEAR, by,
        "the author is `%.*s` here, and so another than `%.*s`: if it is the same, write it so; a "
        "remark has ` ; ` before it",
        STR_ARG(by), STR_ARG(near));
}

typedef struct Target { /* `TAG [subject] [@ condition]` */
    TagId tag;
    bool has_at;
    double at;
} Target;

static bool read_target(Binder *b, Str text, Target *out) {
    Str rest;
    *out = (Target){.tag = match_name(b, text, &rest)};
    if (out->tag == TAG_NONE) {
        unknown_tag(b, text);
        return false;
    }
    const Tag *tag = &b->v->tags[out->tag];
    size_t at = str_find_char(rest, '@', 0);
    if (at != SIZE_MAX) {
        if (!tag->has_curve) {
            fault(b, CONDITION_UNWANTED, str_skip(rest, at),
                  "`%.*s` is one value, not a curve: leave the @ out", STR_ARG(tag->name));
            return false;
        }
        Str condition = str_trim(str_skip(rest, at + 1));
        if (!read_quantity(b, condition, tag->over->dim, default_condition_unit(b, tag), &out->at,
                           NULL))
            return false;
        out->has_at = true;
        rest = str_trim((Str){rest.p, at});
    }
    return read_subjects(b, tag->of, rest, &b->list);
}

static bool needs_number(Binder *b, const Tag *tag, Str text) {
    if (tag->kind == TAG_NUMBER) return true;
    fault(b, RANGE_FORM, text, "`%.*s` is no quantity: it cannot have a limit or an aim",
          STR_ARG(tag->name));
    return false;
}

static void add_for_each(Binder *b, const Target *t, const Event *like) {
    SubjectList list = b->list;
    for (uint32_t i = 0; i < list.count; i++) {
        Event *e = add_event(b, like->kind);
        Span span = e->span;
        uint32_t before = e->before;
        *e = *like;
        e->span = span;
        e->before = before;
        e->source = b->source_index;
        e->entry = b->entry;
        e->subject = list.ids[i];
        e->subject2 = SUBJECT_NONE;
        e->tag = t->tag;
        e->has_at = t->has_at;
        e->at = t->at;
    }
}

/* `at most 25 in` where .0025 was meant holds for ever, and so says nothing. */
static void doubt_range(Binder *b, const Tag *tag, const Event *e, Str text) {
    Str doubt = range_doubt(tag, &e->range, e->unit, b->job->arena);
    if (doubt.n) fault(b, LIMIT_IMPLAUSIBLE, text, "%.*s", STR_ARG(doubt));
}

static void bind_limit(Binder *b, Str left) {
    Str right = b->line.right;
    Str by = cut_author(&right);
    Target t;
    if (!read_target(b, left, &t) || !needs_number(b, &b->v->tags[t.tag], left)) return;
    if (!by.n && b->job->is_card) by = STR("maker");
    if (!by.n) {
        fault(b, LIMIT_AUTHOR, b->line.right,
              "a limit says who set it: write `by shop`, `by maker` or a name behind it");
        return;
    }
    if (!b->job->is_card) doubt_author(b, by);
    Event like = {.kind = EVENT_LIMIT, .by = by, .text = right};
    if (str_ieq(right, STR("none"))) {
        like.kind = EVENT_NO_LIMIT;
    } else {
        const Tag *tag = &b->v->tags[t.tag];
        uint16_t flags;
        RangeFault bad;
        const Unit *unit = default_unit(b, t.tag, &flags);
        if (!range_parse(right, tag->dim, unit, b->job->arena, &like.range, &bad)) {
            fault(b, RANGE_FORM, bad.at.n ? bad.at : right, "%.*s", STR_ARG(bad.text));
            return;
        }
        like.unit = range_unit(right, tag->dim, unit);
        if (!b->line.struck) doubt_range(b, tag, &like, right);
    }
    if (!b->line.struck) add_for_each(b, &t, &like);
}

static void bind_aim(Binder *b, Str left) {
    Target t;
    Str right = b->line.right;
    Str by = cut_author(&right);
    if (!read_target(b, left, &t) || !needs_number(b, &b->v->tags[t.tag], left)) return;
    Event like = {.kind = EVENT_AIM, .text = right, .by = by};
    const Tag *tag = &b->v->tags[t.tag];
    if (str_ieq(right, STR("none"))) {
        like.value = NAN;
    } else {
        uint16_t flags;
        const Unit *unit = default_unit(b, t.tag, &flags);
        if (!read_quantity(b, right, tag->dim, unit, &like.value, &like.unit)) return;
    }
    like.range = (Range){like.value, like.value};
    if (!isnan(like.value) && !b->line.struck) doubt_range(b, tag, &like, right);
    if (!b->line.struck) add_for_each(b, &t, &like);
}

static void bind_accept(Binder *b, Str left) {
    Target t;
    Str right = b->line.right;
    Str by = cut_author(&right);
    if (!read_target(b, left, &t)) return;
    if (!by.n || !right.n) {
        fault(b, LIMIT_AUTHOR, b->line.right,
              "say why and who accepts it: `accept %.*s = reason by WHO`", STR_ARG(left));
        return;
    }
    Event like = {.kind = EVENT_ACCEPT, .text = right, .by = by};
    if (!b->line.struck) add_for_each(b, &t, &like);
}

bool bind_limit_line(Binder *b) {
    Str left = b->line.left;
    void (*bind)(Binder *, Str) = NULL;
    if (left.n < 4) return false;
    char c = to_lower(left.p[0]);
    if (c == 'l' && takes_word(&left, "limit"))
        bind = bind_limit;
    else if (c == 'a' && takes_word(&left, "aim"))
        bind = bind_aim;
    else if (c == 'a' && takes_word(&left, "accept"))
        bind = bind_accept;
    if (!bind) return false;
    if (b->line.right.n == 0)
        fault(b, VALUE_MISSING, b->line.left, "nothing stands behind the equals sign");
    else
        bind(b, left);
    return true;
}
