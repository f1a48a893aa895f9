/* Whether a limit that fails on what sits at a place would hold if the same parts sat elsewhere. */
#include "compute/fit_parts.h"

enum { NOT_ASKED, HOLDS, HOLDS_NOT, UNKNOWN };

/* Enough for any engine, and not so much that somebody waits. */
enum { HINT_WORK = 20000000 };

static bool judges(const FitWork *w, TagId tag) {
    return w->moves.moves[tag] && !w->moves.wide[tag] &&
           class_local(w->v, w->fit, w->v->tags[tag].of);
}

static uint8_t ask(const State *s, const Fit *fit, Arena *a) {
    FitAsk what = {.fit = fit, .whether = true, .work = HINT_WORK};
    FitAnswer answer;
    Err err = {0};
    if (!fit_job(s, &what, a, &answer, &err) || answer.trouble != FIT_FINE) return UNKNOWN;
    /* a limit on all places together was not chosen for: another choice may hold it or not */
    if (answer.whole_broken) return UNKNOWN;
    if (answer.result.choice) return HOLDS;
    for (uint32_t p = 0; p < answer.places; p++)
        if (answer.lacks[p] != TAG_NONE) return UNKNOWN; /* something is missing, not in the way */
    return answer.result.status == FIT_NONE ? HOLDS_NOT : UNKNOWN;
}

static Str parts_of(const State *s, const Fit *fit, Arena *a) {
    const Vocab *v = s->job->vocab;
    Str item = fit->item == CLASS_NONE ? str_none : v->classes[fit->item].plural;
    if (fit->adjust == TAG_NONE) return item;
    Str adjust = v->tags[fit->adjust].name;
    return arena_printf(a, "%.*s%s%.*ss", STR_ARG(item), item.n ? " and " : "", STR_ARG(adjust));
}

/* The first fit that places and parts are there for and that judges this tag. */
static const Fit *fit_of(const State *s, TagId tag, Arena *a) {
    const Vocab *v = s->job->vocab;
    for (uint16_t i = 0; i < v->fit_count; i++) {
        const Fit *fit = &v->fits[i];
        if (fit->item == CLASS_NONE || !s->here || !s->job->classes[fit->item].count) continue;
        FitWork w = {.fit = fit, .v = v};
        moves_find(&w.moves, s, fit, a);
        if (judges(&w, tag)) return fit;
    }
    return NULL;
}

Str fit_hint(const State *s, TagId tag, FitHints *known, Arena *a) {
    const Fit *fit = fit_of(s, tag, a);
    if (!fit) return (Str){0};
    uint8_t *answer = &known->of[fit - s->job->vocab->fits];
    if (*answer == NOT_ASKED) *answer = ask(s, fit, a);
    if (*answer == UNKNOWN) return (Str){0};
    return arena_printf(a,
                        *answer == HOLDS
                            ? "with the same %.*s placed otherwise every limit would hold "
                              "(thou fit)"
                            : "no other placing of the same %.*s holds every limit (thou fit says "
                              "why)",
                        STR_ARG(parts_of(s, fit, a)));
}
