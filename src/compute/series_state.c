/* Quantities that are worked out: their value at each entry that touched what they rest on. */
#include "compute/series_parts.h"

#include <math.h>

typedef struct Marks { /* what an entry read or fitted */
    bool *own;         /* per subject */
    bool *above;       /* per subject: something on it */
    bool any;
} Marks;

static void mark(Follow *f, Marks *m, const State *s, SubjectId id) {
    m->any = true;
    m->own[id] = true;
    for (SubjectId at = state_up(s, id); at != SUBJECT_NONE && !m->above[at];
         at = state_up(s, at)) {
        m->above[at] = true;
        if (at == SUBJECT_ENGINE) break;
    }
    if (f->j->subjects[id].kind == SUBJECT_CARRIED && s->carried && s->carried[id] != SUBJECT_NONE)
        mark(f, m, s, s->carried[id]);
}

/* A piston that is fitted changes nothing about the springs of its cylinder. */
static bool moves_input(const Follow *f, const Event *e) {
    const Job *j = f->j;
    if (!f->rests_on_items) return false;
    if (e->kind == EVENT_PLACE) return f->has_class[j->subjects[e->subject].cls];
    ClassId place = j->subjects[e->subject2].cls;
    for (ClassId c = 0; c < f->v->class_count; c++) {
        const Class *k = &f->v->classes[c];
        if (k->kind != CLASS_ITEM || k->up != place || e->slot < j->slot_base[c]) continue;
        if (e->slot < j->slot_base[c] + k->slot_count) return f->has_class[c];
    }
    return false;
}

static bool touches(const Follow *f, const Event *e) {
    switch (e->kind) {
    case EVENT_PLACE:
    case EVENT_EMPTY: return moves_input(f, e);
    case EVENT_CARRY: return true;
    default: return false;
    }
}

static bool entry_touches(const Follow *f, uint32_t entry, uint32_t *reading, uint32_t *event) {
    const Job *j = f->j;
    bool any = false;
    for (; *reading < j->reading_count && j->readings[*reading].entry <= entry; ++*reading)
        any |= f->has_input[j->readings[*reading].tag];
    for (; *event < j->event_count && j->events[*event].entry <= entry; ++*event)
        any |= touches(f, &j->events[*event]);
    return any;
}

static void mark_entry(Follow *f, Marks *m, const State *s, uint32_t r0, uint32_t r1, uint32_t e0,
                       uint32_t e1) {
    const Job *j = f->j;
    for (uint32_t i = r0; i < r1; i++) {
        const Reading *r = &j->readings[i];
        if (f->has_input[r->tag] && !(r->flags & READ_STRUCK)) mark(f, m, s, r->subject);
    }
    for (uint32_t i = e0; i < e1; i++) {
        const Event *e = &j->events[i];
        if (!touches(f, e)) continue;
        if (e->subject != SUBJECT_NONE) mark(f, m, s, e->subject);
        if (e->subject2 != SUBJECT_NONE) mark(f, m, s, e->subject2);
    }
}

static bool touched(const Marks *m, const State *s, SubjectId id) {
    if (m->above[id]) return true;
    for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(s, at)) {
        if (m->own[at]) return true;
        if (at == SUBJECT_ENGINE) break;
    }
    const Subject *sub = &s->job->subjects[id];
    return sub->kind == SUBJECT_ITEM && sub->up != SUBJECT_NONE && m->own[sub->up];
}

/* What sits at the place, of the classes that the quantity rests on: another is another series. */
static Str items_at(const Follow *f, const State *s, SubjectId place) {
    Str text = {0};
    if (!s->here || !f->rests_on_items) return text;
    for (int i = 0; i < HERE_MOST; i++) {
        SubjectId id = s->here[(size_t)place * HERE_MOST + i];
        if (id == SUBJECT_NONE || !f->has_class[f->j->subjects[id].cls]) continue;
        text = arena_printf(f->a, "%.*s%s%.*s", STR_ARG(text), text.n ? " + " : "",
                            STR_ARG(subject_name(f->j, id, f->a)));
    }
    return text;
}

static Str why_new(Follow *f, Str item, uint32_t entry) {
    char day[DATE_TEXT];
    Date date = {f->j->entries[entry].date.day, -1};
    if (!item.n) return (Str){0};
    return arena_printf(f->a, "with %.*s, fitted %s", STR_ARG(item), date_text(date, day));
}

static void count_out(Series *s, uint8_t st, bool unknown) {
    if (unknown)
        s->left_out.unknown++;
    else if (st & V_SUSPECT)
        s->left_out.suspect++;
    else if (st & V_NOMINAL)
        s->left_out.nominal++;
    s->ends_unknown = unknown;
}

/* Missing because what ran while it was fitted is not known: what stood before is no last word. */
static bool run_unknown(const Follow *f, const Col *c, uint32_t i) {
    if (!(c->st[i] & V_MISSING) || (c->st[i] & (V_SUSPECT | V_NOMINAL))) return false;
    return fitted_asked(f->tag->is, (TagId)c->from[i]);
}

static double read_step(const Follow *f, const Col *c, uint32_t i) {
    if (!(c->st[i] & V_READ)) return 0;
    return reading_step(&f->j->readings[c->from[i]]);
}

typedef struct Going { /* of a subject: its series as it goes on */
    uint32_t series;   /* index + 1; 0: none yet */
    uint32_t entry;    /* of its last point */
    Str item;
} Going;

/* Why a value belongs to a new series; empty when it does not. A quantity with a formula carries
 * its readings on over what set them aside. */
static Str new_series(Follow *f, const Going *g, SubjectId id, Str item, uint32_t entry) {
    if (!g->series) return (Str){0};
    if (item.n && g->item.n && !str_eq(g->item, item)) return why_new(f, item, entry);
    if (f->tag->is || !f->tag->set_aside_count) return (Str){0};
    uint32_t when;
    TagId by = follow_aside(f, id, g->entry, entry, &when);
    return by == TAG_NONE ? str_none : follow_began(f, by, when);
}

static void take_value(Follow *f, Going *g, const State *s, const Col *c, uint32_t i,
                       uint32_t entry) {
    SubjectId id = f->j->classes[f->tag->of].ids[i];
    bool good = !(c->st[i] & (V_MISSING | V_NOMINAL));
    bool unknown = run_unknown(f, c, i);
    if (!good && !unknown && !(c->st[i] & (V_SUSPECT | V_NOMINAL))) return;
    if (!good && !g->series) return;
    if (!good) {
        count_out(&f->out->items[g->series - 1], c->st[i], unknown);
        return;
    }
    Str item = f->is_item ? str_none : items_at(f, s, id);
    Str began = new_series(f, g, id, item, entry);
    if (!g->series || began.n) {
        Str place = {0};
        if (f->is_item && f->end->sits_at && f->end->sits_at[id] != SUBJECT_NONE)
            place = subject_name(f->j, f->end->sits_at[id], f->a);
        follow_series(f, id, place, item, began, 4);
        g->series = f->out->count;
    }
    g->item = item;
    g->entry = entry;
    f->out->items[g->series - 1].ends_unknown = false;
    if (f->is_item && s->sits_at && s->sits_at[id] != SUBJECT_NONE)
        f->out->items[g->series - 1].place = subject_name(f->j, s->sits_at[id], f->a);
    follow_point(f, &f->out->items[g->series - 1], id, entry, c->v[i], read_step(f, c, i),
                 c->st[i]);
}

/* A place of a head that is fitted is followed as the place it came to sit at. */
static bool followed(const Follow *f, SubjectId id) {
    const Subject *s = &f->j->subjects[id];
    return s->kind != SUBJECT_CARRIED || !f->end->carried || f->end->carried[id] == SUBJECT_NONE;
}

/* What is counted while fitted ends at what the item had run when it was taken out, in an entry
 * that leaves it on no place: it is touched by what that entry reads of the engine. */
typedef struct Sitting {
    Fitted *times; /* NULL: of no concern */
    bool *sat;     /* per subject: fitted before the entry */
} Sitting;

static Sitting sitting_start(Follow *f) {
    Sitting s = {0};
    TagId counted = fitted_tag(f->tag->is);
    if (!f->is_item || counted == TAG_NONE) return s;
    s.times = fitted_start(f->end, counted, f->scratch);
    s.sat = arena_array(f->scratch, f->j->subject_count, sizeof *s.sat);
    return s;
}

static void sitting_next(const Follow *f, Sitting *s, uint32_t entry) {
    if (!s->times) return;
    const SubjectList *all = &f->j->classes[f->tag->of];
    for (uint32_t i = 0; i < all->count; i++)
        s->sat[all->ids[i]] = fitted_now(s->times, all->ids[i]);
    fitted_to(s->times, entry);
}

void follow_states(Follow *f) {
    const Job *j = f->j;
    Sitting sitting = sitting_start(f);
    uint32_t n = j->classes[f->tag->of].count, reading = 0, event = 0;
    Going *going = arena_array(f->scratch, n + 1, sizeof *going);
    for (uint32_t entry = 0; entry < j->entry_count; entry++) {
        uint32_t r0 = reading, e0 = event;
        bool any = entry_touches(f, entry, &reading, &event);
        if (f->fitted) fitted_to(f->fitted, entry);
        sitting_next(f, &sitting, entry);
        if (!any || j->entries[entry].corrects || j->entries[entry].date.day == DAY_NONE) continue;
        State *s = state_after(j, entry, f->scratch);
        Marks m = {arena_array(f->scratch, j->subject_count, sizeof(bool)),
                   arena_array(f->scratch, j->subject_count, sizeof(bool)), false};
        mark_entry(f, &m, s, r0, reading, e0, event);
        if (!m.any) continue;
        const Col *c = eval_tag(eval_new(s, f->scratch), f->ask->tag);
        for (uint32_t i = 0; i < n; i++) {
            SubjectId id = j->classes[f->tag->of].ids[i];
            bool taken_out = sitting.times && sitting.sat[id] && m.own[SUBJECT_ENGINE];
            if (followed(f, id) && (taken_out || touched(&m, s, id)))
                take_value(f, &going[i], s, c, i, entry);
        }
    }
}
