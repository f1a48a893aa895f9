#include "compute/state.h"

#include <math.h>

static SubjectId *subject_array(const State *s, size_t times) {
    size_t n = (size_t)s->job->subject_count * times;
    SubjectId *array = arena_array(s->arena, n, sizeof *array);
    memset(array, 0xff, n * sizeof *array);
    return array;
}

static void pick_entries(State *s, int32_t until) {
    const Job *j = s->job;
    s->last_entry = j->entry_count ? j->entry_count - 1 : 0;
    if (until == INT32_MAX) return;
    bool *in = arena_array(s->arena, j->entry_count + 1, sizeof *in);
    for (uint32_t e = 0; e < j->entry_count; e++) {
        in[e] = j->entries[e].date.day <= until;
        if (in[e]) s->last_entry = e;
    }
    s->in = in;
}

static void pick_up_to(State *s, uint32_t last) {
    const Job *j = s->job;
    bool *in = arena_array(s->arena, j->entry_count + 1, sizeof *in);
    for (uint32_t e = 0; e < j->entry_count; e++)
        in[e] = e <= last;
    s->in = in;
    s->last_entry = last;
}

/* ---- what sits where ------------------------------------------------------------------------- */

static void need_places(State *s) {
    if (s->here) return;
    s->here = subject_array(s, HERE_MOST);
    s->sits_at = subject_array(s, 1);
    s->since = arena_array(s->arena, s->job->subject_count, sizeof *s->since);
    size_t slots = (size_t)s->job->subject_count * HERE_MOST;
    s->changed = arena_array(s->arena, slots, sizeof *s->changed);
}

static void unseat(State *s, SubjectId item) {
    SubjectId place = s->sits_at[item];
    if (place == SUBJECT_NONE) return;
    for (int i = 0; i < HERE_MOST; i++) {
        if (s->here[(size_t)place * HERE_MOST + i] == item)
            s->here[(size_t)place * HERE_MOST + i] = SUBJECT_NONE;
    }
    s->sits_at[item] = SUBJECT_NONE;
}

static void seat(State *s, const Event *e) {
    SubjectId *slot = &s->here[(size_t)e->subject2 * HERE_MOST + e->slot];
    if (*slot == e->subject) return;
    bool moved = s->sits_at[e->subject] != SUBJECT_NONE;
    if (*slot != SUBJECT_NONE) s->sits_at[*slot] = SUBJECT_NONE;
    unseat(s, e->subject);
    *slot = e->subject;
    s->slots |= (uint8_t)(1 << e->slot);
    s->changed[slot - s->here] = e->entry;
    s->sits_at[e->subject] = e->subject2;
    if (!moved) s->since[e->subject] = e->entry;
}

static void carry(State *s, const Event *e) {
    if (!s->carried) {
        s->carried = subject_array(s, 1);
        s->carrier = subject_array(s, 1);
    }
    if (s->job->subjects[e->subject].kind == SUBJECT_CARRIER) {
        if (e->subject2 == SUBJECT_NONE)
            s->carrier[e->subject] = SUBJECT_NONE;
        else if (s->job->subjects[e->subject2].kind == SUBJECT_BANK)
            s->carrier[e->subject] = e->subject2;
        else
            s->carrier[e->subject2] = e->subject;
        if (e->subject2 != SUBJECT_NONE) return;
        for (SubjectId id = 0; id < s->job->subject_count; id++) {
            if (s->carrier[id] == e->subject) s->carrier[id] = SUBJECT_NONE;
        }
        return;
    }
    SubjectId old = s->carried[e->subject]; /* of a carried place: where it sat */
    if (old != SUBJECT_NONE && s->carried[old] == e->subject) s->carried[old] = SUBJECT_NONE;
    s->carried[e->subject] = e->subject2;
    if (e->subject2 != SUBJECT_NONE) s->carried[e->subject2] = e->subject;
}

/* ---- limits and aims ------------------------------------------------------------------------- */

static void add_force(State *s, Force f) {
    arena_grow(s->arena, s->forces, s->force_count, s->force_room);
    s->forces[s->force_count++] = f;
}

static uint64_t force_key(const Event *e, EventKind kind) {
    uint64_t h = (uint64_t)e->tag * 0x9E3779B97F4A7C15u ^
                 (uint64_t)e->subject * 0xC2B2AE3D27D4EB4Fu ^ (uint64_t)kind << 56;
    for (size_t i = 0; i < e->by.n && kind == EVENT_LIMIT; i++)
        h = (h ^ (uint8_t)to_lower(e->by.p[i])) * 0x100000001B3u;
    return h ^ h >> 31;
}

/* The same author's later limit on the same subject takes the place of the earlier one. */
static bool same_force(const Force *f, const Event *e, EventKind kind) {
    return f->kind == kind && f->tag == e->tag && f->subject == e->subject &&
           f->has_at == e->has_at && (!f->has_at || same_condition(f->at, e->at)) &&
           (kind != EVENT_LIMIT || str_ieq(f->by, e->by));
}

typedef struct ForceTable {
    uint32_t *slot; /* index of the force + 1 */
    uint32_t mask;
} ForceTable;

static void put_force(State *s, ForceTable *t, const Event *e) {
    EventKind kind = e->kind == EVENT_NO_LIMIT ? EVENT_LIMIT : e->kind;
    uint32_t at = (uint32_t)force_key(e, kind) & t->mask;
    while (t->slot[at] && !same_force(&s->forces[t->slot[at] - 1], e, kind))
        at = (at + 1) & t->mask;
    Force f = {.event = e,
               .owner = s->job,
               .kind = kind,
               .tag = e->tag,
               .subject = e->subject,
               .has_at = e->has_at,
               .at = e->at,
               .range = e->range,
               .by = e->by,
               .text = e->text};
    if (e->kind == EVENT_NO_LIMIT || (kind == EVENT_AIM && isnan(e->range.low)))
        f.event = NULL; /* lifted */
    if (t->slot[at]) {
        s->forces[t->slot[at] - 1] = f;
        return;
    }
    add_force(s, f);
    t->slot[at] = s->force_count;
}

static void drop_lifted(State *s) {
    uint32_t kept = 0, lifted = 0;
    for (uint32_t i = 0; i < s->force_count; i++)
        lifted += !s->forces[i].event;
    if (!lifted) return;
    Force *none = arena_array(s->arena, lifted, sizeof *none);
    for (uint32_t i = 0; i < s->force_count; i++) {
        if (s->forces[i].event)
            s->forces[kept++] = s->forces[i];
        else
            none[s->lifted_count++] = s->forces[i];
    }
    s->lifted = none;
    s->force_count = kept;
}

/* Whether the log says it of the engine and of nothing else: as most say a part. */
static bool is_said_once(const State *s, TagId tag) {
    return chain_row(s->job, tag)->classes == (uint32_t)1 << CLASS_ENGINE;
}

/* Whether all items are of one part, whatever sits where. */
static bool is_same_part(const State *s, TagId tag) {
    return s->job->chain->row[tag] == CHAIN_NO_ROW || is_said_once(s, tag);
}

static void card_forces(State *s, const CardUse *use) {
    bool everywhere =
        is_same_part(s, use->tag) && str_eq(state_words(s, use->tag, SUBJECT_ENGINE), use->name);
    for (uint32_t i = 0; use->card && i < use->card->event_count; i++) {
        const Event *e = &use->card->events[i];
        if (e->kind != EVENT_LIMIT && e->kind != EVENT_AIM) continue;
        add_force(s, (Force){.event = e,
                             .owner = use->card,
                             .card = use,
                             .everywhere = everywhere,
                             .kind = e->kind,
                             .tag = e->tag,
                             .subject = SUBJECT_ENGINE,
                             .has_at = e->has_at,
                             .at = e->at,
                             .range = e->range,
                             .by = e->by,
                             .text = e->text});
    }
}

static void shop_forces(State *s) {
    const Vocab *v = s->job->vocab;
    for (uint16_t i = 0; i < v->limit_count; i++) {
        const VocabLimit *l = &v->limits[i];
        add_force(s, (Force){.shop = l,
                             .kind = l->is_aim ? EVENT_AIM : EVENT_LIMIT,
                             .tag = l->tag,
                             .subject = SUBJECT_ENGINE,
                             .letter = (char)l->letter,
                             .has_at = l->has_at,
                             .at = l->at,
                             .range = l->range,
                             .by = l->by,
                             .text = l->text});
    }
}

/* ---- playing it forward ---------------------------------------------------------------------- */

static void play(State *s, ForceTable *t, const Event *e) {
    switch (e->kind) {
    case EVENT_PLACE:
        need_places(s);
        seat(s, e);
        break;
    case EVENT_EMPTY: {
        need_places(s);
        SubjectId item = s->here[(size_t)e->subject2 * HERE_MOST + e->slot];
        if (item != SUBJECT_NONE) unseat(s, item);
        break;
    }
    case EVENT_SCRAP:
        need_places(s);
        unseat(s, e->subject);
        if (!s->scrapped)
            s->scrapped = arena_array(s->arena, s->job->subject_count, sizeof *s->scrapped);
        s->scrapped[e->subject] = e;
        break;
    case EVENT_CARRY: carry(s, e); break;
    case EVENT_LIMIT:
    case EVENT_NO_LIMIT:
    case EVENT_AIM:
    case EVENT_ACCEPT: put_force(s, t, e); break;
    case EVENT_GAUGE: break;
    }
}

static ForceTable force_table(State *s) {
    uint32_t room = 16;
    while (room < s->job->event_count * 2)
        room *= 2;
    return (ForceTable){arena_array(s->arena, room, sizeof(uint32_t)), room - 1};
}

static State *state_new(const Job *j, Arena *a) {
    State *s = arena_alloc(a, sizeof *s);
    *s = (State){.job = j, .arena = a};
    return s;
}

static State *play_all(State *s) {
    const Job *j = s->job;
    s->index = arena_array(s->arena, j->subject_count + 1, sizeof *s->index);
    for (ClassId c = 0; c < j->vocab->class_count; c++) {
        for (uint32_t i = 0; i < j->classes[c].count; i++)
            s->index[j->classes[c].ids[i]] = i;
    }
    ForceTable table = force_table(s);
    for (uint32_t i = 0; i < j->event_count; i++) {
        if (entry_counts(s, j->events[i].entry)) play(s, &table, &j->events[i]);
    }
    drop_lifted(s);
    for (uint8_t i = 0; i < j->card_count; i++)
        card_forces(s, &j->cards[i]);
    shop_forces(s);
    return s;
}

State *state_at(const Job *j, int32_t until, Arena *a) {
    State *s = state_new(j, a);
    pick_entries(s, until);
    return play_all(s);
}

State *state_after(const Job *j, uint32_t entry, Arena *a) {
    State *s = state_new(j, a);
    pick_up_to(s, entry);
    return play_all(s);
}

SubjectId state_up(const State *s, SubjectId id) {
    const Subject *sub = &s->job->subjects[id];
    if (sub->kind == SUBJECT_ITEM) return s->sits_at ? s->sits_at[id] : SUBJECT_NONE;
    if (s->carrier && s->carrier[id] != SUBJECT_NONE) return s->carrier[id];
    return sub->up;
}

bool state_under(const State *s, SubjectId id, SubjectId above) {
    if (above == SUBJECT_ENGINE) return true;
    SubjectKind kind = s->job->subjects[id].kind;
    if (kind == SUBJECT_ITEM && s->job->subjects[id].up == above) return true; /* its set */
    SubjectId bank = SUBJECT_NONE;
    while (id != SUBJECT_NONE && id != SUBJECT_ENGINE && id != above) {
        if (s->carrier && s->carrier[id] != SUBJECT_NONE) bank = s->job->subjects[id].up;
        if (bank == above) return true;
        id = state_up(s, id);
    }
    return id == above;
}

SubjectId state_item_at(const State *s, ClassId item_class, SubjectId place, bool *many) {
    SubjectId found = SUBJECT_NONE;
    *many = false;
    if (!s->here || place == SUBJECT_NONE) return found;
    const Class *k = &s->job->vocab->classes[item_class];
    for (uint8_t i = 0; i < k->slot_count; i++) {
        SubjectId here = s->here[(size_t)place * HERE_MOST + s->job->slot_base[item_class] + i];
        if (here == SUBJECT_NONE) continue;
        if (found != SUBJECT_NONE) *many = true;
        found = here;
    }
    return *many ? SUBJECT_NONE : found;
}

uint32_t state_reading(const State *s, TagId tag, SubjectId id, uint32_t before) {
    const Job *j = s->job;
    for (uint32_t i = chain_last(j, tag, id); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) continue;
        if (!reading_counts(s, r)) continue;
        if (before != UINT32_MAX && reading_entry(j, r) >= before) continue;
        return i;
    }
    return NO_READING;
}

static Str words_on(const State *s, TagId tag, SubjectId id) {
    uint32_t i = state_reading(s, tag, id, UINT32_MAX);
    if (i == NO_READING || (s->job->readings[i].flags & READ_SUSPECT)) return (Str){0};
    return reading_text(s->job, &s->job->readings[i]);
}

Str state_words(const State *s, TagId tag, SubjectId id) {
    if (tag == TAG_NONE || s->job->chain->row[tag] == CHAIN_NO_ROW) return (Str){0};
    if (is_said_once(s, tag)) return words_on(s, tag, SUBJECT_ENGINE);
    if (s->job->subjects[id].kind == SUBJECT_ITEM) {
        Str own = words_on(s, tag, id);
        if (own.n) return own;
        SubjectId set = s->job->subjects[id].up;
        if (set != SUBJECT_NONE) {
            own = words_on(s, tag, set);
            if (own.n) return own;
        }
        id = state_up(s, id);
        if (id == SUBJECT_NONE) id = SUBJECT_ENGINE;
    }
    for (; id != SUBJECT_NONE; id = state_up(s, id)) {
        Str own = words_on(s, tag, id);
        if (own.n) return own;
        if (id == SUBJECT_ENGINE) break;
    }
    return words_on(s, tag, SUBJECT_ENGINE);
}

/* The class that a part's card describes: of a set, what it holds. */
static ClassId card_class(const Job *j, const CardUse *card) {
    const Class *k = &j->vocab->classes[j->vocab->tags[card->tag].of];
    return k->kind == CLASS_SET ? k->holds : j->vocab->tags[card->tag].of;
}

/* Of several items of the class at a place, takes out those of another part, when some are of this
 * one. Whether any was. */
static bool leave_one_part(State *s, const CardUse *card, ClassId item, SubjectId place) {
    SubjectId *here = &s->here[(size_t)place * HERE_MOST];
    bool other[HERE_MOST] = {false};
    uint32_t others = 0, own = 0;
    for (int i = 0; i < HERE_MOST; i++) {
        if (here[i] == SUBJECT_NONE || s->job->subjects[here[i]].cls != item) continue;
        other[i] = !str_eq(state_words(s, card->tag, here[i]), card->name);
        *(other[i] ? &others : &own) += 1;
    }
    for (int i = 0; i < HERE_MOST && own && others; i++) {
        if (!other[i]) continue;
        s->sits_at[here[i]] = SUBJECT_NONE;
        here[i] = SUBJECT_NONE;
    }
    return own && others;
}

const State *state_of_part(const State *s, const CardUse *card, Arena *a) {
    const Job *j = s->job;
    ClassId item = card_class(j, card);
    if (!s->here || j->vocab->classes[item].kind != CLASS_ITEM ||
        j->vocab->classes[item].slot_count < 2 || is_same_part(s, card->tag))
        return NULL;
    State *own = arena_alloc(a, sizeof *own);
    *own = *s;
    own->arena = a;
    own->here = subject_array(own, HERE_MOST);
    own->sits_at = subject_array(own, 1);
    memcpy(own->here, s->here, (size_t)j->subject_count * HERE_MOST * sizeof *own->here);
    memcpy(own->sits_at, s->sits_at, j->subject_count * sizeof *own->sits_at);
    bool parted = false;
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].cls == j->vocab->classes[item].up)
            parted |= leave_one_part(own, card, item, id);
    }
    return parted ? own : NULL;
}

bool state_card_applies(const State *s, const CardUse *card, SubjectId id) {
    const Job *j = s->job;
    if (is_same_part(s, card->tag)) return str_eq(state_words(s, card->tag, id), card->name);
    ClassId item = card_class(j, card);
    ClassId own = j->subjects[id].cls;
    if (j->vocab->classes[item].kind == CLASS_ITEM && own != item &&
        j->vocab->classes[own].kind != CLASS_ITEM) {
        bool many; /* a limit of the card on a place holds where such an item sits */
        SubjectId at = id;
        while (at != SUBJECT_NONE && j->subjects[at].cls != j->vocab->classes[item].up)
            at = state_up(s, at);
        SubjectId found = state_item_at(s, item, at, &many);
        if (found != SUBJECT_NONE)
            id = found;
        else if (many) {
            for (int i = 0; i < HERE_MOST; i++) {
                SubjectId here = s->here[(size_t)at * HERE_MOST + i];
                if (here != SUBJECT_NONE && j->subjects[here].cls == item &&
                    str_eq(state_words(s, card->tag, here), card->name))
                    return true;
            }
            return false;
        }
    }
    return str_eq(state_words(s, card->tag, id), card->name);
}
