/* A selective fit for people. */
#include "show/fit_parts.h"

#include "show/table.h"
#include <math.h>

void fit_say(FitText *t, int indent, const char *format, ...) {
    va_list list;
    va_start(list, format);
    Str text = arena_vprintf(t->a, format, list);
    va_end(list);
    buf_fill(t->out, ' ', (size_t)indent);
    fold_text(t->out, text, t->how->width, indent + 2);
}

void fit_heading(FitText *t, const char *text) {
    buf_putc(t->out, '\n');
    tone_text(t->out, str_from(text), TONE_HEAD, t->how->colour);
    buf_putc(t->out, '\n');
}

Shown fit_shown(const FitText *t, TagId tag) {
    return say_unit(t->j, tag, t->how->system);
}

/* The makers of an outer and an inner spring may each limit the same: then whose part it is. */
static Str author_name(const FitText *t, const Force *f) {
    for (uint32_t l = 0; f->card && l < t->f->limits; l++) {
        const Force *other = t->f->limit[l].force;
        if (other->card && other->card != f->card && other->tag == f->tag)
            return arena_printf(t->a, "%.*s of %.*s", STR_ARG(f->by), STR_ARG(f->card->name));
    }
    return f->by;
}

Str fit_limit_name(const FitText *t, const Force *f) {
    Str name = t->v->tags[f->tag].name;
    if (f->subject != SUBJECT_ENGINE)
        name = arena_printf(t->a, "%.*s %.*s", STR_ARG(name),
                            STR_ARG(subject_name(t->j, f->subject, t->a)));
    if (f->letter) name = arena_printf(t->a, "%.*s %c", STR_ARG(name), f->letter);
    return arena_printf(t->a, "%.*s %.*s by %.*s", STR_ARG(name), STR_ARG(say_range(t->a, f)),
                        STR_ARG(author_name(t, f)));
}

static const char *plural(size_t n) {
    return n == 1 ? "" : "s";
}

Str fit_place_name(const FitText *t, uint32_t p) {
    return subject_name(t->j, t->f->place[p], t->a);
}

Str fit_item_name(const FitText *t, SubjectId item) {
    return item == SUBJECT_NONE ? STR("-") : subject_name(t->j, item, t->a);
}

/* ---- tables ------------------------------------------------------------------------------------
 */

/* Decimals that show on which side of each limit a value is. */
static int figure_places(const FitText *t, Shown how, TagId tag, double value, const FitMargin *m) {
    int places = how.places;
    for (uint32_t l = 0; l < t->f->limits; l++) {
        if (t->f->limit[l].force->tag != tag || !m[l].there || m[l].margin == 0) continue;
        if (m[l].value == value) places = places_to_tell(how.unit, value, m[l].bound, places);
    }
    return places;
}

/* `m`: how the limits stand at its place. */
static Str figure_text(FitText *t, TagId tag, const FitFigure *f, const FitMargin *m) {
    if (f->st & V_MISSING) return STR("-");
    Shown how = fit_shown(t, tag);
    how.places = figure_places(t, how, tag, f->value, m);
    Str text = say_number(t->a, how, f->value, false);
    const char *mark = "";
    if (f->st & V_NOMINAL) {
        mark = "*";
        t->nominal = true;
    } else if (f->st & V_EXTENDED) {
        mark = "^";
        t->extended = true;
    }
    return arena_printf(t->a, "%.*s%s", STR_ARG(text), mark);
}

static const Unit *adjust_unit(const FitText *t) {
    return t->f->sizes ? fit_size_unit(t->f) : fit_shown(t, t->fit->adjust).unit;
}

static void add_columns(FitText *t, Table *table, bool margins) {
    const Fit *fit = t->fit;
    table_column(
        table,
        (TableColumn){.key = "place", .heading = t->v->classes[fit->place].name, .label = true});
    if (fit->item != CLASS_NONE)
        table_column(table, (TableColumn){.key = "item", .heading = t->v->classes[fit->item].name});
    if (fit->adjust != TAG_NONE) {
        const Tag *tag = &t->v->tags[fit->adjust];
        table_column(table, (TableColumn){.key = "adjust",
                                          .heading = tag->name,
                                          .unit = str_from(adjust_unit(t)->name)});
    }
    for (uint8_t k = 0; k < fit->table_count; k++)
        table_column(table, (TableColumn){.key = "figure",
                                          .heading = t->v->tags[fit->table[k]].name,
                                          .unit = str_from(fit_shown(t, fit->table[k]).unit->name),
                                          .align = ALIGN_POINT});
    if (t->f->has_aim && !fit->evens)
        table_column(
            table,
            (TableColumn){.key = "off", .heading = STR("steps off aim"), .align = ALIGN_RIGHT});
    for (uint32_t l = 0; margins && l < t->f->limits; l++) {
        const Force *f = t->f->limit[l].force;
        if (t->f->limit[l].whole || !t->f->limit[l].judged) continue;
        Str head = arena_printf(t->a, "margin %.*s %.*s", STR_ARG(t->v->tags[f->tag].name),
                                STR_ARG(author_name(t, f)));
        table_column(table, (TableColumn){.key = "margin",
                                          .heading = head,
                                          .unit = str_from(fit_shown(t, f->tag).unit->name),
                                          .align = ALIGN_POINT});
    }
}

static bool is_close(const FitMargin *m) {
    return m->there && m->unsure > 0 && fabs(m->margin) < m->unsure;
}

static Str margin_text(FitText *t, const Force *f, const FitMargin *m, Tone *tone) {
    *tone = m->broken ? TONE_BAD : TONE_PLAIN;
    if (!m->there) return STR("-");
    Shown how = fit_shown(t, f->tag);
    double bound = m->margin < 0 ? 0 : m->margin;
    how.places = places_to_tell(how.unit, m->margin < 0 ? m->margin : 0, bound, how.places);
    Str text = say_difference(t->a, how, m->margin, false);
    if (!is_close(m)) return text;
    t->close = true;
    if (*tone == TONE_PLAIN) *tone = TONE_DOUBT;
    return arena_printf(t->a, "%.*s~", STR_ARG(text));
}

static Str adjust_text(FitText *t, const FitSide *side, uint32_t p) {
    if (side == &t->f->after && t->f->sizes) return fit_stack(t->f, p, t->a);
    if (isnan(side->adjust[p])) return STR("-");
    if (t->f->sizes) return fit_size(t->f, side->adjust[p], t->a);
    return say_number(t->a, fit_shown(t, t->fit->adjust), side->adjust[p], false);
}

static Str steps_text(const FitText *t, int32_t steps) {
    return arena_printf(t->a, steps ? "%+d" : "%d", steps);
}

static void add_row(FitText *t, Table *table, const FitSide *side, uint32_t p, bool margins) {
    const FitAnswer *f = t->f;
    const FitMargin *margin = &side->margin[(size_t)p * f->limits];
    uint32_t row = table_row(table), at = 0;
    table_put(table, row, at++, fit_place_name(t, p), TONE_PLAIN);
    if (t->fit->item != CLASS_NONE)
        table_put(table, row, at++, fit_item_name(t, side->item[p]), TONE_PLAIN);
    if (t->fit->adjust != TAG_NONE)
        table_put(table, row, at++, adjust_text(t, side, p), TONE_PLAIN);
    for (uint8_t k = 0; k < t->fit->table_count; k++) {
        const FitFigure *figure = &side->figure[(size_t)p * t->fit->table_count + k];
        table_put(table, row, at++, figure_text(t, t->fit->table[k], figure, margin), TONE_PLAIN);
    }
    if (f->has_aim && !t->fit->evens)
        table_put(table, row, at++, side->has_steps[p] ? steps_text(t, side->steps[p]) : STR("-"),
                  TONE_PLAIN);
    for (uint32_t l = 0; margins && l < f->limits; l++) {
        if (f->limit[l].whole || !f->limit[l].judged) continue;
        Tone tone;
        Str text = margin_text(t, f->limit[l].force, &margin[l], &tone);
        table_put(table, row, at++, text, tone);
    }
}

static void write_side(FitText *t, const FitSide *side, bool margins) {
    Table *table = table_new(t->a);
    add_columns(t, table, margins);
    for (uint32_t p = 0; p < t->f->places; p++)
        add_row(t, table, side, p, margins);
    table_text(t->out, table,
               (TextStyle){.width = t->how->width, .colour = t->how->colour, .indent = 2});
}

/* ---- words -------------------------------------------------------------------------------------
 */

static void count_broken(FitText *t) {
    const FitAnswer *f = t->f;
    uint32_t broken = 0;
    for (uint32_t p = 0; p <= f->places; p++) {
        for (uint32_t l = 0; l < f->limits; l++) {
            const FitMargin *m = &f->before.margin[(size_t)p * f->limits + l];
            if (!m->there || !m->broken) continue;
            Shown how = fit_shown(t, f->limit[l].force->tag);
            how.places = places_to_tell(how.unit, m->margin, 0, how.places);
            Str at = p < f->places ? fit_place_name(t, p) : STR("all together");
            fit_say(t, 2, "%.*s breaks %.*s, by %.*s", STR_ARG(at),
                    STR_ARG(fit_limit_name(t, f->limit[l].force)),
                    STR_ARG(say_difference(t->a, how, -m->margin, true)));
            broken++;
        }
    }
    if (!broken && f->limits) fit_say(t, 2, "No limit on it is broken.");
}

/* False where one is not known. */
static bool sum_deviations(const FitSide *s, uint32_t places, int32_t *worst, int64_t *squares) {
    bool known = true;
    *worst = 0;
    *squares = 0;
    for (uint32_t p = 0; p < places; p++) {
        known &= s->has_steps[p];
        if (abs(s->steps[p]) > *worst) *worst = abs(s->steps[p]);
        *squares += (int64_t)s->steps[p] * s->steps[p];
    }
    return known;
}

static void write_spread(FitText *t) {
    double low = INFINITY, high = -INFINITY, low0 = INFINITY, high0 = -INFINITY;
    for (uint32_t p = 0; p < t->f->places; p++) {
        low = fmin(low, t->f->after.aimed[p].value);
        high = fmax(high, t->f->after.aimed[p].value);
        low0 = fmin(low0, t->f->before.aimed[p].value);
        high0 = fmax(high0, t->f->before.aimed[p].value);
    }
    Shown how = fit_shown(t, t->fit->aim);
    Str now =
        isfinite(high0 - low0) ? say_difference(t->a, how, high0 - low0, true) : STR("not known");
    fit_say(t, 2, "%.*s: %.*s from the least to the largest (before: %.*s)",
            STR_ARG(t->v->tags[t->fit->aim].name),
            STR_ARG(say_difference(t->a, how, high - low, true)), STR_ARG(now));
}

static void write_aim(FitText *t) {
    const FitAnswer *f = t->f;
    if (t->fit->evens) {
        write_spread(t);
        return;
    }
    if (!f->has_aim) {
        if (t->fit->aim != TAG_NONE)
            fit_say(t, 2, "No aim is set for %.*s: the margins alone decided (aim %.*s = ...)",
                    STR_ARG(t->v->tags[t->fit->aim].name), STR_ARG(t->v->tags[t->fit->aim].name));
        return;
    }
    int32_t worst;
    int64_t squares;
    Str step = say_difference(t->a, fit_shown(t, t->fit->aim), f->step, true);
    bool known = sum_deviations(&f->before, f->places, &worst, &squares);
    Str before = known ? arena_printf(t->a, "%d and %lld", worst, (long long)squares)
                       : STR("not known everywhere");
    fit_say(t, 2, "%.*s: at most %d step%s of %.*s off its aim, sum of squares %lld (before: %.*s)",
            STR_ARG(t->v->tags[t->fit->aim].name), f->result.worst_deviation,
            plural((size_t)f->result.worst_deviation), STR_ARG(step),
            (long long)f->result.sum_squares, STR_ARG(before));
}

static void write_limit(FitText *t, uint32_t l) {
    const FitAnswer *f = t->f;
    const FitLimit *limit = &f->limit[l];
    const FitMargin *least = NULL;
    uint32_t at = 0;
    for (uint32_t p = 0; p <= f->places; p++) {
        const FitMargin *m = &f->after.margin[(size_t)p * f->limits + l];
        if (m->there && (!least || m->margin < least->margin)) {
            least = m;
            at = p;
        }
    }
    Str name = fit_limit_name(t, limit->force);
    if (!least) {
        if (limit->missing == TAG_NONE) return; /* it holds nowhere: restated, or another part's */
        Str what = t->v->tags[limit->missing].name;
        fit_say(t, 2, "%.*s: not judged, %.*s is missing", STR_ARG(name), STR_ARG(what));
        return;
    }
    Tone tone;
    Str margin = margin_text(t, limit->force, least, &tone);
    Str unit = str_from(fit_shown(t, limit->force->tag).unit->name);
    Str where = at < f->places ? fit_place_name(t, at) : STR("all together");
    Str unsure = {0};
    if (is_close(least)) {
        Shown how = fit_shown(t, limit->force->tag);
        how.places++;
        unsure = arena_printf(t->a, ", smaller than the readings are sure to: %.*s",
                              STR_ARG(say_difference(t->a, how, least->unsure, true)));
    }
    fit_say(t, 2, "%.*s: %s %.*s %.*s at %.*s%.*s%s", STR_ARG(name),
            least->broken       ? "BROKEN, margin"
            : least->margin < 0 ? "broken and accepted, margin"
                                : "least margin",
            STR_ARG(margin), STR_ARG(unit), STR_ARG(where), STR_ARG(unsure),
            limit->whole ? " (judged when all is chosen; nothing was chosen for it)" : "");
}

static void write_left(FitText *t) {
    if (!t->f->left_count) return;
    fit_heading(t, "Left over");
    for (uint32_t i = 0; i < t->f->left_count; i++)
        fit_say(t, 2, "%.*s: %.*s", STR_ARG(fit_item_name(t, t->f->left[i].item)),
                STR_ARG(t->f->left[i].why));
}

/* The largest uncertainty of each column. */
static void write_unsure(FitText *t) {
    Str text = {0};
    for (uint8_t k = 0; k < t->fit->table_count; k++) {
        double most = 0;
        for (uint32_t p = 0; p < t->f->places; p++)
            most = fmax(most, t->f->after.figure[(size_t)p * t->fit->table_count + k].unsure);
        if (most == 0) continue;
        Shown how = fit_shown(t, t->fit->table[k]);
        how.places++;
        text = arena_printf(t->a, "%.*s%s%.*s to %.*s", STR_ARG(text), text.n ? ", " : "",
                            STR_ARG(t->v->tags[t->fit->table[k]].name),
                            STR_ARG(say_difference(t->a, how, most, true)));
    }
    if (text.n)
        fit_say(t, 2, "By how far readings repeat (95 percent) the figures are sure: %.*s",
                STR_ARG(text));
}

static void write_marks(FitText *t) {
    if (t->close)
        fit_say(t, 2, "~ a margin smaller than the uncertainty of the readings behind it");
    if (t->extended) fit_say(t, 2, "^ read beyond the ends of its curve");
    if (t->nominal) fit_say(t, 2, "* by a part card: not measured");
}

/* What the fit's own readings call for, so that nobody has to know the sheet. */
static void write_cautions(FitText *t) {
    for (uint16_t i = 0; i < t->v->caution_count; i++) {
        const Caution *c = &t->v->cautions[i];
        bool called = false;
        for (uint8_t k = 0; k < c->tag_count; k++) {
            TagId tag = c->tags[k];
            called |= tag == t->fit->adjust || tag == t->fit->aim;
            called |= t->fit->item != CLASS_NONE && t->v->tags[tag].of == t->fit->item;
        }
        if (!called) continue;
        buf_putc(t->out, '\n');
        fit_say(t, 0, "%.*s", STR_ARG(c->says));
    }
}

/* ---- something was found -----------------------------------------------------------------------
 */

static void write_counts(FitText *t) {
    const FitResult *r = &t->f->result;
    if (t->fit->item != CLASS_NONE)
        fit_say(t, 2, "%zu %.*s moved", r->moved,
                STR_ARG(r->moved == 1 ? t->v->classes[t->fit->item].name
                                      : t->v->classes[t->fit->item].plural));
    if (t->f->sizes)
        fit_say(t, 2, "%zu piece%s of %.*s in all%s", r->adjusters, plural(r->adjusters),
                STR_ARG(t->v->tags[t->fit->adjust].name),
                t->f->usual_sizes ? ", of the usual sizes: the log states no stock" : "");
    if (t->f->others_stay)
        fit_say(t, 2,
                "Only what sits in this slot was chosen; what else sits there stays and counts in "
                "every "
                "figure. To move both at once is not looked at, and could come nearer.");
    uint32_t unjudged = 0;
    for (uint32_t l = 0; l < t->f->limits; l++)
        unjudged += !t->f->limit[l].judged && t->f->limit[l].missing != TAG_NONE;
    if (unjudged)
        fit_say(t, 2, "%u limit%s could not be judged anywhere and did not count: see below",
                unjudged, plural(unjudged));
    if (t->f->whole_broken)
        fit_say(
            t, 2,
            "A limit on all places together is broken, see below. It is not chosen for, so another "
            "choice might hold it; with a narrower limit on each place ask again.");
    if (r->status == FIT_NOT_PROVED)
        fit_say(t, 2, "%s hold, but it was not proved within the time given that this is best.",
                t->f->whole_broken ? "The limits on each place" : "All limits");
}

static void write_found(FitText *t) {
    fit_heading(t, "As it is");
    write_side(t, &t->f->before, false);
    count_broken(t);
    fit_heading(t, t->f->result.status == FIT_OPTIMAL && !t->f->whole_broken ? "Best" : "Found");
    write_side(t, &t->f->after, true);
    write_aim(t);
    write_counts(t);
    if (t->f->limits) fit_heading(t, "Limits");
    for (uint32_t l = 0; l < t->f->limits; l++)
        write_limit(t, l);
    write_unsure(t);
    write_marks(t);
    write_left(t);
    if (!t->how->lines.n) {
        fit_heading(t, "The log has it so already: nothing changes");
    } else {
        fit_heading(t, "Lines for the log");
        buf_add(t->out, t->how->lines);
    }
    write_cautions(t);
}

/* ---- all of it ----------------------------------------------------------------------------------
 */

static void write_none(FitText *t) {
    const FitAnswer *f = t->f;
    fit_heading(t, "As it is");
    write_side(t, &f->before, true);
    count_broken(t);
    fit_why_text(t);
    write_left(t);
}

void fit_text(Buf *out, const FitAnswer *f, const FitShow *how) {
    FitText t = {
        .out = out, .f = f, .how = how, .j = f->job, .v = f->job->vocab, .fit = f->ask->fit};
    t.a = arena_new();
    fit_say(&t, 0, "%.*s, fit of %.*s: %.*s", STR_ARG(f->job->name), STR_ARG(t.fit->name),
            STR_ARG(t.fit->says));
    if (f->result.choice)
        write_found(&t);
    else
        write_none(&t);
    arena_free(t.a);
}
