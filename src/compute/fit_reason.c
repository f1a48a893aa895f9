/* Why an item is left over, and what would serve a place that nothing serves. */
#include "compute/fit_parts.h"
#include "compute/say.h"

#include <math.h>

static bool chosen(const FitWork *w, uint32_t item) {
    const FitResult *r = &w->out->result;
    for (uint32_t p = 0; r->choice && p < w->out->places; p++)
        if (r->choice[p].item == item) return true;
    return false;
}

typedef struct Chances {
    bool usable, holds, nominal;
    uint64_t blocked; /* of the combination that breaks the fewest limits */
} Chances;

static Chances chances(const FitWork *w, uint32_t item) {
    Chances c = {.blocked = UINT64_MAX};
    for (size_t p = 0; p < w->out->places; p++) {
        if (!w->open[p * w->columns + item]) continue;
        for (size_t k = 0; k < w->out->stacks.count; k++) {
            const Combination *all = combination(w, p, item, k);
            c.nominal |= all->evaluated && all->nominal;
            if (!usable(w, p, item, k)) continue;
            c.usable = true;
            c.holds |= all->blocked == 0;
            if (__builtin_popcountll(all->blocked) < __builtin_popcountll(c.blocked))
                c.blocked = all->blocked;
        }
    }
    return c;
}

static Str limits_broken(FitWork *w, uint64_t blocked) {
    Str text = {0};
    for (uint32_t l = 0; l < w->local; l++) {
        if (!(blocked >> l & 1)) continue;
        const Force *f = w->out->limit[l].force;
        text = arena_printf(w->arena, "%.*s%s%.*s %.*s by %.*s", STR_ARG(text),
                            text.n ? " and " : "", STR_ARG(w->v->tags[f->tag].name),
                            STR_ARG(say_range(w->arena, f)), STR_ARG(f->by));
    }
    return text;
}

static Str why_left(FitWork *w, uint32_t item) {
    if (w->shut[item].n) return w->shut[item];
    Chances c = chances(w, item);
    TagId lacks = w->blame_item[item];
    if (!c.usable && c.nominal)
        return STR("not measured: only the card speaks of it, and others are measured");
    if (!c.usable && lacks != TAG_NONE)
        return arena_printf(w->arena, "%.*s is missing, in doubt, or out of its reach",
                            STR_ARG(w->v->tags[lacks].name));
    if (!c.usable) return STR("nothing can be computed with it");
    if (c.holds) return STR("not needed");
    return arena_printf(w->arena, "wherever it goes, %.*s is broken",
                        STR_ARG(limits_broken(w, c.blocked)));
}

void find_reasons(FitWork *w) {
    FitAnswer *out = w->out;
    for (uint32_t i = 0; w->fit->item != CLASS_NONE && i < out->candidates; i++) {
        if (chosen(w, i)) continue;
        Str why = why_left(w, i);
        if (!out->result.choice && str_eq(why, STR("not needed"))) continue;
        out->left[out->left_count++] = (FitLeft){out->candidate[i], why};
    }
}

void find_lacks(FitWork *w) {
    FitAnswer *out = w->out;
    out->lacks = arena_array(w->arena, out->places + 1, sizeof *out->lacks);
    for (uint32_t p = 0; p < out->places; p++) {
        bool any = false;
        for (size_t i = 0; i < w->columns && !any; i++)
            for (size_t k = 0; k < out->stacks.count && !any; k++)
                any = usable(w, p, i, k);
        out->lacks[p] = any ? TAG_NONE : w->blame_place[p];
    }
}
