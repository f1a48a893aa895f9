/* The rows of a form: places and items in the order a person works, and what they lack. */
#include "book/plan_parts.h"

#include <math.h>

/* ---- places ---------------------------------------------------------------------------------- */

typedef struct PlaceKey {
    SubjectId id;
    uint32_t bank, number, letter, suffix;
} PlaceKey;

static uint32_t bank_of(const Job *j, SubjectId id) {
    for (; id != SUBJECT_NONE && id != SUBJECT_ENGINE; id = j->subjects[id].up) {
        if (j->subjects[id].kind == SUBJECT_BANK) return id;
    }
    return 0;
}

static PlaceKey place_key(const Job *j, SubjectId id) {
    const Subject *s = &j->subjects[id];
    const char *letters = j->vocab->classes[s->cls].letters;
    const char *at = s->letter ? strchr(letters, s->letter) : NULL;
    return (PlaceKey){id, bank_of(j, id), s->number, at ? (uint32_t)(at - letters) : 0, s->suffix};
}

/* A head is done from one end to the other, and at each cylinder all that is there. */
static int by_work(const void *x, const void *y) {
    const PlaceKey *a = x, *b = y;
    const uint32_t left[] = {a->bank, a->number, a->letter, a->suffix};
    const uint32_t right[] = {b->bank, b->number, b->letter, b->suffix};
    for (int i = 0; i < 4; i++) {
        if (left[i] != right[i]) return left[i] < right[i] ? -1 : 1;
    }
    return 0;
}

static void place_rows(Planner *p, PlanGrid *g) {
    uint32_t n = p->job->place_count[g->rows];
    PlaceKey *keys = arena_array(p->a, n + 1, sizeof *keys);
    for (uint32_t i = 0; i < n; i++)
        keys[i] = place_key(p->job, p->job->classes[g->rows].ids[i]);
    if (n) qsort(keys, n, sizeof *keys, by_work);
    for (uint32_t i = 0; i < n; i++) {
        g->places[i] = keys[i].id;
        g->labels[i] = subject_name(p->job, keys[i].id, p->a);
    }
    g->row_count = n;
}

/* ---- items ----------------------------------------------------------------------------------- */

static SubjectId item_numbered(const Job *j, ClassId c, SubjectId set, uint32_t number) {
    for (uint32_t i = 0; i < j->classes[c].count; i++) {
        SubjectId id = j->classes[c].ids[i];
        if (j->subjects[id].up == set && j->subjects[id].number == number) return id;
    }
    return SUBJECT_NONE;
}

static SubjectId set_named(const Planner *p, ClassId set_class, Str name) {
    for (uint32_t i = 0; i < p->job->classes[set_class].count; i++) {
        SubjectId id = p->job->classes[set_class].ids[i];
        if (str_ieq(p->job->subjects[id].name, name)) return id;
    }
    return SUBJECT_NONE;
}

static uint32_t highest_number(const Job *j, ClassId c, SubjectId set) {
    uint32_t most = 0;
    for (uint32_t i = 0; i < j->classes[c].count; i++) {
        const Subject *s = &j->subjects[j->classes[c].ids[i]];
        if (s->up == set && s->number > most) most = s->number;
    }
    return most;
}

/* As many as have a reading already, and at least one for each place they can sit at. */
static void item_rows(Planner *p, PlanGrid *g) {
    const Class *k = &p->v->classes[g->rows];
    Str set = p->ask->set.n ? p->ask->set : state_words(p->s, k->set_tag, SUBJECT_ENGINE);
    g->lacks_set = set.n == 0;
    SubjectId in_use = g->lacks_set ? SUBJECT_NONE : set_named(p, k->set, set);
    uint32_t n = in_use == SUBJECT_NONE ? 0 : highest_number(p->job, g->rows, in_use);
    if (n < p->job->place_count[k->up]) n = p->job->place_count[k->up];
    g->labels = arena_array(p->a, n + 1, sizeof *g->labels);
    g->places = arena_array(p->a, n + 1, sizeof *g->places);
    for (uint32_t i = 0; i < n; i++) {
        g->labels[i] = arena_printf(p->a, "%.*s#%u", STR_ARG(set), i + 1);
        g->places[i] =
            in_use == SUBJECT_NONE ? SUBJECT_NONE : item_numbered(p->job, g->rows, in_use, i + 1);
    }
    g->row_count = n;
}

void plan_rows(Planner *p, PlanGrid *g) {
    if (p->v->classes[g->rows].kind == CLASS_ITEM) {
        item_rows(p, g);
        return;
    }
    uint32_t n = p->job->place_count[g->rows];
    g->labels = arena_array(p->a, n + 1, sizeof *g->labels);
    g->places = arena_array(p->a, n + 1, sizeof *g->places);
    place_rows(p, g);
}

/* ---- conditions of curves -------------------------------------------------------------------- */

typedef struct Conditions {
    const Job *job;
    TagId tag;
    uint32_t entry, nth, met;
    double seen[16];
} Conditions;

static const Reading *nth_condition(Conditions *c, uint32_t from, uint32_t to) {
    for (uint32_t i = from; i < to; i++) {
        const Reading *r = &c->job->readings[i];
        if (r->tag != c->tag || r->entry != c->entry || isnan(r->at) || (r->flags & READ_STRUCK))
            continue;
        bool known = false;
        for (uint32_t k = 0; k < c->met; k++)
            known |= same_condition(c->seen[k], r->at);
        if (known || c->met == 16) continue;
        c->seen[c->met++] = r->at;
        if (c->met == c->nth + 1) return r;
    }
    return NULL;
}

static const Reading *last_of(const Job *j, TagId tag) {
    for (uint32_t i = j->reading_count; i-- > 0;) {
        const Reading *r = &j->readings[i];
        if (r->tag == tag && !isnan(r->at) && !(r->flags & READ_STRUCK)) return r;
    }
    return NULL;
}

static const Reading *in_job(const Job *j, TagId tag, uint32_t nth) {
    const Reading *last = last_of(j, tag);
    if (!last) return NULL;
    Conditions c = {.job = j, .tag = tag, .entry = last->entry, .nth = nth};
    return nth_condition(&c, 0, j->reading_count);
}

bool plan_condition(const Planner *p, TagId tag, uint32_t nth, double *at, Str *text) {
    const Job *j = p->job;
    const Reading *r = in_job(j, tag, nth);
    for (uint8_t i = 0; i < p->job->card_count && !r; i++) {
        j = p->job->cards[i].card;
        r = j ? in_job(j, tag, nth) : NULL;
    }
    if (!r) return false;
    *at = r->at;
    *text = say_condition(p->a, j, r, SYSTEM_NONE);
    return true;
}

/* ---- what is lacking ------------------------------------------------------------------------- */

static bool lacks_spot(const Planner *p, TagId tag, SubjectId id, uint8_t spot) {
    for (uint32_t i = chain_last(p->job, tag, id); i != NO_READING; i = chain_prev(p->job, i)) {
        const Reading *r = &p->job->readings[i];
        if (r->flags & READ_BAD) continue;
        if ((r->flags & READ_SPOT) && r->at == spot) return false;
    }
    return true;
}

static bool lacks_point(const Planner *p, TagId tag, SubjectId id, double at) {
    if (isnan(at)) return true;
    for (uint32_t i = chain_last(p->job, tag, id); i != NO_READING; i = chain_prev(p->job, i)) {
        const Reading *r = &p->job->readings[i];
        if (!(r->flags & READ_BAD) && same_condition(r->at, at)) return false;
    }
    return true;
}

/* An item class that the placement places. */
static ClassId placed_class(const Vocab *v, TagId tag) {
    for (ClassId c = 0; c < v->class_count; c++) {
        for (uint8_t i = 0; v->classes[c].kind == CLASS_ITEM && i < v->classes[c].slot_count; i++)
            if (v->classes[c].placement[i] == tag) return c;
    }
    return CLASS_NONE;
}

/* What the tag is read on, seen from the row: the row itself, or what sits there. */
static SubjectId read_on(const Planner *p, const Tag *tag, SubjectId row) {
    ClassId own = p->job->subjects[row].cls;
    if (tag->of == own) return row;
    if (p->v->classes[tag->of].kind != CLASS_ITEM) return state_up(p->s, row);
    bool many = false;
    return state_item_at(p->s, tag->of, row, &many);
}

static bool named_item_at(const Planner *p, ClassId c, SubjectId place) {
    bool many = false;
    SubjectId item = c == CLASS_NONE ? SUBJECT_NONE : state_item_at(p->s, c, place, &many);
    return many || (item != SUBJECT_NONE && p->job->subjects[item].number != 0);
}

bool plan_lacks(const Planner *p, const PlanGrid *g, uint32_t row, const PlanColumn *c) {
    const Tag *tag = &p->v->tags[c->tag];
    SubjectId id = g->places[row];
    if (id == SUBJECT_NONE) return true;
    if (tag->kind == TAG_PLACEMENT) return !named_item_at(p, placed_class(p->v, c->tag), id);
    id = read_on(p, tag, id);
    if (id == SUBJECT_NONE) return true;
    if (tag->kind != TAG_NUMBER) return state_words(p->s, c->tag, id).n == 0;
    if (tag->has_curve) return lacks_point(p, c->tag, id, c->at);
    if (c->spot != SPOT_NONE) return lacks_spot(p, c->tag, id, c->spot);
    const Col *col = eval_tag(p->e, c->tag);
    uint8_t st = col->st[p->s->index[id]];
    return (st & (V_MISSING | V_NOMINAL | V_ABOVE)) != 0;
}
