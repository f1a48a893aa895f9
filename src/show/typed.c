#include "show/typed.h"

#include "compute/say.h"
#include <math.h>

typedef struct Typed {
    Buf *out;
    const Look *before, *now;
    Arena *a;
    TextStyle style;
} Typed;

static void say(Typed *t, Tone tone, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void say(Typed *t, Tone tone, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Str text = arena_vprintf(t->a, format, args);
    va_end(args);
    Buf folded = {0};
    buf_puts(&folded, "  ");
    fold_text(&folded, text, t->style.width, 4);
    tone_text(t->out, buf_str(&folded), tone, t->style.colour);
    buf_release(&folded);
}

/* ---- the value among its like ---------------------------------------------------------------- */

typedef struct Like {
    uint32_t n;
    double low, high;
    uint8_t places;
} Like;

/* The last good reading of the same tag at the same condition or spot. */
static const Reading *last_good(const Job *j, const Reading *like, SubjectId id) {
    for (uint32_t i = chain_last(j, like->tag, id); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (r->flags & READ_BAD || !same_condition(r->at, like->at)) continue;
        return r;
    }
    return NULL;
}

/* Intake is compared with intake, a spring with the springs of its set. */
static bool alike(const Job *j, SubjectId a, SubjectId b) {
    const Subject *x = &j->subjects[a], *y = &j->subjects[b];
    if (x->kind != y->kind || x->letter != y->letter) return false;
    return x->kind != SUBJECT_ITEM || x->number == 0 || x->up == y->up;
}

static Like likes(const Job *j, const Reading *r) {
    Like like = {.low = INFINITY, .high = -INFINITY, .places = r->places};
    const SubjectList *list = &j->classes[j->subjects[r->subject].cls];
    for (uint32_t i = 0; i < list->count; i++) {
        if (!alike(j, r->subject, list->ids[i])) continue;
        const Reading *other = last_good(j, r, list->ids[i]);
        if (!other) continue;
        like.n++;
        like.low = fmin(like.low, other->value);
        like.high = fmax(like.high, other->value);
        if (other->unit == r->unit && other->places > like.places) like.places = other->places;
    }
    return like;
}

static void say_reading_of(Typed *t, const Reading *r) {
    const Job *j = t->now->job;
    if (r->flags & READ_WORDS || !r->unit) return;
    Str value = say_reading(t->a, j, r, SYSTEM_NONE, true);
    const char *gauged = r->flags & READ_GAUGED ? " (its gauge is off: corrected)" : "";
    if (r->flags & READ_SUSPECT) {
        say(t, TONE_DOUBT, "%.*s, doubted: not computed with", STR_ARG(value));
        return;
    }
    Like like = likes(j, r);
    if (like.n < 2) {
        say(t, TONE_PLAIN, "%.*s%s", STR_ARG(value), gauged);
        return;
    }
    Str spread = say_difference(t->a, (Shown){r->unit, like.places}, like.high - like.low, true);
    char letter = j->subjects[r->subject].letter;
    char letters[] = {' ', letter, 0};
    say(t, TONE_PLAIN, "%.*s%s; spread %.*s of %u%s", STR_ARG(value), gauged, STR_ARG(spread),
        like.n, letter ? letters : "");
}

/* ---- verdicts -------------------------------------------------------------------------------- */

static bool same_limit(const Look *a, const Verdict *x, const Look *b, const Verdict *y, Arena *s) {
    return x->force->tag == y->force->tag && str_eq(x->force->by, y->force->by) &&
           str_eq(x->force->text, y->force->text) && x->force->has_at == y->force->has_at &&
           (!x->force->has_at || same_condition(x->force->at, y->force->at)) &&
           str_eq(subject_name(a->job, x->subject, s), subject_name(b->job, y->subject, s));
}

static const Verdict *was(const Typed *t, const Verdict *v) {
    for (uint32_t i = 0; i < t->before->verdicts.count; i++) {
        const Verdict *old = &t->before->verdicts.items[i];
        if (old->force->tag != v->force->tag) continue;
        if (same_limit(t->now, v, t->before, old, t->a)) return old;
    }
    return NULL;
}

static bool changed(const Typed *t, const Verdict *v) {
    if (v->kind == VERDICT_UNJUDGED) return false;
    const Verdict *old = was(t, v);
    if (!old || old->kind != v->kind) return true;
    return fabs(old->value - v->value) > 1e-12 * fabs(v->value);
}

static void say_verdict(Typed *t, const Verdict *v) {
    static const char *const words[] = {[VERDICT_HOLDS] = "holds",
                                        [VERDICT_NOMINAL] = "holds by the card alone",
                                        [VERDICT_SO_FAR] = "holds so far",
                                        [VERDICT_BROKEN] = "BROKEN"};
    const Job *j = t->now->job;
    Shown how = say_unit(j, v->force->tag, SYSTEM_NONE);
    if (v->kind == VERDICT_BROKEN) /* as on the sheet: what holds needs no digits to be told by */
        how.places = places_to_tell(how.unit, v->value, v->bound, how.places);
    Str what = say_subject(t->a, j, v->force->tag, v->subject);
    Str value = say_number(t->a, how, v->value, true);
    Str margin = say_difference(t->a, how, fabs(v->margin), true);
    Str range = say_range(t->a, v->force);
    Tone tone = v->kind == VERDICT_BROKEN ? TONE_BAD : TONE_GOOD;
    say(t, tone, "%.*s %.*s: %s, %.*s %s (%.*s by %.*s)%s", STR_ARG(what), STR_ARG(value),
        words[v->kind], STR_ARG(margin), v->kind == VERDICT_BROKEN ? "out" : "to spare",
        STR_ARG(range), STR_ARG(v->force->by), v->accepted ? ", accepted" : "");
}

enum { SHOWN_MOST = 6 };

/* Broken ones first: with many springs moved at once not all can be shown. */
static void say_verdicts(Typed *t) {
    uint32_t shown = 0, left = 0;
    for (int broken = 1; broken >= 0; broken--) {
        for (uint32_t i = 0; i < t->now->verdicts.count; i++) {
            const Verdict *v = &t->now->verdicts.items[i];
            if ((v->kind == VERDICT_BROKEN) != broken || !changed(t, v)) continue;
            if (shown == SHOWN_MOST && !broken) {
                left++;
                continue;
            }
            say_verdict(t, v);
            shown++;
        }
    }
    if (left) say(t, TONE_PLAIN, "and %u more that hold", left);
}

/* ---- doubts ---------------------------------------------------------------------------------- */

/* Said already as a verdict, or no news while a grid is half filled. */
static bool is_noise(const Finding *f) {
    static const char *const codes[] = {"gap", "limit-broken", "limit-unjudged",
                                        "suspect-unrepeated", "dates-backwards"};
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        if (strcmp(f->kind->code, codes[i]) == 0) return true;
    }
    return false;
}

static bool same_doubt(const Finding *a, const Finding *b) {
    return a->kind == b->kind && str_eq(a->tag, b->tag) && str_eq(a->subject, b->subject) &&
           str_eq(a->value, b->value);
}

static bool is_new(const Typed *t, const Finding *f) {
    for (uint32_t i = 0; i < t->before->findings.count; i++) {
        if (same_doubt(&t->before->findings.items[i], f)) return false;
    }
    return true;
}

static void say_doubts(Typed *t, Span span, uint32_t from) {
    for (uint32_t i = 0; i < t->now->findings.count; i++) {
        const Finding *f = &t->now->findings.items[i];
        bool here = f->span.off < span.off + span.len && span.off < f->span.off + f->span.len;
        if (f->source != &t->now->source || f->span.off < from || is_noise(f)) continue;
        if (!here && !is_new(t, f)) continue;
        say(t, f->kind->level == LEVEL_ERROR ? TONE_BAD : TONE_DOUBT, "! %.*s",
            STR_ARG(f->message));
    }
}

void typed_text(Buf *out, const Look *before, const Look *now, Span span, uint32_t from,
                TextStyle style) {
    Typed t = {.out = out, .before = before, .now = now, .a = arena_new(), .style = style};
    const Reading *r = look_reading(now, span);
    if (r) say_reading_of(&t, r);
    say_verdicts(&t);
    say_doubts(&t, span, from);
    arena_free(t.a);
}
