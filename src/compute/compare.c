#include "compute/compare_parts.h"

#include "base/hash.h"
#include <math.h>

/* ---- which subject of B is which of A -----------------------------------------------------------
 */

static bool of_curve_tag(const Comparing *c, TagId tag) {
    return c->v->tags[tag].has_curve;
}

static uint64_t hash_subject(const Job *j, SubjectId id, Str name) {
    return hash_bytes(name) ^ (uint64_t)j->subjects[id].cls * 0x9E3779B97F4A7C15u ^
           (uint64_t)(j->subjects[id].kind == SUBJECT_CARRIED) << 60;
}

static const Str *names_of(const Job *j, Arena *a) {
    Str *names = arena_array(a, j->subject_count + 1, sizeof *names);
    for (SubjectId id = 0; id < j->subject_count; id++)
        names[id] = subject_name(j, id, a);
    return names;
}

typedef struct Table { /* A's subjects by class and name */
    SubjectId *slots;
    uint32_t mask;
} Table;

static SubjectId *find_name(const Comparing *c, const Table *t, const Job *j, SubjectId id,
                            Str name) {
    uint32_t at = (uint32_t)hash_subject(j, id, name) & t->mask;
    for (;; at = (at + 1) & t->mask) {
        SubjectId have = t->slots[at];
        if (have == SUBJECT_NONE) return &t->slots[at];
        const Subject *x = &c->j[0]->subjects[have], *y = &j->subjects[id];
        bool same_kind = (x->kind == SUBJECT_CARRIED) == (y->kind == SUBJECT_CARRIED);
        if (x->cls == y->cls && same_kind && str_ieq(c->names[0][have], name)) return &t->slots[at];
    }
}

static Table name_table(const Comparing *c) {
    uint32_t room = 64, n = c->j[0]->subject_count;
    while (room < n * 2)
        room *= 2;
    Table t = {arena_array(c->a, room, sizeof *t.slots), room - 1};
    memset(t.slots, 0xff, room * sizeof *t.slots);
    for (SubjectId id = 0; id < n; id++)
        *find_name(c, &t, c->j[0], id, c->names[0][id]) = id;
    return t;
}

/* Items and sets that the other job does not know: those of the same place and slot, or the only
 * two left of their class, are taken for one another. */
static void pair_by_place(Comparing *c) {
    const State *s[2] = {eval_state(c->e[0]), eval_state(c->e[1])};
    if (!s[0]->here || !s[1]->here) return;
    for (SubjectId place = 0; place < c->j[1]->subject_count; place++) {
        SubjectId old_place = c->match[place];
        if (old_place == SUBJECT_NONE || c->j[1]->subjects[place].kind == SUBJECT_ITEM) continue;
        for (int slot = 0; slot < HERE_MOST; slot++) {
            SubjectId now = s[1]->here[(size_t)place * HERE_MOST + slot];
            SubjectId was = s[0]->here[(size_t)old_place * HERE_MOST + slot];
            if (now == SUBJECT_NONE || was == SUBJECT_NONE) continue;
            if (c->j[0]->subjects[was].cls != c->j[1]->subjects[now].cls) continue;
            if (c->match[now] != SUBJECT_NONE || c->taken[was]) continue;
            c->match[now] = was;
            c->taken[was] = c->by_place[now] = true;
        }
    }
}

static void pair_lone_sets(Comparing *c, ClassId cls) {
    SubjectId lone[2] = {SUBJECT_NONE, SUBJECT_NONE};
    for (int side = 0; side < 2; side++) {
        const SubjectList *list = &c->j[side]->classes[cls];
        for (uint32_t i = 0; i < list->count; i++) {
            SubjectId id = list->ids[i];
            if (side ? c->match[id] != SUBJECT_NONE : c->taken[id]) continue;
            if (lone[side] != SUBJECT_NONE) return; /* several: nobody knows which is which */
            lone[side] = id;
        }
    }
    if (lone[0] == SUBJECT_NONE || lone[1] == SUBJECT_NONE) return;
    c->match[lone[1]] = lone[0];
    c->taken[lone[0]] = c->by_place[lone[1]] = true;
}

static void pair_subjects(Comparing *c) {
    c->match = arena_array(c->a, c->j[1]->subject_count + 1, sizeof *c->match);
    c->by_place = arena_array(c->a, c->j[1]->subject_count + 1, sizeof *c->by_place);
    c->taken = arena_array(c->a, c->j[0]->subject_count + 1, sizeof *c->taken);
    c->names[0] = names_of(c->j[0], c->a);
    c->names[1] = c->j[0] == c->j[1] ? c->names[0] : names_of(c->j[1], c->a);
    Table t = name_table(c);
    for (SubjectId id = 0; id < c->j[1]->subject_count; id++) {
        SubjectId was = c->j[0] == c->j[1] ? id : *find_name(c, &t, c->j[1], id, c->names[1][id]);
        c->match[id] = was;
        if (was != SUBJECT_NONE) c->taken[was] = true;
    }
    if (c->j[0] == c->j[1]) return;
    pair_by_place(c);
    for (ClassId cls = 0; cls < c->v->class_count; cls++) {
        if (c->v->classes[cls].kind == CLASS_SET) pair_lone_sets(c, cls);
    }
}

/* ---- rows ---------------------------------------------------------------------------------------
 */

static SubjectId place_of(const Comparing *c, int side, SubjectId id) {
    if (id == SUBJECT_NONE || c->j[side]->subjects[id].kind != SUBJECT_ITEM) return SUBJECT_NONE;
    return state_up(eval_state(c->e[side]), id);
}

CompareRow *compare_row(Comparing *c, CompareKind kind, TagId tag, const Pair *p) {
    arena_grow(c->a, c->out.rows, c->out.count, c->out.room);
    CompareRow *r = &c->out.rows[c->out.count++];
    *r = (CompareRow){.kind = kind,
                      .tag = tag,
                      .cls = p->cls,
                      .subject = {p->id[0], p->id[1]},
                      .place = {place_of(c, 0, p->id[0]), place_of(c, 1, p->id[1])},
                      .by_place = p->by_place,
                      .at = NAN,
                      .difference = NAN,
                      .part = NAN};
    r->side[0] = r->side[1] = (CompareSide){.value = NAN, .reading = NO_READING};
    return r;
}

/* One and the same line, in one log or two versions of it, or in a log that the other continues. */
static bool one_reading(const Comparing *c, uint32_t a, uint32_t b) {
    if (c->j[0] == c->j[1]) return a == b;
    const Reading *x = &c->j[0]->readings[a], *y = &c->j[1]->readings[b];
    const Entry *ex = &c->j[0]->entries[x->entry], *ey = &c->j[1]->entries[y->entry];
    const Source *sx = c->j[0]->sources[x->source], *sy = c->j[1]->sources[y->source];
    bool same_log = c->one_log ? x->source == y->source : str_eq(sx->path, sy->path);
    return same_log && date_cmp(ex->date, ey->date) == 0 && ex->date.day == ey->date.day &&
           str_eq(reading_text(c->j[0], x), reading_text(c->j[1], y)) &&
           (x->value == y->value || (isnan(x->value) && isnan(y->value)));
}

static void judge_number(const Comparing *c, CompareRow *r) {
    const CompareSide *a = &r->side[0], *b = &r->side[1];
    const Tag *tag = &c->v->tags[r->tag];
    if ((a->st | b->st) & V_SUSPECT) {
        r->how = COMPARE_DOUBTED;
        return;
    }
    double scale = fabs(a->value) + fabs(b->value);
    double slack = 1e-9 * scale;
    if (r->kind == COMPARE_COMPUTED || a->on_curve || b->on_curve) {
        /* what is worked out differs where it can be seen in the last place that is shown */
        double step = unit_step(tag->unit, tag->places);
        if (slack < 0.5 * step) slack = 0.5 * step;
    }
    r->difference = b->value - a->value;
    r->how = fabs(r->difference) <= slack ? COMPARE_SAME : COMPARE_CHANGED;
    if (r->how == COMPARE_SAME && r->kind == COMPARE_READING && !a->on_curve && !b->on_curve)
        r->difference = 0;
    if (a->value != 0 && tag->unit->offset == 0) r->part = r->difference / fabs(a->value);
}

void compare_judge(const Comparing *c, CompareRow *r) {
    CompareSide *a = &r->side[0], *b = &r->side[1];
    if (!a->there || !b->there)
        r->how = a->there ? COMPARE_ONLY_A : COMPARE_ONLY_B;
    else if (a->reading != NO_READING && b->reading != NO_READING && !a->on_curve && !b->on_curve &&
             one_reading(c, a->reading, b->reading))
        r->how = COMPARE_NOT_AGAIN;
    else if (r->kind == COMPARE_READING || r->kind == COMPARE_COMPUTED)
        judge_number(c, r);
    else
        r->how = str_ieq(a->words, b->words) ? COMPARE_SAME : COMPARE_CHANGED;
}

static CompareSide read_side(const Comparing *c, int side, uint32_t reading) {
    CompareSide out = {.value = NAN, .reading = reading};
    if (reading == NO_READING) return out;
    const Reading *r = &c->j[side]->readings[reading];
    out.there = true;
    out.value = r->value;
    out.words = reading_text(c->j[side], r);
    out.st = V_READ | (r->flags & READ_SUSPECT ? V_SUSPECT : 0);
    return out;
}

static bool is_number(const Tag *tag) {
    return tag->kind == TAG_NUMBER;
}

static void plain_row(Comparing *c, TagId tag, const Pair *p) {
    CompareSide side[2];
    for (int i = 0; i < 2; i++) {
        uint32_t reading = p->id[i] == SUBJECT_NONE
                               ? NO_READING
                               : state_reading(eval_state(c->e[i]), tag, p->id[i], UINT32_MAX);
        side[i] = read_side(c, i, reading);
    }
    if (!side[0].there && !side[1].there) return;
    CompareKind kind = is_number(&c->v->tags[tag]) ? COMPARE_READING : COMPARE_FACT;
    CompareRow *r = compare_row(c, kind, tag, p);
    r->side[0] = side[0];
    r->side[1] = side[1];
    compare_judge(c, r);
}

/* The reading in force of one spot: spots are read together, so only the last entry counts. */
static uint32_t spot_reading(const Comparing *c, int side, TagId tag, SubjectId id, uint8_t spot) {
    const Job *j = c->j[side];
    const State *s = eval_state(c->e[side]);
    if (id == SUBJECT_NONE) return NO_READING;
    uint32_t i = state_reading(s, tag, id, UINT32_MAX);
    uint32_t entry = i == NO_READING ? 0 : reading_entry(j, &j->readings[i]);
    for (; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (!reading_counts(s, r)) continue;
        if (reading_entry(j, r) != entry) break;
        bool counts = !(r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED));
        if (counts && (r->flags & READ_SPOT) && r->at == spot) return i;
    }
    return NO_READING;
}

static void spot_rows(Comparing *c, TagId tag, const Pair *p) {
    for (uint8_t spot = 0; spot < c->v->tags[tag].spot_count; spot++) {
        uint32_t reading[2];
        for (int i = 0; i < 2; i++)
            reading[i] = spot_reading(c, i, tag, p->id[i], spot);
        if (reading[0] == NO_READING && reading[1] == NO_READING) continue;
        CompareRow *r = compare_row(c, COMPARE_READING, tag, p);
        r->side[0] = read_side(c, 0, reading[0]);
        r->side[1] = read_side(c, 1, reading[1]);
        r->has_at = true;
        r->at = spot;
        r->at_side = reading[1] != NO_READING;
        r->at_reading = reading[r->at_side];
        compare_judge(c, r);
    }
}

static bool is_read(const Job *j, TagId tag) {
    return j->chain->row[tag] != CHAIN_NO_ROW;
}

/* Who measured and with what, and what the log is called, is nothing about the engine. */
static bool passed_over(const Tag *tag) {
    switch (tag->role) {
    case ROLE_JOB:
    case ROLE_BY:
    case ROLE_WITH:
    case ROLE_STAGE:
    case ROLE_UNITS:
    case ROLE_CONTINUES: return true;
    default: break;
    }
    return tag->holds_entry || tag->kind == TAG_PLACEMENT || tag->kind == TAG_BANK ||
           tag->kind == TAG_GAUGE || tag->kind == TAG_SCRAP || tag->kind == TAG_SET;
}

static void reading_rows(Comparing *c, const Pair *p) {
    for (uint32_t t = 0; t < c->v->tag_count; t++) {
        const Tag *tag = &c->v->tags[t];
        TagId id = (TagId)t;
        if ((!is_read(c->j[0], id) && !is_read(c->j[1], id)) || passed_over(tag)) continue;
        if (tag->has_curve)
            compare_curves(c, id, p);
        else if (tag->spot_count)
            spot_rows(c, id, p);
        if (!tag->has_curve) plain_row(c, id, p);
    }
}

/* ---- what sits where ----------------------------------------------------------------------------
 */

static Str sitting(const Comparing *c, int side, SubjectId place, int slot, SubjectId *item) {
    const State *s = eval_state(c->e[side]);
    *item = SUBJECT_NONE;
    if (!s->here || place == SUBJECT_NONE) return (Str){0};
    *item = s->here[(size_t)place * HERE_MOST + slot];
    return *item == SUBJECT_NONE ? str_none : c->names[side][*item];
}

static void placed_row(Comparing *c, const Pair *p, ClassId cls, uint8_t n) {
    const Class *k = &c->v->classes[cls];
    int slot = c->j[1]->slot_base[cls] + n;
    SubjectId item[2];
    Str words[2];
    for (int i = 0; i < 2; i++)
        words[i] = sitting(c, i, p->id[i], slot, &item[i]);
    bool named[2];
    for (int i = 0; i < 2; i++)
        named[i] = item[i] != SUBJECT_NONE && c->j[i]->subjects[item[i]].number;
    if ((!named[0] && !named[1]) || k->placement[n] == TAG_NONE) return;
    CompareRow *r = compare_row(c, COMPARE_PLACED, k->placement[n], p);
    for (int i = 0; i < 2; i++) {
        r->side[i].there = named[i];
        r->side[i].words = words[i];
    }
    compare_judge(c, r);
}

static void placed_rows(Comparing *c, const Pair *p) {
    for (ClassId cls = 0; cls < c->v->class_count; cls++) {
        const Class *k = &c->v->classes[cls];
        if (k->kind != CLASS_ITEM || k->up != p->cls) continue;
        for (uint8_t n = 0; n < k->slot_count; n++)
            placed_row(c, p, cls, n);
    }
}

/* ---- which places a bank has
 * ---------------------------------------------------------------------
 */

static Str members(const Comparing *c, int side, SubjectId bank) {
    const Job *j = c->j[side];
    Str list = {0};
    for (uint32_t i = 0; bank != SUBJECT_NONE && i < j->subject_count; i++) {
        if (j->subjects[i].kind != SUBJECT_PLACE || j->subjects[i].up != bank) continue;
        list = arena_printf(c->a, "%.*s%s%.*s", STR_ARG(list), list.n ? " " : "",
                            STR_ARG(c->names[side][i]));
    }
    return list;
}

static void bank_row(Comparing *c, const Pair *p) {
    TagId tag = 0;
    while (tag < c->v->tag_count && c->v->tags[tag].kind != TAG_BANK)
        tag++;
    if (c->v->classes[p->cls].kind != CLASS_BANK || tag == c->v->tag_count) return;
    CompareRow *r = compare_row(c, COMPARE_PLACED, tag, p);
    for (int i = 0; i < 2; i++) {
        r->side[i].words = members(c, i, p->id[i]);
        r->side[i].there = r->side[i].words.n > 0;
    }
    compare_judge(c, r);
}

/* ---- what follows from it
 * ------------------------------------------------------------------------ */

static CompareSide computed_side(const Comparing *c, int side, TagId tag, SubjectId id) {
    CompareSide out = {.value = NAN, .reading = NO_READING};
    if (id == SUBJECT_NONE) return out;
    const Col *col = eval_tag(c->e[side], tag);
    uint32_t i = eval_state(c->e[side])->index[id];
    if (i >= col->n) return out;
    out.st = col->st[i];
    out.there = !(col->st[i] & V_MISSING);
    out.value = out.there ? col->v[i] : NAN;
    return out;
}

static void computed_rows(Comparing *c, const Pair *p) {
    for (uint32_t t = 0; t < c->v->tag_count; t++) {
        const Tag *tag = &c->v->tags[t];
        if (!tag->is || of_curve_tag(c, (TagId)t) || tag->kind != TAG_NUMBER || tag->of != p->cls)
            continue;
        CompareSide side[2];
        for (int i = 0; i < 2; i++)
            side[i] = computed_side(c, i, (TagId)t, p->id[i]);
        if (!side[0].there && !side[1].there) continue;
        if ((!side[0].there || side[0].st & V_READ) && (!side[1].there || side[1].st & V_READ))
            continue; /* a reading, which has its row */
        CompareRow *r = compare_row(c, COMPARE_COMPUTED, (TagId)t, p);
        r->side[0] = side[0];
        r->side[1] = side[1];
        compare_judge(c, r);
    }
}

static void compare_pair(Comparing *c, const Pair *p) {
    placed_rows(c, p);
    bank_row(c, p);
    reading_rows(c, p);
    computed_rows(c, p);
}

static void compare_class(Comparing *c, ClassId cls) {
    const SubjectList *now = &c->j[1]->classes[cls], *was = &c->j[0]->classes[cls];
    for (uint32_t i = 0; i < now->count; i++) {
        SubjectId id = now->ids[i];
        compare_pair(c, &(Pair){cls, {c->match[id], id}, c->by_place[id]});
    }
    if (c->j[0] == c->j[1]) return;
    for (uint32_t i = 0; i < was->count; i++) {
        if (!c->taken[was->ids[i]])
            compare_pair(c, &(Pair){cls, {was->ids[i], SUBJECT_NONE}, false});
    }
}

Compare compare_states(Eval *a, Eval *b, Arena *arena) {
    Comparing c = {.e = {a, b}, .j = {eval_job(a), eval_job(b)}, .a = arena};
    c.v = c.j[0]->vocab;
    c.one_log = str_eq(c.j[0]->name, c.j[1]->name);
    pair_subjects(&c);
    for (ClassId cls = 0; cls < c.v->class_count; cls++)
        compare_class(&c, cls);
    return c.out;
}
