/* Places that lack the part which most others of their kind have in them. */
#include "compute/check_parts.h"

typedef struct Seats { /* of one slot, at the places of one letter */
    uint32_t have, named, all;
} Seats;

typedef struct Slot {
    ClassId places;
    char letter;
    uint8_t here; /* its number at a place */
} Slot;

/* What sits in the slot at place i; SUBJECT_ENGINE, where nothing can sit, for another place. */
static SubjectId seated(const Check *c, const Slot *slot, uint32_t i) {
    SubjectId id = class_subject(c->e, slot->places, i);
    const Subject *s = &c->job->subjects[id];
    if (s->kind != SUBJECT_PLACE || s->letter != slot->letter) return SUBJECT_ENGINE;
    return c->e->state->here[(size_t)id * HERE_MOST + slot->here];
}

static Seats count_seats(const Check *c, const Slot *slot) {
    Seats seats = {0};
    for (uint32_t i = 0; i < c->job->place_count[slot->places]; i++) {
        SubjectId item = seated(c, slot, i);
        if (item == SUBJECT_ENGINE) continue;
        seats.all++;
        if (item == SUBJECT_NONE) continue;
        seats.have++;
        seats.named += c->job->subjects[item].number > 0;
    }
    return seats;
}

static Str empty_seats(const Check *c, const Slot *slot) {
    Str list = {0};
    for (uint32_t i = 0; i < c->job->place_count[slot->places]; i++) {
        if (seated(c, slot, i) != SUBJECT_NONE) continue;
        list_subject(c, &list, class_subject(c->e, slot->places, i));
    }
    return list;
}

/* The last line of the log itself that put something there, or took it out; NULL. */
static const Event *last_move(const Job *j, const Slot *slot) {
    for (uint32_t i = j->event_count; i-- > 0;) {
        const Event *e = &j->events[i];
        bool moves = e->kind == EVENT_PLACE || e->kind == EVENT_EMPTY;
        if (moves && e->slot == slot->here && e->source == 0 &&
            j->subjects[e->subject2].cls == slot->places)
            return e;
    }
    return NULL;
}

/* At least three quarters of the places have one, and some do not: moved, and not replaced? */
static void check_slot(Check *c, Str tag, const Slot *slot) {
    Seats seats = count_seats(c, slot);
    if (!seats.named || seats.have == seats.all || seats.have * 4 < seats.all * 3) return;
    const Event *e = last_move(c->job, slot);
    if (!e) return;
    Str empty = empty_seats(c, slot);
    Finding *f = doubt_at(c, GAP, e->span, "%.*s: %u of %u have one; none is at %.*s", STR_ARG(tag),
                          seats.have, seats.all, STR_ARG(empty));
    f->tag = tag;
    f->subject = empty;
}

void check_seats(Check *c) {
    const Vocab *v = c->job->vocab;
    if (!c->e->state->here) return;
    for (ClassId item = 0; item < v->class_count; item++) {
        const Class *k = &v->classes[item];
        if (k->kind != CLASS_ITEM || !c->job->classes[item].count) continue;
        const char *letters = v->classes[k->up].letters;
        for (uint8_t i = 0; i < k->slot_count; i++) {
            Str tag = v->tags[k->placement[i]].name;
            Slot slot = {.places = k->up, .here = (uint8_t)(c->job->slot_base[item] + i)};
            if (!(c->e->state->slots >> slot.here & 1)) continue;
            const char *l = letters; /* none: the places have no letter, and are asked for once */
            do {
                slot.letter = *l;
                check_slot(c, tag, &slot);
            } while (*l && *++l);
        }
    }
}
