/* The lines that put what a fit found into the log: one entry, with what changes alone. */
#include "show/fit.h"

#include "compute/say.h"
#include <limits.h>
#include <math.h>

enum { PLACES_MOST = 6 };

/* Decimals that say a size exactly in a unit. */
static int exact_places(const Unit *unit, double si) {
    double v = unit_from_si(unit, si);
    int places = 0;
    while (places < PLACES_MOST && fabs(v * pow(10, places) - round(v * pow(10, places))) > 1e-6)
        places++;
    return places;
}

/* The unit in which the drawer's sizes are round: .015 in is no whole number of hundredths of a mm.
 */
const Unit *fit_size_unit(const FitAnswer *f) {
    const Unit *own = say_unit(f->job, f->ask->fit->adjust, SYSTEM_NONE).unit, *best = own;
    const Unit *tried[] = {own, unit_in(own, SYSTEM_US), unit_in(own, SYSTEM_METRIC)};
    int least = INT_MAX;
    for (int i = 0; i < 3; i++) {
        int places = 0;
        for (uint32_t t = 0; t < f->sizes; t++)
            places += exact_places(tried[i], f->size[t].si);
        if (places < least) best = tried[i];
        if (places < least) least = places;
    }
    return best;
}

Str fit_size(const FitAnswer *f, double si, Arena *a) {
    const Unit *unit = fit_size_unit(f);
    int places = exact_places(unit, si),
        usual = say_unit(f->job, f->ask->fit->adjust, unit->system).places;
    return say_number(a, (Shown){unit, places > usual ? places : usual}, si, false);
}

Str fit_stack(const FitAnswer *f, uint32_t place, Arena *a) {
    const uint8_t *of = f->stacks.of[f->stack[place]];
    Str text = {0};
    for (uint32_t t = f->sizes; t-- > 0;)
        for (uint8_t k = 0; k < of[t]; k++)
            text = arena_printf(a, "%.*s%s%.*s", STR_ARG(text), text.n ? " + " : "",
                                STR_ARG(fit_size(f, f->size[t].si, a)));
    return text.n ? text : STR("none");
}

static bool adjust_changes(const FitAnswer *f, uint32_t p) {
    if (!f->sizes) return false;
    return !(fabs(f->before.adjust[p] - f->after.adjust[p]) < 1e-7);
}

static bool item_changes(const FitAnswer *f, uint32_t p) {
    return f->ask->fit->item != CLASS_NONE && f->before.item[p] != f->after.item[p];
}

static void grid(Buf *out, const FitAnswer *f, bool items, bool adjusters, Arena *a) {
    const Vocab *v = f->job->vocab;
    const Fit *fit = f->ask->fit;
    Str corner = v->classes[fit->place].name;
    buf_add(out, corner);
    Str item = items ? v->tags[v->classes[fit->item].placement[f->ask->slot]].name : (Str){0};
    if (items) buf_printf(out, " | %.*s", STR_ARG(item));
    if (adjusters)
        buf_printf(out, " | %.*s %s", STR_ARG(v->tags[fit->adjust].name), fit_size_unit(f)->name);
    buf_putc(out, '\n');
    for (uint32_t p = 0; p < f->places; p++) {
        if (!(items && item_changes(f, p)) && !(adjusters && adjust_changes(f, p))) continue;
        Str name = subject_name(f->job, f->place[p], a);
        buf_printf(out, "%-*.*s", (int)corner.n, STR_ARG(name));
        Str there = items ? subject_name(f->job, f->after.item[p], a) : (Str){0};
        if (items) buf_printf(out, " | %-*.*s", adjusters ? (int)item.n : 0, STR_ARG(there));
        if (adjusters) buf_printf(out, " | %.*s", STR_ARG(fit_size(f, f->after.adjust[p], a)));
        buf_putc(out, '\n');
    }
}

/* An adjuster that is read on what lies under its place is said there, one line a thing. */
static void lines_under(Buf *out, const FitAnswer *f, Arena *a) {
    const Vocab *v = f->job->vocab;
    const Tag *adjust = &v->tags[f->ask->fit->adjust];
    for (uint32_t p = 0; p < f->places; p++) {
        if (!adjust_changes(f, p)) continue;
        const SubjectList *all = &f->job->classes[adjust->of];
        for (uint32_t i = 0; i < all->count; i++) {
            const Subject *s = &f->job->subjects[all->ids[i]];
            bool under = f->place[p] == SUBJECT_ENGINE || s->up == f->place[p];
            if (s->kind == SUBJECT_CARRIED || !under) continue;
            buf_printf(out, "%.*s %.*s = %.*s %s\n", STR_ARG(adjust->name),
                       STR_ARG(subject_name(f->job, all->ids[i], a)),
                       STR_ARG(fit_size(f, f->after.adjust[p], a)), fit_size_unit(f)->name);
        }
    }
}

Str fit_lines(const FitAnswer *f, Date day, Arena *a) {
    const Fit *fit = f->ask->fit;
    if (!f->result.choice) return (Str){0};
    bool any = false;
    for (uint32_t p = 0; p < f->places; p++)
        any |= item_changes(f, p) || adjust_changes(f, p);
    if (!any) return (Str){0};
    bool with = f->sizes && f->job->vocab->tags[fit->adjust].of == fit->place;
    Buf out = {0};
    char text[DATE_TEXT];
    buf_printf(&out, "%s  Fit of %.*s\n", date_text(day, text), STR_ARG(fit->name));
    if (fit->item != CLASS_NONE || with) grid(&out, f, fit->item != CLASS_NONE, with, a);
    if (f->sizes && !with) lines_under(&out, f, a);
    Str lines = arena_str(a, buf_str(&out));
    buf_release(&out);
    return lines;
}
