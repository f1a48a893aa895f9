/*
 * Which tags can have a value at all, by the names the log uses: most of the vocabulary says
 * nothing about most logs, and need not be worked out place by place to be found missing.
 */
#include "compute/eval_parts.h"

/* ---- what it follows from, as one list ------------------------------------------------------- */

enum { GROUND_READ, GROUND_SPOT, GROUND_ON_CARD, GROUND_AIMED };

static void add_ground(Grounds *s, unsigned how, TagId tag) {
    if (s->count < GROUNDS_MOST) s->what[s->count] = (uint32_t)how << 16 | tag;
    s->count++;
}

static void add_tags(Grounds *s, const Chain *read, bool card) {
    for (uint32_t i = 0; i < read->row_count; i++) {
        TagId tag = read->tags[i];
        bool spots = read->rows[read->row[tag]].flags & READ_SPOT;
        add_ground(s, card ? GROUND_ON_CARD : spots ? GROUND_SPOT : GROUND_READ, tag);
    }
}

/* All that missing_of asks of a log and its cards, beside the vocabulary. The order in which tags
 * are asked for makes no difference: formulas stand in no ring, or no log is read by them. */
static void find_grounds(const Eval *e, Grounds *s) {
    s->count = 0;
    add_tags(s, e->job->chain, false);
    for (uint8_t i = 0; i < e->job->card_count; i++)
        if (e->job->cards[i].card) add_tags(s, e->job->cards[i].card->chain, true);
    for (uint32_t i = 0; i < e->state->force_count; i++) {
        const Force *f = &e->state->forces[i];
        if (f->kind == EVENT_AIM) add_ground(s, GROUND_AIMED, f->tag);
    }
}

static bool same_grounds(const Grounds *a, const Grounds *b) {
    return a->count == b->count && memcmp(a->what, b->what, a->count * sizeof *a->what) == 0;
}

/* Takes up what was found for the log before, or begins there anew; false when it has no room. */
static bool take_up(Eval *e, PossibleSeen *seen, bool *known) {
    Grounds grounds;
    find_grounds(e, &grounds);
    if (e->v->tag_count > TAGS_SEEN || grounds.count > GROUNDS_MOST) return false;
    *known = seen->by == e->v && same_grounds(&grounds, &seen->grounds);
    if (!*known) *seen = (PossibleSeen){.by = e->v, .grounds = grounds};
    e->possible = seen->possible;
    e->blame = seen->blame;
    return true;
}

/* ---- tags and formulas ----------------------------------------------------------------------- */

static void are_possible(Eval *e, const Chain *read) {
    for (uint32_t i = 0; i < read->row_count; i++)
        e->possible[read->tags[i]] = POSSIBLE;
}

void possible_start(Eval *e, PossibleSeen *seen) {
    bool known = false;
    if (!seen || !take_up(e, seen, &known)) {
        e->possible = arena_array(e->arena, e->v->tag_count, sizeof *e->possible);
        e->blame = arena_array(e->arena, e->v->tag_count, sizeof *e->blame);
    }
    if (known) return;
    are_possible(e, e->job->chain);
    for (uint8_t i = 0; i < e->job->card_count; i++)
        if (e->job->cards[i].card) are_possible(e, e->job->cards[i].card->chain);
}

static bool aimed(const Eval *e, TagId tag) {
    for (uint32_t i = 0; i < e->state->force_count; i++) {
        if (e->state->forces[i].kind == EVENT_AIM && e->state->forces[i].tag == tag) return true;
    }
    return false;
}

/* A bore that was read once a cylinder has no taper. */
static bool spots_read(const Eval *e, TagId tag) {
    const Chain *chain = e->job->chain;
    return chain->row[tag] != CHAIN_NO_ROW && chain_row(e->job, tag)->flags & READ_SPOT;
}

static TagId missing_of(Eval *e, const Formula *f);

static TagId missing_tag(Eval *e, TagId tag) {
    return tag_possible(e, tag) ? TAG_NONE : tag;
}

/* A tag without which the formula cannot have a value; TAG_NONE when there is none. */
static TagId missing_of(Eval *e, const Formula *f) {
    const uint16_t *row = e->job->chain->row;
    TagId a;
    switch (f->kind) {
    case F_NUMBER: return TAG_NONE;
    case F_TAG: return missing_tag(e, f->tag);
    case F_FIRST:
    case F_PREVIOUS:
    case F_READ:
    case F_FITTED: return row[f->tag] == CHAIN_NO_ROW ? f->tag : TAG_NONE;
    case F_SPOT: return spots_read(e, f->tag) ? TAG_NONE : f->tag;
    case F_LOST:
        if (row[f->tag2] == CHAIN_NO_ROW) return f->tag2;
        return row[f->tag] == CHAIN_NO_ROW ? f->tag : TAG_NONE;
    case F_WHEN:
        if (row[f->tag2] == CHAIN_NO_ROW) return f->tag2;
        return missing_tag(e, f->tag);
    case F_AIM: return aimed(e, f->tag) ? TAG_NONE : f->tag;
    case F_ELSE: a = missing_of(e, f->a); return a == TAG_NONE ? a : missing_of(e, f->b);
    case F_AGGREGATE:
        if (f->aggregate == AGG_COUNT) return TAG_NONE;
        return missing_of(e, f->a);
    default: a = missing_of(e, f->a); return a == TAG_NONE && f->b ? missing_of(e, f->b) : a;
    }
}

void possible_find(Eval *e, TagId tag) {
    const Formula *is = e->v->tags[tag].is;
    e->possible[tag] = POSSIBLE_ASKED; /* a ring through data has no value of its own */
    e->blame[tag] = is ? missing_of(e, is) : tag;
    e->possible[tag] = e->blame[tag] == TAG_NONE ? POSSIBLE : POSSIBLE_NOT;
}

bool formula_possible(Eval *e, const Formula *f) {
    return missing_of(e, f) == TAG_NONE;
}
