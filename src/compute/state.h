/*
 * A job played forward to a day: what sits where, which limits and aims are in force, and which
 * reading of each thing counts. The readings themselves stay in the job's chains.
 */
#ifndef THOU_COMPUTE_STATE_H
#define THOU_COMPUTE_STATE_H

#include "compute/chain.h"

typedef struct Force {  /* a limit, aim or acceptance in force */
    const Event *event; /* of the job or of a card; NULL for one of the shop's */
    const VocabLimit *shop;
    const Job *owner;    /* whose file it stands in */
    const CardUse *card; /* it holds where this card's part is in use; else NULL */
    bool everywhere;     /* which is so wherever it is asked */
    EventKind kind;      /* EVENT_LIMIT, EVENT_AIM, EVENT_ACCEPT */
    TagId tag;
    SubjectId subject; /* and all that is on it */
    char letter;       /* the shop's: only places of this letter; 0 for all */
    bool has_at;
    double at;
    Range range;
    Str by, text;
} Force;

typedef struct State {
    const Job *job;
    Arena *arena;
    const bool *in;      /* per entry: counts; NULL when all do */
    uint32_t last_entry; /* the last that counts */
    SubjectId
        *here; /* [subject * HERE_MOST + slot]: what sits at a place; NULL when nothing ever sat */
    SubjectId *sits_at; /* per item: its place */
    uint32_t *changed;  /* as `here`: the entry in which that came to sit there */
    uint32_t *since;    /* per item: entry in which it came to sit there */
    const Event *
        *scrapped;      /* per item: NULL while it is not; NULL array when nothing was scrapped */
    SubjectId *carried; /* per place: the place on a head that sits there; NULL without heads */
    SubjectId *carrier; /* per place: the head on it; per head: the bank it is on */
    uint8_t slots;      /* a bit per slot of `here` in which anything ever sat */
    uint32_t *index;    /* per subject: its position in its class's list */
    Force *forces;
    uint32_t force_count, force_room;
    const Force *lifted; /* the job's `= none`: what the shop says of the same gives way to it */
    uint32_t lifted_count;
} State;

/* `until`: the last day that counts; DAY_NONE - use INT32_MAX for all. */
State *state_at(const Job *j, int32_t until, Arena *a);
/* As it was left by an entry (with what was later found wrong in it, or before it, put right). */
State *state_after(const Job *j, uint32_t entry, Arena *a);
static inline bool entry_counts(const State *s, uint32_t entry) {
    return !s->in || s->in[entry];
}
/* A reading counts with the entry whose state it belongs to: what corrects it later, too. */
static inline bool reading_counts(const State *s, const Reading *r) {
    return !s->in || s->in[reading_entry(s->job, r)];
}
/* What a subject is on, as the state has it: a cylinder's head, a head's bank, an item's place. */
SubjectId state_up(const State *s, SubjectId id);
/* Whether `id` is `above` or lies on it. */
bool state_under(const State *s, SubjectId id, SubjectId above);
/* The one item of a class at a place; SUBJECT_NONE with *many set when there are several. */
SubjectId state_item_at(const State *s, ClassId item_class, SubjectId place, bool *many);
/* The reading that counts for a tag on a subject itself: the last that is neither struck, replaced
 * nor of an entry left out. It may be suspect: then the value is missing. NO_READING when there is
 * none. `before`: only readings of entries before this one (UINT32_MAX for all). */
uint32_t state_reading(const State *s, TagId tag, SubjectId id, uint32_t before);
/* The same of the last entry that counts, where nothing stands in its way: the usual case. */
static inline uint32_t state_last(const State *s, TagId tag, SubjectId id) {
    uint32_t i = chain_last(s->job, tag, id);
    if (i == NO_READING) return i;
    bool gone = s->job->readings[i].flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED);
    return s->in || gone ? state_reading(s, tag, id, UINT32_MAX) : i;
}
/* The words in force for a tag at a subject, looked up as values are; empty when there are none. */
Str state_words(const State *s, TagId tag, SubjectId id);
/* Whether a card applies to a subject. */
/* The same, where of items of several parts that share a place only those of the card's part are
 * left; NULL when no place has such. */
const State *state_of_part(const State *s, const CardUse *card, Arena *a);
bool state_card_applies(const State *s, const CardUse *card, SubjectId id);

#endif
