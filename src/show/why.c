#include "show/why_parts.h"

#include "show/table.h"

#include <math.h>

/* ---- lines
 * ----------------------------------------------------------------------------------------- */

void why_line(Why *w, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Str text = arena_vprintf(w->a, format, args);
    va_end(args);
    int indent = w->depth * WHY_STEP;
    buf_fill(w->out, ' ', (size_t)indent);
    fold_text(w->out, text, w->width, indent + 2 * WHY_STEP);
}

Str why_value(Why *w, TagId tag, double si) {
    return say_number(w->a, say_unit(w->j, tag, w->system), si, true);
}

Str why_reading(Why *w, const Job *j, const Reading *r) {
    Str text = reading_text(j, r);
    const Unit *shown = r->unit ? say_unit(w->j, r->tag, w->system).unit : NULL; /* words: none */
    Str written = r->unit ? arena_printf(w->a, "%.*s %s", STR_ARG(text), r->unit->name) : text;
    Str at = say_place(w->a, j->sources[r->source], r->off);
    Str so = {0};
    if (r->flags & READ_GAUGED)
        so = arena_printf(w->a, ", corrected for its gauge %.*s",
                          STR_ARG(say_reading(w->a, j, r, w->system, true)));
    else if (r->unit && r->unit != shown)
        so = arena_printf(w->a, ", that is %.*s", STR_ARG(why_value(w, r->tag, r->value)));
    return arena_printf(w->a, "%.*s%.*s (%.*s)", STR_ARG(str_trim(written)), STR_ARG(so),
                        STR_ARG(at));
}

Str why_marks(uint8_t st) {
    if ((st & V_NOMINAL) && (st & (V_CARRIED | V_EXTENDED))) return STR(", nominal, carried on");
    if (st & V_NOMINAL) return STR(", nominal");
    if (st & V_CARRIED) return STR(", carried on");
    if (st & V_EXTENDED) return STR(", beyond what was measured");
    return st & V_PARTIAL ? STR(", of those that were measured") : (Str){0};
}

SubjectId why_subject(const Why *w, ClassId cls, uint32_t i) {
    return w->j->classes[cls].ids[i];
}

Str why_force(Why *w, const Force *f) {
    if (f->shop) return say_place(w->a, f->shop->where, f->shop->span.off);
    return say_place(w->a, f->owner->sources[f->event->source], f->event->span.off);
}

const CardUse *why_card(const Why *w, TagId tag, SubjectId id, uint32_t reading, double value) {
    for (uint8_t i = 0; i < w->j->card_count; i++) {
        const CardUse *use = &w->j->cards[i];
        if (!use->card || reading >= use->card->reading_count) continue;
        const Reading *r = &use->card->readings[reading];
        if (r->tag == tag && r->value == value && state_card_applies(w->s, use, id)) return use;
    }
    return NULL;
}

/* ---- one value
 * ------------------------------------------------------------------------------------- */

static Str name_of(Why *w, TagId tag, uint32_t i) {
    return say_subject(w->a, w->j, tag, why_subject(w, w->v->tags[tag].of, i));
}

static bool tell_once(Why *w, TagId tag, uint32_t i) {
    for (uint32_t k = 0; k < w->told_count; k++) {
        if (w->told[k].tag == tag && w->told[k].i == i) return false;
    }
    arena_grow(w->a, w->told, w->told_count, w->told_room);
    w->told[w->told_count++] = (Told){tag, i};
    return true;
}

/* Whose reading it is, when it was said for something above: "I", the set, the engine. */
static Str said_for(Why *w, TagId tag, uint32_t i, const Reading *r) {
    if (r->subject == why_subject(w, w->v->tags[tag].of, i)) return (Str){0};
    return arena_printf(w->a, ", said for %.*s", STR_ARG(subject_name(w->j, r->subject, w->a)));
}

static void tell_read(Why *w, TagId tag, uint32_t i, const Col *c) {
    SubjectId id = why_subject(w, w->v->tags[tag].of, i);
    const CardUse *use = c->st[i] & V_NOMINAL ? why_card(w, tag, id, c->from[i], c->v[i]) : NULL;
    if (c->st[i] & V_NOMINAL) {
        Str value = use ? why_reading(w, use->card, &use->card->readings[c->from[i]])
                        : why_value(w, tag, c->v[i]);
        why_line(w, "%.*s = %.*s, nominal: from the card of %.*s, not measured",
                 STR_ARG(name_of(w, tag, i)), STR_ARG(value),
                 STR_ARG(use ? use->name : STR("its part")));
        return;
    }
    const Reading *r = &w->j->readings[c->from[i]];
    why_line(w, "%.*s = %.*s%.*s", STR_ARG(name_of(w, tag, i)), STR_ARG(why_reading(w, w->j, r)),
             STR_ARG(said_for(w, tag, i, r)));
}

Str why_source(Why *w, Span span) {
    const Source *source = w->v->tags[w->tag].is_where;
    if (!source || (size_t)span.off + span.len > source->text.n) return (Str){0};
    return source_slice(source, span);
}

static void tell_formula(Why *w, TagId tag, uint32_t i) {
    const Tag *t = &w->v->tags[tag];
    TagId before = w->tag;
    w->tag = tag;
    why_line(w, "= %.*s (%.*s)", STR_ARG(why_source(w, t->is->span)),
             STR_ARG(say_place(w->a, t->is_where, t->is->span.off)));
    why_formula(w, t->is, i);
    w->tag = before;
}

/* A reading that a later one set aside, so that the formula carries it on. */
static void tell_set_aside(Why *w, TagId tag, SubjectId id) {
    uint32_t own = state_reading(w->s, tag, id, UINT32_MAX);
    const Tag *t = &w->v->tags[tag];
    if (own == NO_READING || !t->set_aside_count) return;
    const Reading *r = &w->j->readings[own];
    for (uint8_t k = 0; k < t->set_aside_count; k++) {
        for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(w->s, at)) {
            uint32_t by = state_reading(w->s, t->set_aside_by[k], at, UINT32_MAX);
            if (by != NO_READING &&
                reading_entry(w->j, &w->j->readings[by]) > reading_entry(w->j, r)) {
                why_line(w, "read %.*s, set aside since by %.*s %.*s",
                         STR_ARG(why_reading(w, w->j, r)),
                         STR_ARG(w->v->tags[t->set_aside_by[k]].name),
                         STR_ARG(why_reading(w, w->j, &w->j->readings[by])));
                return;
            }
            if (at == SUBJECT_ENGINE) break;
        }
    }
}

static void tell_missing(Why *w, TagId tag, uint32_t i, const Col *c) {
    const Tag *t = &w->v->tags[tag];
    SubjectId id = why_subject(w, t->of, i);
    uint32_t own = state_reading(w->s, tag, id, UINT32_MAX);
    Str name = name_of(w, tag, i);
    if (own != NO_READING && (w->j->readings[own].flags & READ_SUSPECT)) {
        why_line(w, "%.*s is missing: its last reading is doubted, was %.*s", STR_ARG(name),
                 STR_ARG(why_reading(w, w->j, &w->j->readings[own])));
        return;
    }
    if (!t->is) {
        why_line(w, "%.*s is missing: nobody read it", STR_ARG(name));
        tell_set_aside(w, tag, id);
        return;
    }
    bool known = c->from[i] < w->v->tag_count && c->from[i] != tag && !(c->st[i] & V_SUSPECT);
    if (known)
        why_line(w, "%.*s is missing, for want of %.*s", STR_ARG(name),
                 STR_ARG(w->v->tags[c->from[i]].name));
    else
        why_line(w, "%.*s is missing: it was not read, and cannot be computed", STR_ARG(name));
    w->depth++;
    tell_set_aside(w, tag, id);
    tell_formula(w, tag, i);
    w->depth--;
}

static bool is_words(const Tag *t) {
    return t->kind != TAG_NUMBER && t->kind != TAG_CHOICE && t->kind != TAG_DATE;
}

void why_tag(Why *w, TagId tag, uint32_t i) {
    const Tag *t = &w->v->tags[tag];
    if (t->has_curve) {
        why_points(w, tag, i);
        return;
    }
    if (is_words(t)) {
        SubjectId id = why_subject(w, t->of, i);
        why_line(w, "%.*s: %.*s", STR_ARG(name_of(w, tag, i)), STR_ARG(state_words(w->s, tag, id)));
        return;
    }
    const Col *c = eval_tag(w->e, tag);
    if (c->st[i] & V_READ) {
        tell_read(w, tag, i, c);
        return;
    }
    bool first = tell_once(w, tag, i);
    if (!first || w->depth > w->most) {
        if (c->st[i] & V_MISSING)
            why_line(w, "%.*s is missing%s", STR_ARG(name_of(w, tag, i)),
                     first ? "" : ", as above");
        else
            why_line(w, "%.*s = %.*s%.*s%s", STR_ARG(name_of(w, tag, i)),
                     STR_ARG(why_value(w, tag, c->v[i])),
                     STR_ARG(first ? why_marks(c->st[i]) : (Str){0}), first ? "" : ", as above");
        return;
    }
    if (c->st[i] & V_MISSING) {
        tell_missing(w, tag, i, c);
        return;
    }
    why_line(w, "%.*s = %.*s%.*s", STR_ARG(name_of(w, tag, i)), STR_ARG(why_value(w, tag, c->v[i])),
             STR_ARG(why_marks(c->st[i])));
    w->depth++;
    tell_set_aside(w, tag, why_subject(w, t->of, i));
    /* a value that is neither read nor worked out is made of the spots of its place */
    if (t->is)
        tell_formula(w, tag, i);
    else if (t->spot_count)
        why_points(w, tag, i);
    w->depth--;
}

/* ---- where a measured value comes from
 * ------------------------------------------------------------- */

static const char *standing(const Reading *r) {
    if (r->flags & READ_STRUCK) return "struck: ";
    if (r->flags & READ_REPLACED) return "replaced by a correction: ";
    if (r->flags & READ_REPEATED) return "repeated later that day: ";
    return r->flags & READ_SUSPECT ? "doubted: " : "";
}

static void tell_history(Why *w, TagId tag, SubjectId id) {
    uint32_t last = chain_last(w->j, tag, id);
    if (last == NO_READING) return;
    buf_puts(w->out, "Readings, the last first\n");
    const Str *all_by = circumstances(w->j, w->v->roles[ROLE_BY], w->a),
              *all_with = circumstances(w->j, w->v->roles[ROLE_WITH], w->a);
    w->depth = 1;
    for (uint32_t i = last; i != NO_READING; i = chain_prev(w->j, i)) {
        const Reading *r = &w->j->readings[i];
        if (!reading_counts(w->s, r)) continue;
        char day[DATE_TEXT];
        Date date = w->j->entries[r->entry].date;
        Str when = date.day == DAY_NONE ? STR("no day") : str_from(date_text(date, day));
        Str by = all_by[i], with = all_with[i];
        Str at = say_condition(w->a, w->j, r, w->system);
        Str remark = reading_remark(w->j, r);
        why_line(w, "%.*s  %s%.*s%s%.*s%s%.*s%s%.*s%s%.*s", STR_ARG(when), standing(r),
                 STR_ARG(why_reading(w, w->j, r)), at.n ? " @ " : "", STR_ARG(at),
                 by.n ? " by " : "", STR_ARG(by), with.n ? " with " : "", STR_ARG(with),
                 remark.n ? "; " : "", STR_ARG(remark));
    }
    w->depth = 0;
}

/* ---- limits
 * ---------------------------------------------------------------------------------------- */

static bool judged(const Verdict *v) {
    return v->kind != VERDICT_UNJUDGED;
}

static const char *verdict_words(const Verdict *v) {
    switch (v->kind) {
    case VERDICT_HOLDS: return "holds";
    case VERDICT_NOMINAL: return "holds by the card's value only";
    case VERDICT_SO_FAR: return "holds so far";
    case VERDICT_BROKEN: return v->accepted ? "broken, accepted" : "broken";
    case VERDICT_UNJUDGED: break;
    }
    return "not judged";
}

static void tell_limit(Why *w, const Verdict *v, bool binds) {
    const Force *f = v->force;
    Shown how = say_unit(w->j, f->tag, w->system);
    Str margin = {0};
    if (v->kind == VERDICT_BROKEN)
        how.places = places_to_tell(how.unit, v->value, v->bound, how.places);
    if (judged(v)) margin = say_difference(w->a, how, fabs(v->margin), true);
    const char *by = v->kind == VERDICT_BROKEN ? " by " : ", margin ";
    why_line(w, "%.*s by %.*s (%.*s): %s%s%s%.*s%s", STR_ARG(say_range(w->a, f)), STR_ARG(f->by),
             STR_ARG(why_force(w, f)), v->alone ? "for its part alone " : "", verdict_words(v),
             judged(v) ? by : "", STR_ARG(margin), binds ? "; this one binds" : "");
    if (v->accepted)
        why_line(w, "  accepted by %.*s: %.*s (%.*s)", STR_ARG(v->accepted->by),
                 STR_ARG(v->accepted->text), STR_ARG(why_force(w, v->accepted)));
}

static void tell_limits(Why *w, const Verdicts *all, TagId tag, SubjectId id) {
    const Verdict *least = NULL;
    uint32_t count = 0;
    for (uint32_t i = 0; i < all->count; i++) {
        const Verdict *v = &all->items[i];
        if (v->force->tag != tag || v->subject != id) continue;
        count++;
        if (judged(v) && (!least || v->margin < least->margin)) least = v;
    }
    if (!count) return;
    buf_puts(w->out, "Limits\n");
    w->depth = 1;
    for (uint32_t i = 0; i < all->count; i++) {
        const Verdict *v = &all->items[i];
        if (v->force->tag == tag && v->subject == id) tell_limit(w, v, v == least && count > 1);
    }
    w->depth = 0;
}

static Why why_start(Buf *out, Eval *e, System system, int width) {
    Why w = {.out = out, .e = e, .a = arena_new(), .system = system, .width = width};
    w.most = WHY_DEPTH_MOST;
    w.s = eval_state(e);
    w.j = eval_job(e);
    w.v = w.j->vocab;
    return w;
}

void why_text(Buf *out, Eval *e, TagId tag, SubjectId id, System system, int width) {
    Why w = why_start(out, e, system, width);
    const Tag *t = &w.v->tags[tag];
    why_tag(&w, tag, w.s->index[id]);
    if (t->says.n) why_line(&w, "%.*s: %.*s", STR_ARG(t->name), STR_ARG(t->says));
    tell_history(&w, tag, id);
    Verdicts all = verdicts_of(e, w.a);
    tell_limits(&w, &all, tag, id);
    arena_free(w.a);
}

void why_short(Buf *out, Eval *e, const Verdicts *verdicts, TagId tag, SubjectId id,
               System system) {
    Why w = why_start(out, e, system, 0);
    w.most = 0;
    w.brief = true;
    why_tag(&w, tag, w.s->index[id]);
    tell_limits(&w, verdicts, tag, id);
    arena_free(w.a);
}

void why_read(Buf *out, Eval *e, const Reading *r, System system) {
    Why w = why_start(out, e, system, 0);
    Str name = say_subject(w.a, w.j, r->tag, r->subject);
    Str at = say_condition(w.a, w.j, r, system);
    why_line(&w, "%.*s%s%.*s = %.*s", STR_ARG(name), at.n ? " @ " : "", STR_ARG(at),
             STR_ARG(why_reading(&w, w.j, r)));
    arena_free(w.a);
}
