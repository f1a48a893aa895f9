/*
 * The charts of a page: each curve that was read, over its condition, with what is allowed and
 * aimed at; and what the same thing showed at the same condition entry after entry. Which curves
 * there are, and what is read off them, the vocabulary says.
 */
#include "compute/verdict.h"
#include "show/chart.h"
#include "show/sheet_parts.h"

#include <math.h>

enum { NAMED = 6 }; /* so many lines can be told apart; of more only the outermost are named */

typedef struct Drawing { /* one chart as it is gathered */
    Sheet *s;
    TagId tag;
    const Unit *unit, *over;
    ChartLine *lines;
    uint32_t line_count, line_room;
    ChartBand *bands;
    uint32_t band_count, band_room;
    SubjectId set; /* whose items all lines are of; SUBJECT_NONE when there is none such */
} Drawing;

static void add_chart_line(Drawing *d, ChartLine line) {
    arena_grow(d->s->a, d->lines, d->line_count, d->line_room);
    d->lines[d->line_count++] = line;
}

static void add_band(Drawing *d, const Force *f, double x0, double x1) {
    arena_grow(d->s->a, d->bands, d->band_count, d->band_room);
    bool aim = f->kind == EVENT_AIM;
    Sheet *s = d->s;
    Str says = say_range(s->a, f);
    Str name = aim ? arena_printf(s->a, "aim %.*s", STR_ARG(says))
                   : arena_printf(s->a, "%.*s by %.*s", STR_ARG(says), STR_ARG(f->by));
    d->bands[d->band_count++] = (ChartBand){x0, x1, unit_from_si(d->unit, f->range.low),
                                            unit_from_si(d->unit, f->range.high), name};
}

/* The unit that the log wrote last with such a condition. */
static const Unit *condition_unit(const Sheet *s, TagId tag) {
    for (uint32_t i = s->j->reading_count; i-- > 0;) {
        if (s->j->readings[i].tag == tag && s->j->readings[i].at_unit)
            return s->j->readings[i].at_unit;
    }
    return s->v->tags[tag].over;
}

static Drawing drawing_of(Sheet *s, TagId tag) {
    const Unit *over = condition_unit(s, tag);
    if (s->how->system != SYSTEM_NONE) over = unit_in(over, s->how->system);
    return (Drawing){.s = s,
                     .tag = tag,
                     .unit = say_unit(s->j, tag, s->how->system).unit,
                     .over = over,
                     .set = SUBJECT_NONE};
}

static Str name_at(const Drawing *d, uint32_t i) {
    ClassId of = d->s->v->tags[d->tag].of;
    if (of == CLASS_ENGINE) return d->s->v->tags[d->tag].name;
    return subject_name(d->s->j, d->s->j->classes[of].ids[i], d->s->a);
}

/* ---- names ------------------------------------------------------------------------------------
 */

static SubjectId set_of(const Job *j, SubjectId id) {
    const Subject *s = &j->subjects[id];
    return s->kind == SUBJECT_ITEM && s->number ? s->up : SUBJECT_NONE;
}

static void add_subject_line(Drawing *d, uint32_t i, const ChartPoint *points, uint32_t n) {
    const Job *j = d->s->j;
    ClassId of = d->s->v->tags[d->tag].of;
    SubjectId set = of == CLASS_ENGINE ? SUBJECT_NONE : set_of(j, j->classes[of].ids[i]);
    if (!d->line_count) d->set = set;
    if (set != d->set) d->set = SUBJECT_NONE;
    add_chart_line(d, (ChartLine){name_at(d, i), points, n, false});
}

/* `#3` in place of `S31#3` where all are of one set, which the caption names. */
static void leave_set_out(Drawing *d) {
    if (d->set == SUBJECT_NONE) return;
    size_t n = d->s->j->subjects[d->set].name.n;
    for (uint32_t i = 0; i < d->line_count; i++)
        d->lines[i].name = str_skip(d->lines[i].name, n);
}

static Str caption_of(const Drawing *d, Str title) {
    if (d->set == SUBJECT_NONE || !d->s->j->subjects[d->set].name.n) return title;
    TagId set = d->s->v->classes[d->s->v->tags[d->tag].of].set_tag;
    return arena_printf(d->s->a, "%.*s, %.*s %.*s", STR_ARG(title),
                        STR_ARG(d->s->v->tags[set].name), STR_ARG(d->s->j->subjects[d->set].name));
}

static double last_y(const ChartLine *l) {
    return l->points[l->count - 1].y;
}

/* Of many lines the names of all but the highest and the lowest are taken away. */
static void keep_outermost(Drawing *d) {
    if (d->line_count <= NAMED) return;
    uint32_t high = 0, low = 0;
    for (uint32_t i = 1; i < d->line_count; i++) {
        if (last_y(&d->lines[i]) > last_y(&d->lines[high])) high = i;
        if (last_y(&d->lines[i]) < last_y(&d->lines[low])) low = i;
    }
    for (uint32_t i = 0; i < d->line_count; i++) {
        if (i != high && i != low) d->lines[i].name = (Str){0};
    }
}

/* ---- curves over their condition --------------------------------------------------------------
 */

static void gather_lines(Drawing *d) {
    Sheet *s = d->s;
    const SubjectList *list = &s->j->classes[s->v->tags[d->tag].of];
    for (uint32_t i = 0; i < list->count; i++) {
        const Curve *c = eval_curve(s->e, d->tag, i, F_TAG);
        if (c->job != s->j || (c->st & (V_NOMINAL | V_MISSING)) || c->count < 2) continue;
        if (s->s->scrapped && s->s->scrapped[list->ids[i]]) continue;
        ChartPoint *points = arena_array(s->a, c->count, sizeof *points);
        for (uint32_t k = 0; k < c->count; k++) {
            points[k] = (ChartPoint){unit_from_si(d->over, c->points[k].at),
                                     unit_from_si(d->unit, c->points[k].value + c->shift)};
        }
        add_subject_line(d, i, points, c->count);
    }
    leave_set_out(d);
    keep_outermost(d);
}

/* The condition at which a formula reads the curve, when that (or the sum of it over the things
 * that sit at a place) is all that the formula does; NULL. */
static const Formula *read_at(const Formula *f, TagId curve) {
    if (f && f->kind == F_AGGREGATE && f->here) f = f->a;
    bool reads = f && f->kind == F_AT && f->a->kind == F_TAG && f->a->tag == curve;
    return reads ? f->b : NULL;
}

/* Where along the curve that is for a place; NAN. Of several things there, the first. */
static double condition_at(Drawing *d, const Formula *at, TagId tag, uint32_t i) {
    Sheet *s = d->s;
    const Col *c = eval_node(s->e, at);
    ClassId of = s->v->tags[tag].of;
    if (at->context == of) return c->st[i] & V_MISSING ? NAN : unit_from_si(d->over, c->v[i]);
    SubjectId place = s->j->classes[of].ids[i];
    for (uint32_t k = 0; k < c->n && s->s->sits_at; k++) {
        if (s->s->sits_at[s->j->classes[at->context].ids[k]] != place) continue;
        if (!(c->st[k] & V_MISSING)) return unit_from_si(d->over, c->v[k]);
    }
    return NAN;
}

/* What is read off the curves at each place, a point each, with the limits and aims on it. */
static void gather_readings(Drawing *d, TagId tag, const Formula *at) {
    Sheet *s = d->s;
    const Col *c = eval_tag(s->e, tag);
    uint32_t n = 0;
    double x0 = INFINITY, x1 = -INFINITY;
    for (uint32_t i = 0; i < c->n; i++) {
        double x = c->st[i] & V_MISSING ? NAN : condition_at(d, at, tag, i);
        if (isnan(x)) continue;
        ChartPoint *point = arena_alloc(s->a, sizeof *point);
        *point = (ChartPoint){x, unit_from_si(d->unit, c->v[i])};
        Str name = subject_name(s->j, s->j->classes[s->v->tags[tag].of].ids[i], s->a);
        add_chart_line(d, (ChartLine){name, point, 1, true});
        n++;
        x0 = fmin(x0, x);
        x1 = fmax(x1, x);
    }
    for (uint32_t i = 0; n && i < s->s->force_count; i++) {
        const Force *f = &s->s->forces[i];
        if (f->tag == tag && f->kind != EVENT_ACCEPT && !force_restated(s->e, f, SUBJECT_ENGINE))
            add_band(d, f, x0, x1);
    }
}

/* Limits on the curve itself, at a stated condition. */
static void add_own_limits(Drawing *d) {
    for (uint32_t i = 0; i < d->s->s->force_count; i++) {
        const Force *f = &d->s->s->forces[i];
        if (f->tag != d->tag || f->kind == EVENT_ACCEPT || !f->has_at) continue;
        if (force_restated(d->s->e, f, SUBJECT_ENGINE)) continue;
        double x = unit_from_si(d->over, f->at);
        add_band(d, f, x, x);
    }
}

static Str with_unit(Sheet *s, Str name, const Unit *unit) {
    return arena_printf(s->a, "%.*s, %s", STR_ARG(name), unit->name);
}

static void write_figure(Drawing *d, Str title, Str x_name, bool days) {
    Sheet *s = d->s;
    title = caption_of(d, title);
    Chart chart = {.title = title,
                   .x_name = x_name,
                   .y_name = with_unit(s, s->v->tags[d->tag].name, d->unit),
                   .x_days = days,
                   .lines = d->lines,
                   .line_count = d->line_count,
                   .bands = d->bands,
                   .band_count = d->band_count};
    page_figure(s);
    buf_puts(s->out, "<figure>\n");
    chart_svg(s->out, &chart);
    buf_puts(s->out, "<figcaption>");
    buf_html(s->out, title);
    if (d->line_count > NAMED)
        buf_printf(s->out, "; highest and lowest of %u named", d->line_count);
    buf_puts(s->out, "</figcaption>\n</figure>\n");
}

/* Only where a limit or an aim asks for it. */
static void chart_readings(Sheet *s, TagId curve, TagId tag, const Formula *at) {
    Drawing d = drawing_of(s, curve);
    gather_readings(&d, tag, at);
    if (!d.band_count || !d.line_count) return;
    keep_outermost(&d);
    const Tag *k = &s->v->tags[tag], *of = &s->v->tags[curve];
    Str title = arena_printf(s->a, "%.*s at each %.*s, against limits and aims", STR_ARG(k->name),
                             STR_ARG(s->v->classes[k->of].name));
    d.tag = tag;
    write_figure(&d, title, with_unit(s, of->over_name, d.over), false);
}

static void chart_curve(Sheet *s, TagId tag) {
    Drawing d = drawing_of(s, tag);
    gather_lines(&d);
    if (!d.line_count) return;
    add_own_limits(&d);
    const Tag *k = &s->v->tags[tag];
    Str title = arena_printf(s->a, "%.*s over %.*s", STR_ARG(k->name), STR_ARG(k->over_name));
    write_figure(&d, title, with_unit(s, k->over_name, d.over), false);
    for (uint32_t t = 0; t < s->v->tag_count; t++) {
        const Formula *at = read_at(s->v->tags[t].is, tag);
        if (at) chart_readings(s, tag, (TagId)t, at);
    }
}

/* ---- entry after entry ------------------------------------------------------------------------
 */

/* What one thing showed at `at`, entry after entry; by rising day. */
static uint32_t gather_history(Drawing *d, uint32_t i, double at, ChartPoint *points,
                               uint32_t room) {
    Sheet *s = d->s;
    const Tag *t = &s->v->tags[d->tag];
    uint32_t n = 0, reading = chain_last(s->j, d->tag, s->j->classes[t->of].ids[i]);
    while (reading != NO_READING && n < room) {
        const Entry *entry = &s->j->entries[reading_entry(s->j, &s->j->readings[reading])];
        bool counts = sheet_counts(s, &s->j->readings[reading]);
        Curve c = curve_as_of(s->j, &reading, s->a);
        uint8_t st = c.st;
        double y = st & V_MISSING ? NAN : curve_at(&c, at, t->reach, &st);
        if (!counts || (st & V_MISSING) || isnan(y) || entry->date.day == DAY_NONE) continue;
        if (n && points[n - 1].x <= entry->date.day) continue; /* twice a day: the later one */
        points[n++] = (ChartPoint){entry->date.day, unit_from_si(d->unit, y)};
    }
    for (uint32_t k = 0; k < n / 2; k++) {
        ChartPoint other = points[k];
        points[k] = points[n - 1 - k];
        points[n - 1 - k] = other;
    }
    return n;
}

static void chart_history(Sheet *s, TagId tag) {
    const Tag *t = &s->v->tags[tag];
    if (t->compared_at == TAG_NONE) return;
    Drawing d = drawing_of(s, tag);
    const Col *at = eval_tag(s->e, t->compared_at);
    for (uint32_t i = 0; i < s->j->classes[t->of].count; i++) {
        uint32_t k = eval_related(s->e, t->of, s->v->tags[t->compared_at].of, i);
        if (k == UINT32_MAX || (at->st[k] & V_MISSING)) continue;
        ChartPoint *points = arena_array(s->a, s->j->entry_count, sizeof *points);
        uint32_t n = gather_history(&d, i, at->v[k], points, s->j->entry_count);
        if (n > 1) add_subject_line(&d, i, points, n);
    }
    if (!d.line_count) return;
    leave_set_out(&d);
    keep_outermost(&d);
    Str title = arena_printf(s->a, "%.*s at the same %.*s, entry after entry", STR_ARG(t->name),
                             STR_ARG(t->over_name));
    write_figure(&d, title, STR("date"), true);
}

void sheet_charts(Sheet *s) {
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        if (!s->v->tags[tag].has_curve || s->j->chain->row[tag] == CHAIN_NO_ROW) continue;
        chart_curve(s, (TagId)tag);
        chart_history(s, (TagId)tag);
    }
}
