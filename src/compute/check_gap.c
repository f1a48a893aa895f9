/* Places and fitted items without what most others of their kind have. */
#include "compute/check_parts.h"

/* Where the `-` of a missing value stands; the newest reading of its neighbours without one. */
static Span gap_span(const Check *c, TagId tag, SubjectId missing, uint32_t newest) {
    const Job *j = c->job;
    for (uint32_t i = j->dash_count; i-- > 0;) {
        if (j->dashes[i].tag == tag && j->dashes[i].subject == missing)
            return (Span){j->dashes[i].off, 1};
    }
    return (Span){j->readings[newest].off, j->readings[newest].len};
}

/* At least three quarters of the places of a kind have it, and some do not. */
static void check_gap(Check *c, TagId tag, char letter) {
    const Job *j = c->job;
    ClassId of = j->vocab->tags[tag].of;
    uint32_t have = 0, places = 0, newest = NO_READING;
    SubjectId first = SUBJECT_NONE;
    Str missing = {0};
    for (uint32_t i = 0; i < j->place_count[of]; i++) {
        SubjectId id = class_subject(c->e, of, i);
        if (j->subjects[id].kind != SUBJECT_PLACE || j->subjects[id].letter != letter) continue;
        places++;
        uint32_t r = own_reading(c->e, tag, id, UINT32_MAX);
        if (r == NO_READING) {
            if (first == SUBJECT_NONE) first = id;
            list_subject(c, &missing, id);
            continue;
        }
        have++;
        if (newest == NO_READING || r > newest) newest = r;
    }
    if (have == places || have * 4 < places * 3 || places < 3 || newest == NO_READING) return;
    const Reading *r = &j->readings[newest];
    if (r->source != 0) return;
    Finding *f =
        doubt_at(c, GAP, gap_span(c, tag, first, newest), "%.*s: %u of %u have it; missing at %.*s",
                 STR_ARG(j->vocab->tags[tag].name), have, places, STR_ARG(missing));
    f->tag = j->vocab->tags[tag].name;
    f->subject = missing;
}

typedef struct ItemGap {        /* of the items of one set that sit somewhere */
    uint32_t have, all, newest; /* newest: the last reading of those that have it */
    SubjectId first;            /* that has none */
    Str missing;
} ItemGap;

static void count_item(Check *c, TagId tag, SubjectId id, ItemGap *g) {
    const Job *j = c->job;
    uint32_t r = chain_last(j, tag, id);
    if (r != NO_READING && j->readings[r].flags & (READ_STRUCK | READ_REPLACED))
        r = own_reading(c->e, tag, id, UINT32_MAX);
    g->all++;
    if (r != NO_READING) {
        if (!g->have++ || r > g->newest) g->newest = r;
        return;
    }
    if (!g->missing.n) g->first = id;
    list_subject(c, &g->missing, id);
}

/* At least three quarters of a set's fitted items have it, and some do not: where a formula takes
 * nothing for what is not said (a retainer's step), their values would be wrong, not missing. */
static void check_item_gaps(Check *c, TagId tag) {
    const Job *j = c->job;
    ClassId of = j->vocab->tags[tag].of;
    if (!c->e->state->sits_at) return;
    ItemGap *gaps = NULL;
    for (uint32_t i = 0; i < class_count(c->e, of); i++) {
        SubjectId id = class_subject(c->e, of, i), set = j->subjects[id].up;
        if (c->e->state->sits_at[id] == SUBJECT_NONE || set == SUBJECT_NONE) continue;
        if (chain_last(j, tag, set) != NO_READING) continue; /* said of the whole set */
        if (!gaps) gaps = arena_array(c->arena, j->subject_count, sizeof *gaps);
        count_item(c, tag, id, &gaps[set]);
    }
    for (SubjectId set = 0; gaps && set < j->subject_count; set++) {
        const ItemGap *g = &gaps[set];
        if (g->have == g->all || g->have * 4 < g->all * 3 || g->all < 3) continue;
        const Reading *r = &j->readings[g->newest];
        if (r->source != 0) continue;
        Finding *f =
            doubt_at(c, GAP, gap_span(c, tag, g->first, g->newest),
                     "%.*s: %u of %u that are fitted have it; missing at %.*s",
                     STR_ARG(j->vocab->tags[tag].name), g->have, g->all, STR_ARG(g->missing));
        f->tag = j->vocab->tags[tag].name;
        f->subject = g->missing;
    }
}

/* Whether all of the tag's own class have a reading that counts. */
static bool is_whole(const Job *j, const ChainRow *row) {
    return row->own == j->classes[row->of].count && !(row->flags & (READ_STRUCK | READ_REPLACED));
}

void check_gaps(Check *c) {
    const Job *j = c->job;
    const Vocab *v = j->vocab;
    for (uint32_t i = 0; i < j->chain->row_count; i++) {
        TagId t = j->chain->tags[i];
        const Tag *tag = &v->tags[t];
        const ChainRow *row = chain_row(j, t);
        if (tag->kind != TAG_NUMBER || is_whole(j, row)) continue;
        const Class *k = &v->classes[tag->of];
        if (k->kind == CLASS_ITEM) check_item_gaps(c, t);
        if (k->kind != CLASS_PLACE || tag->of == CLASS_ENGINE || !row->own) continue;
        if (!k->letters[0]) check_gap(c, t, 0);
        for (const char *l = k->letters; *l; l++)
            check_gap(c, t, *l);
    }
}
