/* Selective fits: what is chosen, for which places, to what end, with which adjusters. */
#include "vocab/parts.h"

enum { FITS_MOST = 64, STACK_MOST = 4 }; /* FIT_STACK_MOST of stats/fit_select.h */

void fits_declare(Loader *l) {
    Vocab *v = l->v;
    uint16_t room = 0;
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (b->kind != BLOCK_FIT) continue;
        b->left_out = block_twice(l, b) || v->fit_count == FITS_MOST;
        if (v->fit_count == FITS_MOST)
            vocab_fault(l->findings, K_FULL, b->source, b->at, "more than %d fits", FITS_MOST);
        if (b->left_out) continue;
        arena_grow(v->arena, v->fits, v->fit_count, room);
        b->index = v->fit_count++;
        v->fits[b->index] = (Fit){.name = b->name,
                                  .item = CLASS_NONE,
                                  .place = CLASS_NONE,
                                  .aim = TAG_NONE,
                                  .adjust = TAG_NONE,
                                  .stock = TAG_NONE,
                                  .where = b->source,
                                  .span = line_span(b->source, b->at)};
    }
}

static Fit *fit_of(Loader *l, const Block *b) {
    return &l->v->fits[b->index];
}

void parse_choose(Loader *l, Block *b, const Prop *p) {
    ClassId item = prop_class(l, p, p->value);
    if (item == CLASS_NONE) return;
    if (l->v->classes[item].kind == CLASS_ITEM)
        fit_of(l, b)->item = item;
    else
        prop_fault(l, K_CLASS, p, "a '%.*s' is no item, so it cannot be chosen for a place",
                   STR_ARG(p->value));
}

/* A tag with one number on its subject; TAG_NONE and a finding otherwise. */
static TagId number_tag(Loader *l, const Prop *p, Str name) {
    TagId tag = prop_tag(l, p, name);
    if (tag == TAG_NONE) return TAG_NONE;
    const Tag *t = &l->v->tags[tag];
    if (t->kind == TAG_NUMBER && !t->has_curve) return tag;
    prop_fault(l, K_TAG, p, "'%.*s' is not one number a place", STR_ARG(name));
    return TAG_NONE;
}

void parse_to_aim(Loader *l, Block *b, const Prop *p) {
    fit_of(l, b)->aim = number_tag(l, p, p->value);
}

void parse_evens(Loader *l, Block *b, const Prop *p) {
    if (block_prop(b, STR("to aim"))) {
        prop_fault(l, K_TWICE, p, "'to aim' and 'evens' can't both be stated");
        return;
    }
    fit_of(l, b)->aim = number_tag(l, p, p->value);
    fit_of(l, b)->evens = true;
}

void parse_adjust(Loader *l, Block *b, const Prop *p) {
    fit_of(l, b)->adjust = number_tag(l, p, p->value);
}

void parse_from(Loader *l, Block *b, const Prop *p) {
    TagId tag = prop_tag(l, p, p->value);
    if (tag == TAG_NONE) return;
    if (l->v->tags[tag].kind == TAG_STOCK)
        fit_of(l, b)->stock = tag;
    else
        prop_fault(l, K_TAG, p, "'%.*s' is no stock", STR_ARG(p->value));
}

void parse_stack(Loader *l, Block *b, const Prop *p) {
    Range range;
    RangeFault fault;
    if (!range_parse(p->value, DIM_NUMBER, NULL, l->scratch, &range, &fault)) {
        vocab_fault(l->findings, K_VALUE, p->source, fault.at.n ? fault.at : p->value, "%.*s",
                    STR_ARG(fault.text));
        return;
    }
    double least = range.low < 0 ? 0 : range.low, most = range.high;
    bool whole = least == (uint8_t)least && most >= 0 && most <= STACK_MOST;
    if (whole && most == (uint8_t)most) {
        fit_of(l, b)->least = (uint8_t)least;
        fit_of(l, b)->most = (uint8_t)most;
    } else {
        prop_fault(l, K_VALUE, p,
                   "say how many pieces a stack may have, as 'at most 3' or '1 .. 2' (%d at most)",
                   STACK_MOST);
    }
}

void parse_step(Loader *l, Block *b, const Prop *p) {
    Fit *fit = fit_of(l, b);
    if (fit->aim == TAG_NONE) return; /* it has its own finding */
    fit->step = formula_parse(l->v, p->source, p->value, CLASS_ENGINE, true,
                              l->v->tags[fit->aim].dim, l->findings);
}

void parse_table(Loader *l, Block *b, const Prop *p) {
    Fit *fit = fit_of(l, b);
    unsigned room = list_room(l, p, LIST_MOST);
    TagId *tags = arena_array(l->v->arena, room, sizeof *tags);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        tags[count] = number_tag(l, p, entry);
        if (tags[count++] == TAG_NONE) return;
    }
    fit->table = tags;
    fit->table_count = count;
}

/* ---- after the properties ---------------------------------------------------------------------
 */

static void fit_fault(Loader *l, const Block *b, VocabKind kind, const char *text) {
    vocab_fault(l->findings, kind, b->source, b->at, "the fit '%.*s' %s", STR_ARG(b->name), text);
}

/* Where a tag is read must be the place or lie on it, or else it says nothing of one place. */
static bool at_place(const Vocab *v, TagId tag, ClassId place) {
    ClassId of = v->tags[tag].of;
    return of == place || class_under(v, of, place);
}

static void adjust_check(Loader *l, const Block *b, Fit *fit) {
    const Tag *adjust = &l->v->tags[fit->adjust];
    if (fit->stock == TAG_NONE) fit->stock = adjust->made_of;
    if (fit->stock == TAG_NONE && !adjust->stocked_count && !block_prop(b, STR("from")))
        fit_fault(l, b, K_MISSING, "needs 'from', or an adjuster that is 'made of' a stock");
    else if (fit->stock != TAG_NONE && l->v->tags[fit->stock].dim != adjust->dim)
        fit_fault(l, b, K_UNIT, "has an adjuster and a stock of different kinds");
    if (!at_place(l->v, fit->adjust, fit->place))
        fit_fault(l, b, K_CLASS, "has an adjuster that is not read at its places");
    if (!block_prop(b, STR("stack")))
        fit_fault(l, b, K_MISSING, "needs 'stack', how many pieces may lie together");
}

static void fit_check(Loader *l, const Block *b, Fit *fit) {
    block_needs(l, b, "says");
    if (fit->item == CLASS_NONE && fit->adjust == TAG_NONE) {
        if (!block_prop(b, STR("choose")) && !block_prop(b, STR("adjust")))
            fit_fault(l, b, K_MISSING, "needs 'choose' or 'adjust': there is nothing to choose");
        return;
    }
    ClassId seat = fit->item == CLASS_NONE ? CLASS_NONE : l->v->classes[fit->item].up;
    if (fit->place == CLASS_NONE) fit->place = seat;
    if (fit->place == CLASS_NONE) {
        fit_fault(l, b, K_MISSING, "needs 'for', the places that are served");
        return;
    }
    if (seat != CLASS_NONE && seat != fit->place)
        fit_fault(l, b, K_CLASS, "chooses what does not sit at its places");
    if (fit->adjust != TAG_NONE) adjust_check(l, b, fit);
    if (fit->aim != TAG_NONE && !at_place(l->v, fit->aim, fit->place))
        fit_fault(l, b, K_CLASS, "has an aim that is not computed at its places");
}

void fits_check(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++) {
        const Block *b = &l->blocks[i];
        if (b->kind == BLOCK_FIT && !b->left_out) fit_check(l, b, fit_of(l, b));
    }
}
