/* Places that lack the part which most others of their kind have in them. */
#include "compute/check_parts.h"

typedef struct Seats { /* of one slot, at the places of one letter */
    uint32_t have, named, all;
    Str empty; /* their names */
} Seats;

static SubjectId seated(const State *s, SubjectId place, uint8_t slot) {
    return s->here ? s->here[(size_t)place * HERE_MOST + slot] : SUBJECT_NONE;
}

static Seats count_seats(Check *c, ClassId places, char letter, uint8_t slot) {
    const Job *j = c->job;
    Seats seats = {0};
    for (uint32_t i = 0; i < j->place_count[places]; i++) {
        SubjectId id = class_subject(c->e, places, i);
        if (j->subjects[id].kind != SUBJECT_PLACE || j->subjects[id].letter != letter) continue;
        seats.all++;
        SubjectId item = seated(c->e->state, id, slot);
        if (item != SUBJECT_NONE) {
            seats.have++;
            seats.named += j->subjects[item].number > 0;
            continue;
        }
        Str name = subject_name(j, id, c->arena);
        seats.empty = arena_printf(c->findings->arena, "%.*s%s%.*s", STR_ARG(seats.empty),
                                   seats.empty.n ? " " : "", STR_ARG(name));
    }
    return seats;
}

/* The last line of the log itself that put something there, or took it out; NULL. */
static const Event *last_move(const Job *j, ClassId places, uint8_t slot) {
    for (uint32_t i = j->event_count; i-- > 0;) {
        const Event *e = &j->events[i];
        bool moves = e->kind == EVENT_PLACE || e->kind == EVENT_EMPTY;
        if (moves && e->slot == slot && e->source == 0 && j->subjects[e->subject2].cls == places)
            return e;
    }
    return NULL;
}

/* At least three quarters of the places have one, and some do not: moved, and not replaced? */
static void check_slot(Check *c, ClassId item, uint8_t slot, char letter) {
    const Class *k = &c->job->vocab->classes[item];
    uint8_t here = (uint8_t)(c->job->slot_base[item] + slot);
    Seats seats = count_seats(c, k->up, letter, here);
    if (!seats.named || seats.have == seats.all || seats.have * 4 < seats.all * 3) return;
    const Event *e = last_move(c->job, k->up, here);
    if (!e) return;
    Str tag = c->job->vocab->tags[k->placement[slot]].name;
    Finding *f = doubt_at(c, GAP, e->span, "%.*s: %u of %u have one; none is at %.*s", STR_ARG(tag),
                          seats.have, seats.all, STR_ARG(seats.empty));
    f->tag = tag;
    f->subject = seats.empty;
}

void check_seats(Check *c) {
    const Vocab *v = c->job->vocab;
    for (ClassId item = 0; item < v->class_count; item++) {
        const Class *k = &v->classes[item];
        if (k->kind != CLASS_ITEM || !c->job->classes[item].count) continue;
        const char *letters = v->classes[k->up].letters;
        for (uint8_t slot = 0; slot < k->slot_count; slot++) {
            if (!letters[0]) check_slot(c, item, slot, 0);
            for (const char *l = letters; *l; l++)
                check_slot(c, item, slot, *l);
        }
    }
}
