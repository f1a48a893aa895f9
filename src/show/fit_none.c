/* Why there is no fit, for people: what is closest, and what would have to give way. */
#include "show/fit_parts.h"

#include <math.h>

/* The least amount of so many places that is no less. */
static double enough(Shown how, double amount) {
    double step = unit_step(how.unit, (unsigned)how.places);
    return ceil(amount / step * (1 - 1e-9)) * step;
}

static void write_block(FitText *t, uint32_t l) {
    const FitBlock *b = &t->f->why.limit[l];
    const Force *f = t->f->limit[l].force;
    if (b->served <= t->f->why.served) return;
    Shown how = fit_shown(t, f->tag);
    how.places = places_to_tell(how.unit, b->amount, 0, how.places);
    Str by = b->amount_known ? say_difference(t->a, how, enough(how, b->amount), true) : (Str){0};
    if (b->enough && b->amount_known)
        fit_say(t, 2, "%.*s: if it gave way by %.*s, every place could be served",
                STR_ARG(fit_limit_name(t, f)), STR_ARG(by));
    else
        fit_say(t, 2, "%.*s: without it %zu of %u could be served", STR_ARG(fit_limit_name(t, f)),
                b->served, t->f->places);
}

static void write_stock(FitText *t, uint32_t k) {
    const FitBlock *b = &t->f->why.stock[k];
    if (b->served <= t->f->why.served) return;
    Str size = say_number(t->a, fit_shown(t, t->fit->adjust), t->f->size[k].si, true);
    if (b->enough && b->amount_known)
        fit_say(t, 2, "%.0f more of %.*s would be enough", b->amount, STR_ARG(size));
    else
        fit_say(t, 2, "with more of %.*s %zu of %u could be served", STR_ARG(size), b->served,
                t->f->places);
}

static void write_near(FitText *t, uint32_t p) {
    const FitNear *near = t->f->near ? &t->f->near[p] : NULL;
    if (!near || !near->there) return;
    Str thick = say_number(t->a, fit_shown(t, t->fit->adjust), near->adjust, true);
    if (near->item != SUBJECT_NONE)
        fit_say(t, 4, "with %.*s of %.*s in all, %.*s would do there", STR_ARG(thick),
                STR_ARG(t->v->tags[t->fit->adjust].name), STR_ARG(fit_item_name(t, near->item)));
    else
        fit_say(t, 4, "%.*s of %.*s in all would do there", STR_ARG(thick),
                STR_ARG(t->v->tags[t->fit->adjust].name));
}

static void write_unserved(FitText *t) {
    const FitAnswer *f = t->f;
    for (uint32_t p = 0; p < f->places; p++) {
        if (f->why.item_of && f->why.item_of[p] >= 0 && f->lacks[p] == TAG_NONE) continue;
        if (f->lacks[p] != TAG_NONE)
            fit_say(t, 2,
                    "%.*s: %.*s is missing, in doubt or out of reach: nothing can be foretold",
                    STR_ARG(fit_place_name(t, p)), STR_ARG(t->v->tags[f->lacks[p]].name));
        else
            fit_say(t, 2, "%.*s is left without, when as many as can be are served",
                    STR_ARG(fit_place_name(t, p)));
        write_near(t, p);
    }
}

void fit_why_text(FitText *t) {
    const FitAnswer *f = t->f;
    fit_heading(t, "Nothing fits");
    fit_say(t, 2, "At most %zu of %u places can be served with every limit kept%s.", f->why.served,
            f->places, f->why.proved ? "" : " (not proved within the time given)");
    if (f->why.items_short)
        fit_say(t, 2, "%zu too few: %u %.*s for %u places.", f->why.items_short, f->candidates,
                STR_ARG(f->candidates == 1 ? t->v->classes[t->fit->item].name
                                           : t->v->classes[t->fit->item].plural),
                f->places);
    write_unserved(t);
    fit_heading(t, "What stands in the way");
    size_t before = t->out->n;
    for (uint32_t l = 0; l < f->limits; l++)
        if (!f->limit[l].whole) write_block(t, l);
    for (uint32_t k = 0; k < f->sizes; k++)
        write_stock(t, k);
    if (f->sizes && f->why.all_stock.served > f->why.served)
        fit_say(t, 2, "with more of every size %zu of %u could be served", f->why.all_stock.served,
                f->places);
    for (uint32_t p = 0; p < f->places; p++) {
        if (f->lacks[p] == TAG_NONE || t->out->n != before) continue;
        fit_say(t, 2, "first of all what is missing: put it right, then ask again");
    }
    if (t->out->n == before && f->why.items_short)
        fit_say(t, 2, "too few %.*s: no limit that gave way would serve more",
                STR_ARG(t->v->classes[t->fit->item].plural));
    if (t->out->n == before)
        fit_say(t, 2, "no single limit or size: giving way in one does not help");
}
