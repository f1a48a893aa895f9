/* Limits, aims, accepted exceptions, and gauges found off. */
#include "compute/bind.h"

#include "compute/chain.h"
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
    *out = (Target){.tag = vocab_match(b->v, text, &rest)};
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

/* ---- gauges
 * --------------------------------------------------------------------------------------------------
 */

static bool gauge_fault(Binder *b, Str part) {
    fault(b, GAUGE_FORM, part,
          "write a gauge found off as `gauge HM2 = reads .003 in high, 2031-03-02 .. 2031-03-09` "
          "(high or low, a value "
          "with its unit or a percentage)");
    return false;
}

static bool read_window(Binder *b, Str text, Event *e) {
    size_t len;
    e->from = (Date){INT32_MIN, -1};
    e->until = (Date){INT32_MAX, -1};
    if (!text.n) return true;
    if (date_read(text, &e->from, &len) != DATE_OK) return gauge_fault(b, text);
    Str rest = str_trim(str_skip(text, len));
    if (!str_starts(rest, STR(".."))) return gauge_fault(b, text);
    rest = str_trim(str_skip(rest, 2));
    if (!rest.n) return true;
    if (date_read(rest, &e->until, &len) != DATE_OK || len != rest.n) return gauge_fault(b, rest);
    return date_cmp(e->from, e->until) <= 0 || gauge_fault(b, text);
}

/* `installed height, bare height reads ...`: what the gauge is off on. Nothing said: all it
 * measures. */
static bool read_gauged(Binder *b, Str text, Event *e) {
    uint32_t count = 0;
    for (int i = 0; i < 4; i++)
        e->only[i] = TAG_NONE;
    while (text.n) {
        size_t comma = str_find_char(text, ',', 0);
        Str one = str_before(text, comma);
        text = str_after(text, comma);
        TagId tag = vocab_find(b->v, one);
        if (tag == TAG_NONE || count == 4) {
            unknown_tag(b, one);
            return false;
        }
        e->only[count++] = tag;
    }
    return true;
}

/* `[TAG, TAG] reads V high|low[, DATE .. DATE]` */
void bind_gauge(Binder *b, Str name, Str right) {
    Event e = {.kind = EVENT_GAUGE, .text = name};
    size_t reads = str_starts(right, STR("reads ")) ? 0 : str_find(right, STR(" reads "), 0);
    if (!name.n || reads == SIZE_MAX) {
        gauge_fault(b, right);
        return;
    }
    if (!read_gauged(b, str_trim((Str){right.p, reads}), &e)) return;
    Str what = str_trim(str_skip(right, reads + (reads ? 7 : 6))), window = {0};
    size_t comma = str_find_char(what, ',', 0);
    if (comma != SIZE_MAX) {
        window = str_trim(str_skip(what, comma + 1));
        what = str_trim((Str){what.p, comma});
    }
    bool high = str_ends(what, STR(" high")), low = str_ends(what, STR(" low"));
    what = str_trim((Str){what.p, what.n - (high ? 5 : low ? 4 : 0)});
    Number n;
    if ((!high && !low) || number_read(what, &n) != NUMBER_OK) {
        gauge_fault(b, right);
        return;
    }
    Str unit = str_trim(str_skip(what, n.len));
    e.unit = unit_find(unit, DIM_LENGTH);
    e.by = unit;
    if (n.value < 0) { /* minus and high: which way? */
        gauge_fault(b, what);
        return;
    }
    if (!unit.n || !e.unit) {
        gauge_fault(b, unit.n ? unit : what);
        return;
    }
    e.relative = e.unit->dim == DIM_NUMBER;
    e.value = unit_diff_to_si(e.unit, n.value) * (high ? 1 : -1);
    if (e.relative && e.value <= -1) {
        fault(b, GAUGE_FORM, what,
              "a gauge that reads 100 percent low shows nothing, and no value can be put right by "
              "it: write less than 100 percent");
        return;
    }
    if (!read_window(b, window, &e) || b->line.struck) return;
    Event *out = add_event(b, EVENT_GAUGE);
    e.span = out->span;
    e.before = out->before;
    e.source = out->source;
    e.entry = out->entry;
    e.subject = e.subject2 = SUBJECT_NONE;
    e.tag = TAG_NONE;
    *out = e;
}

/* How much it reads high in SI units of dim; 0 when it measures something else. `lb` is a mass on
 * the scale and a force on the spring tester: the reading decides. */
static double error_in(const Event *gauge, Dim dim) {
    const Unit *unit = gauge->unit->dim == dim ? gauge->unit : unit_find(gauge->by, dim);
    if (!unit || unit->dim != dim) return 0;
    return gauge->value / unit_diff_to_si(gauge->unit, 1) * unit_diff_to_si(unit, 1);
}

/* Whether the gauge was off on this reading, which then is put right. */
static bool correct(const Job *j, const Event *gauge, Reading *r) {
    int32_t day = j->entries[reading_entry(j, r)].date.day;
    bool meant = gauge->only[0] == TAG_NONE;
    for (int i = 0; i < 4; i++)
        meant |= gauge->only[i] == r->tag;
    if (!meant || r->flags & READ_WORDS || day < gauge->from.day || day > gauge->until.day)
        return false;
    if (gauge->only[0] == TAG_NONE && j->vocab->tags[r->tag].made_of != TAG_NONE)
        return false; /* picked from stock, not measured */
    if (gauge->relative) {
        if (j->vocab->tags[r->tag].dim == DIM_NUMBER) return false;
        r->value /= 1 + gauge->value;
    } else {
        double off = error_in(gauge, j->vocab->tags[r->tag].dim);
        if (off == 0) return false;
        r->value -= off;
    }
    r->flags |= READ_GAUGED;
    chain_value_changed(j, r);
    return true;
}

typedef struct Gauge {
    const Event *line;
    bool named;   /* something was read with it, on whatever day */
    bool applies; /* and put right */
} Gauge;

static uint32_t gather_gauges(Binder *b, Gauge gauges[static GAUGES_MOST]) {
    Job *j = b->job;
    uint32_t count = 0;
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        if (e->kind != EVENT_GAUGE) continue;
        if (count == GAUGES_MOST) {
            Span span = e->source ? j->continues : e->span; /* it may stand in the log before */
            fault(b, TOO_MANY, (Str){b->source->text.p + span.off, span.len},
                  "this log tells of more than %d gauges that were off; from here on none is put "
                  "right",
                  GAUGES_MOST);
            break;
        }
        gauges[count++] = (Gauge){.line = e};
    }
    return count;
}

/* A slip in its name or its days: nothing is put right, and nobody would see it. */
static void say_unused(Binder *b, const Gauge *g) {
    if (g->applies || g->line->source != 0) return;
    fault(b, GAUGE_UNUSED, (Str){b->source->text.p + g->line->span.off, g->line->span.len},
          g->named
              ? "with `%.*s` nothing was read that this line puts right: mend its days, or what "
                "it is off on"
              : "nothing in this log is read with `%.*s`: mend the name here, or write `with = ` "
                "in the entries in which it was used",
          STR_ARG(g->line->text));
}

/* What a correction that names no instrument was read with: that of the reading whose place it
 * takes, else the last of that entry. */
static Str instrument_then(const Job *j, uint32_t i, const Str *with) {
    const Reading *r = &j->readings[i];
    uint32_t home = reading_entry(j, r), looked = 0;
    for (uint32_t k = chain_prev(j, i); k != NO_READING && ++looked < 4096; k = chain_prev(j, k)) {
        const Reading *old = &j->readings[k];
        if (reading_entry(j, old) != home) break;
        if (same_condition(old->at, r->at)) return with[k];
    }
    uint32_t from = j->entries[home].first_reading, end = j->entries[home + 1].first_reading;
    return end > from ? with[end - 1] : (Str){0};
}

/* Per reading, the instrument it was read with. */
static const Str *instruments(const Job *j, TagId tag) {
    Str *with = arena_array(j->arena, j->reading_count, sizeof *with), now = {0};
    uint32_t entry = UINT32_MAX;
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (r->entry != entry) now = (Str){0};
        entry = r->entry;
        if (r->tag == tag && !(r->flags & READ_STRUCK)) now = reading_text(j, r);
        with[i] = now;
        if (!now.n && j->entries[entry].corrects) with[i] = instrument_then(j, i, with);
    }
    return with;
}

void correct_gauges(Binder *b) {
    Job *j = b->job;
    Gauge gauges[GAUGES_MOST];
    uint32_t count = gather_gauges(b, gauges);
    TagId tag = j->vocab->roles[ROLE_WITH];
    if (!count || tag == TAG_NONE) return;
    const Str *with = instruments(j, tag);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        Reading *r = &j->readings[i];
        Str instrument = with[i];
        for (uint32_t g = 0; g < count && instrument.n; g++) {
            if (!str_ieq(gauges[g].line->text, instrument)) continue;
            gauges[g].named = true;
            gauges[g].applies |= correct(j, gauges[g].line, r);
        }
    }
    for (uint32_t g = 0; g < count; g++)
        say_unused(b, &gauges[g]);
}
