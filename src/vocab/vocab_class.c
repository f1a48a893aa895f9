/* Places, banks, heads, items and their sets. */
#include "vocab/parts.h"

static Class *class_of(Loader *l, const Block *b) {
    return &l->v->classes[b->index];
}

/* Makes room for a class; NULL and a finding when the name can't be had. */
static Class *class_add(Loader *l, const Block *b, Str name, ClassKind kind) {
    Vocab *v = l->v;
    Str at;
    const char *why = name_fault(v, name, &at);
    if (why) {
        vocab_fault(l->findings, K_NAME, b->source, b->at, "the name '%.*s' %s", STR_ARG(name),
                    why);
        return NULL;
    }
    if (vocab_class(v, name) != CLASS_NONE) {
        vocab_fault(l->findings, K_TWICE, b->source, b->at, "a class '%.*s' is there already",
                    STR_ARG(name));
        return NULL;
    }
    if (v->class_count == CLASS_MOST) {
        vocab_fault(l->findings, K_FULL, b->source, b->at,
                    "more than %d classes (each item class counts twice, for its sets)",
                    CLASS_MOST);
        return NULL;
    }
    Class *c = &v->classes[v->class_count++];
    *c = (Class){.name = name,
                 .plural = arena_printf(v->arena, "%.*ss", STR_ARG(name)),
                 .kind = kind,
                 .up = CLASS_ENGINE,
                 .holds = CLASS_NONE,
                 .set = CLASS_NONE,
                 .count = TAG_NONE,
                 .set_tag = TAG_NONE,
                 .part_tag = TAG_NONE,
                 .span = line_span(b->source, b->at)};
    for (unsigned i = 0; i < SLOT_MOST; i++)
        c->placement[i] = TAG_NONE;
    return c;
}

static void item_add(Loader *l, Block *b) {
    Vocab *v = l->v;
    Class *item = class_add(l, b, b->name, CLASS_ITEM);
    if (!item) {
        b->left_out = true;
        return;
    }
    b->index = (uint32_t)(item - v->classes);
    item->slots[0] = (Str){0};
    item->slot_count = 1;
    Str name = arena_printf(v->arena, "%.*s set", STR_ARG(b->name));
    Class *set = class_add(l, b, name, CLASS_SET);
    if (!set) return;
    set->holds = (ClassId)b->index;
    item->set = (ClassId)(set - v->classes);
}

void classes_declare(Loader *l) {
    Class *engine = &l->v->classes[CLASS_ENGINE];
    *engine = (Class){.name = STR("engine"),
                      .plural = STR("engines"),
                      .kind = CLASS_PLACE,
                      .up = CLASS_NONE,
                      .holds = CLASS_NONE,
                      .set = CLASS_NONE,
                      .count = TAG_NONE,
                      .fixed = 1,
                      .set_tag = TAG_NONE,
                      .part_tag = TAG_NONE};
    l->v->class_count = 1;
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (b->kind == BLOCK_ITEM) {
            item_add(l, b);
        } else if (b->kind == BLOCK_PLACE) {
            ClassKind kind = block_prop(b, STR("names"))     ? CLASS_BANK
                             : block_prop(b, STR("carries")) ? CLASS_CARRIER
                                                             : CLASS_PLACE;
            Class *c = class_add(l, b, b->name, kind);
            b->left_out = !c;
            b->index = c ? (uint32_t)(c - l->v->classes) : 0;
        }
    }
}

/* ---- properties -------------------------------------------------------------------------------
 */

void parse_plural(Loader *l, Block *b, const Prop *p) {
    ClassId there = vocab_class(l->v, p->value);
    if (there != CLASS_NONE && there != b->index)
        prop_fault(l, K_TWICE, p, "a class '%.*s' is there already", STR_ARG(p->value));
    else
        class_of(l, b)->plural = name_tidy(l->v->arena, p->value);
}

static bool letter_taken(Loader *l, const Block *b, char letter) {
    for (unsigned i = 0; i < l->v->class_count; i++)
        if (i != b->index && strchr(l->v->classes[i].letters, letter)) return true;
    return false;
}

void parse_letters(Loader *l, Block *b, const Prop *p) {
    char letters[LETTER_MOST + 1] = "";
    unsigned count = 0;
    Str rest = p->value;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        char c = word.p[0];
        if (word.n != 1 || c < 'A' || c > 'Z' || count == LETTER_MOST || strchr(letters, c)) {
            vocab_fault(l->findings, K_VALUE, p->source, word,
                        "letters are up to %d capitals with blanks between them, as 'I E'",
                        LETTER_MOST);
            return;
        }
        if (letter_taken(l, b, c)) {
            vocab_fault(l->findings, K_TWICE, p->source, word,
                        "the letter %c is another class's already", c);
            return;
        }
        letters[count++] = c;
    }
    memcpy(class_of(l, b)->letters, letters, sizeof letters);
}

void parse_suffix(Loader *l, Block *b, const Prop *p) {
    if (str_ieq(p->value, STR("yes")))
        class_of(l, b)->suffixed = true;
    else
        prop_fault(l, K_VALUE, p, "'suffix' can only be yes; leave it out otherwise");
}

void parse_slots(Loader *l, Block *b, const Prop *p) {
    Class *c = class_of(l, b);
    Str rest = p->value;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        if (c->slot_count == SLOT_MOST) {
            vocab_fault(l->findings, K_FULL, p->source, word,
                        "an item has the plain slot and up to %d named ones", SLOT_MOST - 1);
            return;
        }
        c->slots[c->slot_count++] = word;
    }
}

void parse_on(Loader *l, Block *b, const Prop *p) {
    ClassId up = prop_class(l, p, p->value);
    if (up == CLASS_NONE) return;
    if (l->v->classes[up].kind != CLASS_PLACE || up == b->index)
        prop_fault(l, K_CLASS, p, "'%.*s' is no class of numbered places it could be on",
                   STR_ARG(p->value));
    else
        class_of(l, b)->up = up;
}

void parse_holds_class(Loader *l, Block *b, const Prop *p) {
    ClassId holds = prop_class(l, p, p->value);
    if (holds == CLASS_NONE) return;
    if (holds == CLASS_ENGINE || l->v->classes[holds].kind != CLASS_PLACE)
        prop_fault(l, K_CLASS, p, "'%.*s' is no class of numbered places", STR_ARG(p->value));
    else
        class_of(l, b)->holds = holds;
}

/* The engine-level number that counts places. */
static TagId count_tag(Loader *l, const Prop *p) {
    TagId tag = prop_tag(l, p, p->value);
    if (tag == TAG_NONE) return TAG_NONE;
    const Tag *t = &l->v->tags[tag];
    if (t->kind == TAG_NUMBER && t->dim == DIM_NUMBER && t->of == CLASS_ENGINE && !t->has_curve)
        return tag;
    prop_fault(l, K_TAG, p, "'%.*s' is no plain number of the engine, so it can't count places",
               STR_ARG(p->value));
    return TAG_NONE;
}

void parse_count(Loader *l, Block *b, const Prop *p) {
    Class *c = class_of(l, b);
    if (c->up != CLASS_ENGINE)
        prop_fault(l, K_VALUE, p, "'count' is for places on the engine; on a %.*s say 'each'",
                   STR_ARG(l->v->classes[c->up].name));
    else
        c->count = count_tag(l, p);
}

void parse_each(Loader *l, Block *b, const Prop *p) {
    unsigned fixed;
    Class *c = class_of(l, b);
    if (c->count != TAG_NONE)
        prop_fault(l, K_TWICE, p, "'count' and 'each' can't both be stated");
    else if (!whole_number(p->value, UINT8_MAX, &fixed))
        c->count = count_tag(l, p);
    else if (fixed == 0)
        prop_fault(l, K_VALUE, p, "there can't be none of them on each place");
    else
        c->fixed = (uint8_t)fixed;
}

/* ---- after the properties ---------------------------------------------------------------------
 */

static void class_missing(Loader *l, const Block *b, const char *what) {
    vocab_fault(l->findings, K_MISSING, b->source, b->at, "the %s '%.*s' needs '%s'",
                block_word(b->kind), STR_ARG(b->name), what);
}

/* Places stand on places up to the engine; a ring of them would have no end. */
static void up_check(Loader *l, const Block *b) {
    ClassId up = class_of(l, b)->up;
    for (unsigned steps = 0; up != CLASS_ENGINE && steps < CLASS_MOST; steps++)
        up = l->v->classes[up].up;
    if (up == CLASS_ENGINE) return;
    vocab_fault(l->findings, K_CLASS, b->source, b->at,
                "'%.*s' stands on itself through 'on'; one of them must be on the engine",
                STR_ARG(b->name));
    class_of(l, b)->up = CLASS_ENGINE;
}

static void class_check(Loader *l, const Block *b) {
    const Class *c = class_of(l, b);
    up_check(l, b);
    if (c->kind == CLASS_ITEM && !block_prop(b, STR("sits at"))) class_missing(l, b, "sits at");
    if (c->kind == CLASS_PLACE && !block_prop(b, STR("count")) && !block_prop(b, STR("each")))
        class_missing(l, b, c->up == CLASS_ENGINE ? "count' or 'each" : "each");
    if (c->suffixed && c->letters[0])
        vocab_fault(l->findings, K_VALUE, b->source, b->at,
                    "'%.*s' can't have letters and be a suffix", STR_ARG(b->name));
}

void classes_check(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++)
        if ((l->blocks[i].kind & (BLOCK_PLACE | BLOCK_ITEM)) && !l->blocks[i].left_out)
            class_check(l, &l->blocks[i]);
}

/* ---- the tags that classes bring --------------------------------------------------------------
 */

unsigned classes_tags(const Loader *l) {
    unsigned count = 0;
    for (unsigned i = 0; i < l->v->class_count; i++) {
        const Class *c = &l->v->classes[i];
        if (c->kind == CLASS_ITEM)
            count += c->slot_count + 2u;
        else if (c->kind == CLASS_BANK || c->kind == CLASS_CARRIER)
            count++;
    }
    return count;
}

static TagId made_tag(Loader *l, const Block *b, Str name, TagKind kind, ClassId of) {
    Tag *tag = tag_add(l, name, b->source, b->at, kind, of);
    if (!tag) return TAG_NONE;
    tag->from_shop = b->shop;
    return (TagId)(tag - l->v->tags);
}

static void item_tags(Loader *l, const Block *b) {
    Class *c = class_of(l, b);
    Arena *a = l->v->arena;
    for (unsigned i = 0; i < c->slot_count; i++) {
        Str slot = c->slots[i];
        Str name = slot.n ? arena_printf(a, "%.*s %.*s", STR_ARG(slot), STR_ARG(c->name)) : c->name;
        c->placement[i] = made_tag(l, b, name, TAG_PLACEMENT, c->up);
    }
    c->set_tag =
        made_tag(l, b, arena_printf(a, "%.*s set", STR_ARG(c->name)), TAG_SET, CLASS_ENGINE);
    c->part_tag =
        made_tag(l, b, arena_printf(a, "%.*s part", STR_ARG(c->name)), TAG_PART, (ClassId)b->index);
}

void classes_declare_tags(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++) {
        const Block *b = &l->blocks[i];
        if (b->left_out || !(b->kind & (BLOCK_PLACE | BLOCK_ITEM))) continue;
        const Class *c = class_of(l, b);
        if (c->kind == CLASS_ITEM)
            item_tags(l, b);
        else if (c->kind == CLASS_BANK)
            made_tag(l, b, c->name, TAG_BANK, (ClassId)b->index);
        else if (c->kind == CLASS_CARRIER)
            made_tag(l, b, c->name, TAG_CARRIER, (ClassId)b->index);
    }
}
