/* What was asked for in words: forms by their name, quantities with their places. */
#include "book/plan_parts.h"

#include "base/near.h"
#include "base/number.h"
#include <math.h>

/* A comma with a blank behind it parts entries, one without parts places: "lash I1,E1, shim". */
bool what_next(Str *rest, Str *entry) {
    while (rest->n && is_blank(rest->p[0]))
        *rest = str_skip(*rest, 1);
    if (!rest->n) return false;
    size_t at = 0;
    for (;; at++) {
        at = str_find_char(*rest, ',', at);
        if (at == SIZE_MAX || at + 1 == rest->n || is_blank(rest->p[at + 1])) break;
    }
    size_t end = at == SIZE_MAX ? rest->n : at;
    *entry = str_trim((Str){rest->p, end});
    *rest = str_skip(*rest, end + 1);
    return true;
}

const Form *what_form(const Vocab *v, Str entry) {
    for (uint16_t i = 0; i < v->form_count; i++) {
        if (str_ieq(v->forms[i].name, entry)) return &v->forms[i];
    }
    return NULL;
}

typedef struct What {
    TagId tag;
    uint8_t spot;
    Str subject, condition;
} What;

/* TAG [SPOT] [SUBJECT] [@ CONDITION]; the spot may also stand behind the subject. */
static bool what_parts(const Vocab *v, Str entry, What *out) {
    Str rest;
    *out = (What){.spot = SPOT_NONE};
    size_t at = str_find_char(entry, '@', 0);
    if (at != SIZE_MAX) {
        out->condition = str_trim(str_skip(entry, at + 1));
        entry = str_trim((Str){entry.p, at});
    }
    out->tag = vocab_match(v, entry, &rest);
    if (out->tag == TAG_NONE) return false;
    const Tag *tag = &v->tags[out->tag];
    for (uint8_t i = 0; i < tag->spot_count; i++) {
        Str spot = tag->spots[i];
        if (rest.n < spot.n) continue;
        Str front = {rest.p, spot.n}, back = str_skip(rest, rest.n - spot.n);
        bool at_front = str_ieq(front, spot), at_back = str_ieq(back, spot);
        if (!at_front && !at_back) continue;
        out->spot = i;
        rest = str_trim(at_front ? str_skip(rest, spot.n) : (Str){rest.p, rest.n - spot.n});
        break;
    }
    out->subject = rest;
    return true;
}

Str what_probe(const Vocab *v, Str entry, Arena *a) {
    What w;
    if (what_form(v, entry) || !what_parts(v, entry, &w) || !w.subject.n) return (Str){0};
    const Tag *tag = &v->tags[w.tag];
    Str at = w.condition.n ? arena_printf(a, " @ %.*s", STR_ARG(w.condition)) : w.condition;
    return arena_printf(a, "%.*s %.*s%.*s = each -\n%.*s %.*s%.*s = -\n", STR_ARG(tag->name),
                        STR_ARG(w.subject), STR_ARG(at), STR_ARG(tag->name), STR_ARG(w.subject),
                        STR_ARG(at));
}

static bool unknown(Planner *p, Str entry) {
    Near near;
    near_start(&near, entry);
    for (uint16_t i = 0; i < p->v->form_count; i++)
        near_offer(&near, p->v->forms[i].name);
    for (uint16_t i = 0; i < p->v->tag_count; i++)
        near_offer(&near, p->v->tags[i].name);
    Str text = near_text(&near, p->a);
    return err_set(p->err, ERR_USAGE, "'%.*s' is neither a form nor a quantity%s%.*s",
                   STR_ARG(entry), text.n ? "; " : "", STR_ARG(text));
}

static bool read_condition(Planner *p, const Tag *tag, Str text, double *at, Str *said) {
    Number n;
    if (number_read(text, &n) != NUMBER_OK) goto bad;
    Str name = str_trim(str_skip(text, n.len));
    const Unit *unit = name.n ? unit_find(name, tag->over->dim) : tag->over;
    if (!unit || unit->dim != tag->over->dim) goto bad;
    *at = unit_to_si(unit, n.value);
    *said = arena_printf(p->a, "%.*s %s", (int)n.len, text.p, unit->name);
    return true;
bad:
    return err_set(p->err, ERR_USAGE, "'@ %.*s' is no %.*s to read '%.*s' at", STR_ARG(text),
                   STR_ARG(tag->over_name), STR_ARG(tag->name));
}

/* Rows as they were named; without a name all of the class. */
static bool named_rows(Planner *p, PlanGrid *g, const Tag *tag, Str subject) {
    if (!subject.n && g->rows == CLASS_ENGINE) subject = STR("");
    SubjectList list = {0};
    ClassKind kind = p->v->classes[g->rows].kind;
    if (!subject.n && g->rows != CLASS_ENGINE && (kind == CLASS_PLACE || kind == CLASS_ITEM)) {
        plan_rows(p, g);
        if (g->row_count) return true;
        return err_set(p->err, ERR_USAGE,
                       "the log does not say its layout: there is no %.*s to read '%.*s' on",
                       STR_ARG(p->v->classes[g->rows].name), STR_ARG(tag->name));
    }
    if (!subject.n && g->rows != CLASS_ENGINE)
        list = p->job->classes[g->rows];
    else if (subject.n && !job_subjects(p->job, g->rows, subject, &list))
        return err_set(p->err, ERR_USAGE, "'%.*s' is no %.*s that the log has or could have",
                       STR_ARG(subject), STR_ARG(p->v->classes[g->rows].name));
    uint32_t n = g->rows == CLASS_ENGINE ? 1 : list.count;
    g->labels = arena_array(p->a, n + 1, sizeof *g->labels);
    g->places = arena_array(p->a, n + 1, sizeof *g->places);
    for (uint32_t i = 0; i < n; i++) {
        g->places[i] = g->rows == CLASS_ENGINE ? SUBJECT_ENGINE : list.ids[i];
        if (g->rows != CLASS_ENGINE) g->labels[i] = subject_name(p->job, g->places[i], p->a);
    }
    g->row_count = n;
    return true;
}

static bool askable(const Tag *tag) {
    return tag->kind == TAG_NUMBER || tag->kind == TAG_WORDS || tag->kind == TAG_CHOICE ||
           tag->kind == TAG_PLACEMENT;
}

static ClassId class_of(const Vocab *v, TagId id) {
    if (v->tags[id].kind != TAG_PLACEMENT) return v->tags[id].of;
    for (ClassId c = 0; c < v->class_count; c++) {
        for (uint8_t i = 0; v->classes[c].kind == CLASS_ITEM && i < v->classes[c].slot_count; i++)
            if (v->classes[c].placement[i] == id) return v->classes[c].up;
    }
    return v->tags[id].of;
}

static bool add_columns(Planner *p, PlanGrid *g, const What *w) {
    const Tag *tag = &p->v->tags[w->tag];
    double at = NAN;
    Str text = {0};
    if (w->condition.n) {
        if (!tag->has_curve)
            return err_set(p->err, ERR_USAGE, "'%.*s' is no curve, so '@ %.*s' says nothing",
                           STR_ARG(tag->name), STR_ARG(w->condition));
        if (!read_condition(p, tag, w->condition, &at, &text)) return false;
        plan_column(p, g, w->tag, w->spot, at, text);
        return true;
    }
    if (!tag->has_curve) {
        plan_column(p, g, w->tag, w->spot, at, text);
        return true;
    }
    for (uint32_t nth = 0; plan_condition(p, w->tag, nth, &at, &text); nth++)
        plan_column(p, g, w->tag, w->spot, at, text);
    if (text.n) return true;
    return err_set(p->err, ERR_USAGE,
                   "the log does not say where '%.*s' is read: say it, as '%.*s @ VALUE %s'",
                   STR_ARG(tag->name), STR_ARG(tag->name), tag->over->name);
}

/* A quantity on the same rows as the one before goes into the same grid. */
static PlanGrid *joins(Planner *p, ClassId rows, const What *w) {
    PlanGrid *last = p->plan->count ? &p->plan->grids[p->plan->count - 1] : NULL;
    if (!last || last->form || last->as_lines || last->rows != rows || w->subject.n) return NULL;
    return last;
}

bool plan_what(Planner *p, Str entry) {
    const Form *form = what_form(p->v, entry);
    What w;
    if (form) {
        plan_form(p, form, true);
        return true;
    }
    if (!what_parts(p->v, entry, &w)) return unknown(p, entry);
    const Tag *tag = &p->v->tags[w.tag];
    if (!askable(tag))
        return err_set(p->err, ERR_USAGE, "'%.*s' is a fact for a line of its own in the log",
                       STR_ARG(tag->name));
    ClassId rows = class_of(p->v, w.tag);
    PlanGrid *g = joins(p, rows, &w);
    if (g) return add_columns(p, g, &w);
    g = plan_grid(p, rows, NULL);
    return add_columns(p, g, &w) && named_rows(p, g, tag, w.subject);
}
