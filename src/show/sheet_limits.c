/* Limits: a line each, the worst first; broken ones place by place. */
#include "show/sheet_parts.h"

#include <math.h>

typedef struct Standing { /* one limit over all its places */
    const Verdict *first;
    uint32_t count;
    uint32_t
        of[VERDICT_UNJUDGED + 1]; /* verdicts of each kind; broken ones that are not accepted */
    uint32_t accepted;
    const Verdict *least; /* of those that hold: least margin; NULL */
} Standing;

static bool stands(const Verdict *v) {
    return v->kind == VERDICT_HOLDS || v->kind == VERDICT_NOMINAL || v->kind == VERDICT_SO_FAR;
}

static Standing sum_up(const Verdict *first, uint32_t count) {
    Standing l = {.first = first, .count = count};
    for (uint32_t i = 0; i < count; i++) {
        const Verdict *v = &first[i];
        if (v->kind == VERDICT_BROKEN && v->accepted)
            l.accepted++;
        else
            l.of[v->kind]++;
        if (stands(v) && (!l.least || v->margin < l.least->margin)) l.least = v;
    }
    return l;
}

static int rank(const Standing *l) {
    if (l->of[VERDICT_BROKEN]) return 0;
    if (l->accepted) return 1;
    if (l->of[VERDICT_UNJUDGED]) return 2;
    if (l->of[VERDICT_SO_FAR] || l->of[VERDICT_NOMINAL]) return 3;
    return 4;
}

/* By rank. */
static const char *const standing_words[] = {"broken", "accepted", "not judged", "so far", "holds"};

static Str where(Sheet *s, const Force *f) {
    if (f->shop) return sheet_place(s, f->shop->where, f->shop->span.off);
    return sheet_place(s, f->owner->sources[f->event->source], f->event->span.off);
}

/* What breaks a limit is shown with as many digits as it takes to see it. */
static Shown shown_for(const Sheet *s, const Verdict *v) {
    Shown how = say_unit(s->j, v->force->tag, s->how->system);
    if (v->kind == VERDICT_BROKEN)
        how.places = places_to_tell(how.unit, v->value, v->bound, how.places);
    return how;
}

static Str margin_text(Sheet *s, const Verdict *v, bool with_unit) {
    Shown how = shown_for(s, v);
    return say_difference(s->a, how, fabs(v->margin), with_unit);
}

static Str value_text(Sheet *s, const Verdict *v) {
    Str value = sheet_mark(s, say_number(s->a, shown_for(s, v), v->value, true), v->st);
    return v->alone ? arena_printf(s->a, "%.*s for its part alone", STR_ARG(value)) : value;
}

static void add_name(Sheet *s, Buf *b, const Force *f) {
    const Tag *tag = &s->v->tags[f->tag];
    buf_add(b, tag->name);
    if (f->subject != SUBJECT_ENGINE)
        buf_printf(b, " %.*s", STR_ARG(subject_name(s->j, f->subject, s->a)));
    if (f->letter) buf_printf(b, " %c", f->letter);
    if (f->has_at && tag->over) {
        buf_puts(b, " @ ");
        buf_double(b, round(unit_from_si(tag->over, f->at) * 1e6) / 1e6);
        buf_printf(b, " %s", tag->over->name);
    }
    buf_printf(b, " %.*s by %.*s", STR_ARG(say_range(s->a, f)), STR_ARG(f->by));
}

/* How a limit stands that nothing breaks. */
static void add_holds(Sheet *s, Buf *b, const Standing *l) {
    uint32_t hold = l->of[VERDICT_HOLDS] + l->of[VERDICT_NOMINAL] + l->of[VERDICT_SO_FAR];
    if (l->count == 1) {
        buf_printf(b, ": %.*s holds, margin %.*s", STR_ARG(value_text(s, l->first)),
                   STR_ARG(margin_text(s, l->first, true)));
    } else {
        buf_printf(b, ": %u of %u hold", hold, l->count);
        if (l->least)
            buf_printf(b, ", least margin %.*s at %.*s", STR_ARG(margin_text(s, l->least, true)),
                       STR_ARG(subject_name(s->j, l->least->subject, s->a)));
    }
    if (l->of[VERDICT_NOMINAL] == hold && hold)
        buf_puts(b, "; holds by the card's value only, nothing was measured");
    else if (l->of[VERDICT_NOMINAL])
        buf_printf(b, "; %u by the card's value only", l->of[VERDICT_NOMINAL]);
    if (l->of[VERDICT_SO_FAR]) buf_puts(b, "; so far: members are missing");
}

static void add_places(Sheet *s, Buf *b, const Standing *l, VerdictKind kind) {
    const char *before = "";
    for (uint32_t i = 0; i < l->count; i++) {
        if (l->first[i].kind != kind) continue;
        buf_printf(b, "%s%.*s", before, STR_ARG(subject_name(s->j, l->first[i].subject, s->a)));
        before = ", ";
    }
}

static void write_broken(Sheet *s, const Verdict *v) {
    Buf line = {0};
    if (v->subject != SUBJECT_ENGINE)
        buf_printf(&line, "%.*s: ", STR_ARG(subject_name(s->j, v->subject, s->a)));
    buf_printf(&line, "%.*s, %s by %.*s", STR_ARG(value_text(s, v)),
               v->value < v->bound ? "under" : "over", STR_ARG(margin_text(s, v, true)));
    if (v->accepted)
        buf_printf(&line, ": %.*s, by %.*s", STR_ARG(v->accepted->text), STR_ARG(v->accepted->by));
    s->paper->line(s, &(SheetLine){.indent = 4,
                                   .hang = 6,
                                   .lead = v->accepted ? STR("accepted") : STR("broken"),
                                   .tone = v->accepted ? TONE_DOUBT : TONE_BAD,
                                   .text = buf_str(&line)});
    buf_release(&line);
}

static void write_hint(Sheet *s, TagId tag) {
    Str hint = fit_hint(s->s, tag, &s->hints, s->a);
    if (!hint.n) return;
    buf_puts(s->out, "    ");
    fold_text(s->out, hint, s->how->width, 6);
}

static void write_standing(Sheet *s, const Standing *l) {
    Buf line = {0};
    add_name(s, &line, l->first->force);
    uint32_t broken = l->of[VERDICT_BROKEN] + l->accepted;
    if (broken && l->count > 1)
        buf_printf(&line, ": %u of %u broken", broken, l->count);
    else if (!broken && !l->of[VERDICT_UNJUDGED])
        add_holds(s, &line, l);
    else if (l->of[VERDICT_UNJUDGED] && l->least)
        add_holds(s, &line, l);
    if (l->of[VERDICT_UNJUDGED]) {
        TagId missing = TAG_NONE;
        for (uint32_t i = 0; i < l->count && missing == TAG_NONE; i++)
            if (l->first[i].kind == VERDICT_UNJUDGED) missing = l->first[i].missing;
        buf_puts(&line, ": not judged");
        if (l->count > 1) {
            buf_puts(&line, " at ");
            add_places(s, &line, l, VERDICT_UNJUDGED);
        }
        if (missing != TAG_NONE) buf_printf(&line, ", no %.*s", STR_ARG(s->v->tags[missing].name));
    }
    buf_printf(&line, "  (%.*s)", STR_ARG(where(s, l->first->force)));
    s->paper->line(
        s, &(SheetLine){
               .indent = 2, .hang = 4, .state = standing_words[rank(l)], .text = buf_str(&line)});
    buf_release(&line);
    for (uint32_t i = 0; i < l->count; i++) {
        if (l->first[i].kind == VERDICT_BROKEN) write_broken(s, &l->first[i]);
    }
    if (l->of[VERDICT_BROKEN]) write_hint(s, l->first->force->tag);
}

void sheet_limits(Sheet *s) {
    if (!s->verdicts.count) return;
    Standing *all = arena_array(s->a, s->verdicts.count, sizeof *all);
    uint32_t n = 0;
    for (uint32_t i = 0, to; i < s->verdicts.count; i = to) {
        const Verdict *first = &s->verdicts.items[i];
        for (to = i + 1; to < s->verdicts.count && s->verdicts.items[to].force == first->force;)
            to++;
        all[n++] = sum_up(first, to - i);
    }
    sheet_section(s, STR("Limits"));
    for (int r = 0; r <= 4; r++) {
        for (uint32_t i = 0; i < n; i++) {
            if (rank(&all[i]) == r) write_standing(s, &all[i]);
        }
    }
}
