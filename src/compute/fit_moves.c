/*
 * What a choice can change, read off the formulas: so that only that is worked out again for each,
 * and so that a limit on something that hangs on all places together is not judged place by place.
 */
#include "compute/fit_parts.h"

enum { UNKNOWN, ASKED, DONE };

bool class_local(const Vocab *v, const Fit *fit, ClassId c) {
    return c == fit->place || c == fit->item || class_under(v, c, fit->place);
}

static bool is_item(const Moves *m, ClassId c) {
    return m->fit->item != CLASS_NONE &&
           (c == m->fit->item || c == m->s->job->vocab->classes[m->fit->item].set);
}

static void visit_tag(Moves *m, TagId tag);

/* A name that leads from a place to what sits there, or from the item to where it sits. */
static bool crosses(const Moves *m, const Formula *f, TagId tag) {
    if (tag == TAG_NONE) return false;
    ClassId of = m->s->job->vocab->tags[tag].of;
    return is_item(m, f->context) != is_item(m, of) && of != CLASS_ENGINE;
}

typedef struct Seen {
    bool moves, wide;
} Seen;

static Seen look(Moves *m, const Formula *f) {
    Seen seen = {false, false};
    if (!f) return seen;
    Seen a = look(m, f->a), b = look(m, f->b);
    seen = (Seen){a.moves || b.moves, a.wide || b.wide};
    switch (f->kind) {
    case F_TAG:
    case F_SPOT:
        visit_tag(m, f->tag);
        seen.moves = m->moves[f->tag];
        seen.wide = m->wide[f->tag];
        break;
    case F_LOST:
    case F_WHEN: seen.moves = crosses(m, f, f->tag2); break;
    case F_AGGREGATE: seen.moves |= is_item(m, f->over); break;
    default: break;
    }
    if (f->kind >= F_TAG && f->kind <= F_SPOT) seen.moves |= crosses(m, f, f->tag);
    return seen;
}

/* A thing's value may be said for the place where it sits. */
static bool said_at_places(const Moves *m, TagId tag) {
    const Chain *chain = m->s->job->chain;
    const Tag *t = &m->s->job->vocab->tags[tag];
    if (chain->row[tag] == CHAIN_NO_ROW) return false;
    uint32_t elsewhere = chain_row(m->s->job, tag)->classes & ~((uint32_t)1 << CLASS_ENGINE);
    for (ClassId c = 0; c < m->s->job->vocab->class_count; c++)
        if (is_item(m, c)) elsewhere &= ~((uint32_t)1 << c);
    return is_item(m, t->of) && elsewhere;
}

static bool set_aside_by_choice(const Moves *m, const Tag *t) {
    const Vocab *v = m->s->job->vocab;
    for (uint8_t i = 0; i < t->set_aside_count; i++) {
        TagId by = t->set_aside_by[i];
        if (by == m->fit->adjust) return true;
        const Class *k = m->fit->item == CLASS_NONE ? NULL : &v->classes[m->fit->item];
        for (uint8_t n = 0; k && n < k->slot_count; n++)
            if (k->placement[n] == by) return true;
    }
    return false;
}

static void visit_tag(Moves *m, TagId tag) {
    if (m->known[tag] != UNKNOWN) return;
    m->known[tag] = ASKED; /* a ring through data: what comes round adds nothing */
    const Vocab *v = m->s->job->vocab;
    const Tag *t = &v->tags[tag];
    Seen seen = look(m, t->is);
    m->moves[tag] =
        seen.moves || tag == m->fit->adjust || said_at_places(m, tag) || set_aside_by_choice(m, t);
    m->wide[tag] = seen.wide || (m->moves[tag] && !class_local(v, m->fit, t->of));
    m->known[tag] = DONE;
}

void moves_find(Moves *m, const State *s, const Fit *fit, Arena *a) {
    uint16_t tags = s->job->vocab->tag_count;
    *m = (Moves){.s = s, .fit = fit, .arena = a};
    m->moves = arena_array(a, tags, sizeof *m->moves);
    m->wide = arena_array(a, tags, sizeof *m->wide);
    m->known = arena_array(a, tags, 1);
    for (TagId t = 0; t < tags; t++)
        visit_tag(m, t);
}

const bool *moves_of_adjuster(const State *s, const Fit *fit, Arena *a) {
    Fit *alone = arena_alloc(a, sizeof *alone);
    Moves m;
    *alone = *fit;
    alone->item = CLASS_NONE;
    moves_find(&m, s, alone, a);
    return m.moves;
}
