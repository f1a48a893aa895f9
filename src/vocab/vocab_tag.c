/* Tags: declared, named, and the properties that facts and quantities share. */
#include "vocab/parts.h"

#include "base/number.h"

static Tag *tag_of(Loader *l, const Block *b) {
    return &l->v->tags[b->index];
}

static void name_refused(Loader *l, Str name, const Source *source, Str at, const char *why) {
    vocab_fault(l->findings, K_NAME, source, at, "the name '%.*s' %s", STR_ARG(name), why);
}

/* Gives the tag one of its names; false and a finding when it can't be had. */
static bool name_give(Loader *l, TagId tag, Str name, const Source *source, Str at) {
    Str bad;
    const char *why = name_fault(l->v, name, &bad);
    if (why) {
        name_refused(l, name, source, at, why);
        return false;
    }
    if (names_add(l->v->names, name, tag) == TAG_NONE) return true;
    vocab_fault(l->findings, K_TWICE, source, at, "the name '%.*s' is there already",
                STR_ARG(name));
    return false;
}

Tag *tag_add(Loader *l, Str name, const Source *source, Str at, TagKind kind, ClassId of) {
    Vocab *v = l->v;
    if (v->tag_count == TAG_MOST) {
        vocab_fault(l->findings, K_FULL, source, at, "more than %d tags", TAG_MOST);
        return NULL;
    }
    if (!name_give(l, v->tag_count, name, source, at)) return NULL;
    Tag *tag = &v->tags[v->tag_count++];
    *tag = (Tag){.name = name,
                 .kind = kind,
                 .of = of,
                 .places = 3,
                 .lowered_by = TAG_NONE,
                 .compared_at = TAG_NONE,
                 .made_of = TAG_NONE,
                 .orders = CLASS_NONE,
                 .span = line_span(source, at),
                 .where = source};
    return tag;
}

void tags_declare(Loader *l) {
    unsigned count = classes_tags(l);
    for (uint32_t i = 0; i < l->count; i++)
        count += (l->blocks[i].kind & (BLOCK_QUANTITY | BLOCK_FACT)) != 0;
    if (count > TAG_MOST) count = TAG_MOST;
    l->v->tags = arena_array(l->v->arena, count + 1u, sizeof *l->v->tags);
    classes_declare_tags(l);
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (!(b->kind & (BLOCK_QUANTITY | BLOCK_FACT))) continue;
        TagKind kind = b->kind == BLOCK_QUANTITY ? TAG_NUMBER : TAG_WORDS;
        Tag *tag = tag_add(l, b->name, b->source, b->at, kind, CLASS_ENGINE);
        b->left_out = !tag;
        if (!tag) continue;
        tag->from_shop = b->shop;
        b->index = (uint32_t)(tag - l->v->tags);
    }
}

void parse_also(Loader *l, Block *b, const Prop *p) {
    unsigned room = list_room(l, p, LIST_MOST);
    Str *also = arena_array(l->v->arena, room, sizeof *also);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        Str name = name_tidy(l->v->arena, entry);
        if (name_give(l, (TagId)b->index, name, p->source, entry.n ? entry : p->value))
            also[count++] = name;
    }
    tag_of(l, b)->also = also;
    tag_of(l, b)->also_count = count;
}

void parse_of(Loader *l, Block *b, const Prop *p) {
    ClassId of = prop_class(l, p, p->value);
    if (of != CLASS_NONE) tag_of(l, b)->of = of;
}

void parse_kind(Loader *l, Block *b, const Prop *p) {
    static const struct {
        const char *word;
        TagKind kind;
    } kinds[] = {{"words", TAG_WORDS}, {"choice", TAG_CHOICE}, {"date", TAG_DATE},
                 {"stock", TAG_STOCK}, {"part", TAG_PART},     {"scrap", TAG_SCRAP},
                 {"gauge", TAG_GAUGE}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (str_ieq(p->value, str_from(kinds[i].word))) {
            tag_of(l, b)->kind = kinds[i].kind;
            return;
        }
    prop_fault(l, K_VALUE, p, "a fact is of kind words, choice, date, stock, part, scrap or gauge");
}

/* `V 2`: the last word is the number. */
static bool choice_read(Str entry, Choice *out) {
    size_t cut = entry.n;
    while (cut > 0 && !is_blank(entry.p[cut - 1]))
        cut--;
    Str name = str_trim((Str){entry.p, cut});
    Number number;
    Str digits = str_skip(entry, cut);
    if (!name.n || number_read(digits, &number) != NUMBER_OK || number.len != digits.n)
        return false;
    *out = (Choice){name, number.value};
    return true;
}

static bool choice_there(const Choice *choices, uint8_t count, Str name) {
    for (unsigned i = 0; i < count; i++)
        if (str_ieq(choices[i].name, name)) return true;
    return false;
}

void parse_choices(Loader *l, Block *b, const Prop *p) {
    unsigned room = list_room(l, p, LIST_MOST);
    Choice *choices = arena_array(l->v->arena, room, sizeof *choices), choice;
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        if (!choice_read(entry, &choice)) {
            prop_fault(l, K_VALUE, p, "a choice is a name and its number, as 'inline 1, V 2'");
            return;
        }
        if (choice_there(choices, count, choice.name)) {
            prop_fault(l, K_TWICE, p, "'%.*s' is a choice twice", STR_ARG(choice.name));
            return;
        }
        choices[count++] = choice;
    }
    tag_of(l, b)->choices = choices;
    tag_of(l, b)->choice_count = count;
}

/* A shop that makes a choice of a fact in words need not take away what is said of its words. */
static bool in_words(Loader *l, const Block *b, const Prop *p) {
    if (tag_of(l, b)->kind == TAG_WORDS) return true;
    const Source *shop = l->v->sources[1];
    if (block_prop(b, STR("kind"))->source != shop || p->source == shop)
        prop_fault(l, K_VALUE, p, "'%.*s' means nothing unless it is of kind words",
                   STR_ARG(p->row->name));
    return false;
}

void parse_usual(Loader *l, Block *b, const Prop *p) {
    if (!in_words(l, b, p)) return;
    unsigned room = list_room(l, p, LIST_MOST);
    Str *usual = arena_array(l->v->arena, room, sizeof *usual);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry))
        usual[count++] = entry;
    tag_of(l, b)->usual = usual;
    tag_of(l, b)->usual_count = count;
}

void parse_orders(Loader *l, Block *b, const Prop *p) {
    if (!in_words(l, b, p)) return;
    ClassId orders = prop_class(l, p, p->value);
    if (orders == CLASS_NONE) return;
    const Class *class = &l->v->classes[orders];
    if (orders == CLASS_ENGINE || class->kind != CLASS_PLACE || class->up != CLASS_ENGINE)
        prop_fault(l, K_CLASS, p, "only places that the engine numbers through have an order");
    else
        tag_of(l, b)->orders = orders;
}

void parse_holds(Loader *l, Block *b, const Prop *p) {
    if (str_ieq(p->value, STR("entry")))
        tag_of(l, b)->holds_entry = true;
    else
        prop_fault(l, K_VALUE, p, "'holds' can only be entry; leave it out otherwise");
}

void parse_group(Loader *l, Block *b, const Prop *p) {
    tag_of(l, b)->group = p->value;
}

/* `upright, vee, opposed`: one for each choice. */
static void parse_arranged(Loader *l, Tag *tag, const Prop *p) {
    static const char *const words[] = {
        [ARRANGED_UPRIGHT] = "upright", [ARRANGED_VEE] = "vee", [ARRANGED_OPPOSED] = "opposed"};
    Arrangement *all = arena_array(l->v->arena, tag->choice_count + 1u, sizeof *all);
    Str rest = p->value, entry;
    uint8_t n = 0;
    for (; list_next(&rest, &entry); n++) {
        unsigned k = 0;
        while (k < 3 && !str_ieq(entry, str_from(words[k])))
            k++;
        if (k == 3 || n == tag->choice_count) {
            n = UINT8_MAX;
            break;
        }
        all[n] = (Arrangement)k;
    }
    if (n != tag->choice_count)
        prop_fault(l, K_VALUE, p, "'drawn' says upright, vee or opposed for each of the %u choices",
                   tag->choice_count);
    else
        tag->arranged = all;
}

void parse_drawn(Loader *l, Block *b, const Prop *p) {
    Tag *tag = tag_of(l, b);
    if (tag->kind == TAG_CHOICE) {
        parse_arranged(l, tag, p);
        return;
    }
    bool place = tag->of != CLASS_ENGINE && l->v->classes[tag->of].kind == CLASS_PLACE;
    if (tag->kind == TAG_NUMBER && !tag->has_curve && place && str_ieq(p->value, STR("place")))
        tag->drawn = true;
    else
        prop_fault(l, K_VALUE, p,
                   "'drawn' is 'place' on a quantity of a numbered place that is no curve, and "
                   "on a choice upright, vee or opposed for each");
}

void parse_source(Loader *l, Block *b, const Prop *p) {
    tag_of(l, b)->source = p->value;
}

void parse_says(Loader *l, Block *b, const Prop *p) {
    Vocab *v = l->v;
    if (b->kind == BLOCK_RULE)
        v->rules[b->index].says = p->value;
    else if (b->kind == BLOCK_CAUTION)
        v->cautions[b->index].says = p->value;
    else if (b->kind == BLOCK_FORM)
        v->forms[b->index].says = p->value;
    else if (b->kind == BLOCK_FIT)
        v->fits[b->index].says = p->value;
    else
        v->tags[b->index].says = p->value;
}

void parse_role(Loader *l, Block *b, const Prop *p) {
    static const char *const roles[ROLE_COUNT] = {[ROLE_NONE] = "",
                                                  [ROLE_JOB] = "job",
                                                  [ROLE_ENGINE] = "engine",
                                                  [ROLE_OWNER] = "owner",
                                                  [ROLE_STAGE] = "stage",
                                                  [ROLE_BY] = "by",
                                                  [ROLE_WITH] = "with",
                                                  [ROLE_UNITS] = "units",
                                                  [ROLE_CONTINUES] = "continues",
                                                  [ROLE_RUN_TIME] = "run time",
                                                  [ROLE_LAYOUT] = "layout",
                                                  [ROLE_TITLE] = "title"};
    for (unsigned role = ROLE_NONE + 1; role < ROLE_COUNT; role++) {
        if (!str_ieq(p->value, str_from(roles[role]))) continue;
        if (l->v->roles[role] != TAG_NONE) {
            Str other = l->v->tags[l->v->roles[role]].name;
            prop_fault(l, K_TWICE, p, "'%.*s' has this role already", STR_ARG(other));
            return;
        }
        l->v->roles[role] = (TagId)b->index;
        tag_of(l, b)->role = (Role)role;
        return;
    }
    prop_fault(l, K_VALUE, p, "no role is called '%.*s'", STR_ARG(p->value));
}

/* ---- after the properties ---------------------------------------------------------------------
 */

static void tag_missing(Loader *l, const Block *b, const char *what) {
    vocab_fault(l->findings, K_MISSING, b->source, b->at, "the %s '%.*s' needs '%s'",
                block_word(b->kind), STR_ARG(b->name), what);
}

static void not_with(Loader *l, const Block *b, const char *property, const char *without) {
    const Prop *p = block_prop(b, str_from(property));
    if (p) prop_fault(l, K_VALUE, p, "'%s' means nothing %s", property, without);
}

static void fact_check(Loader *l, const Block *b, const Tag *tag) {
    if (tag->kind == TAG_CHOICE && !block_prop(b, STR("choices"))) tag_missing(l, b, "choices");
    if (tag->kind != TAG_CHOICE) not_with(l, b, "choices", "unless it is of kind choice");
    if (tag->kind == TAG_STOCK && !block_prop(b, STR("unit"))) tag_missing(l, b, "unit");
    if (tag->kind != TAG_STOCK) not_with(l, b, "unit", "unless it is of kind stock");
}

static void quantity_check(Loader *l, const Block *b, const Tag *tag) {
    if (!tag->unit && !block_prop(b, STR("unit"))) tag_missing(l, b, "unit");
    static const char *const of_curves[] = {"reach", "compared at", "shift means", "tilt means"};
    for (size_t i = 0; i < sizeof of_curves / sizeof *of_curves; i++) {
        if (!block_prop(b, STR("over"))) not_with(l, b, of_curves[i], "without 'over'");
    }
    if (!block_prop(b, STR("spots"))) not_with(l, b, "uses", "without 'spots'");
    if (tag->has_curve) not_with(l, b, "spots", "beside 'over': a condition is a number or a spot");
    if (!block_prop(b, STR("made of"))) not_with(l, b, "stocked", "without 'made of'");
    if (!block_prop(b, STR("is"))) not_with(l, b, "agrees within", "without 'is'");
}

/* A tag called `spring load at rest` would be read where a formula means the curve at a value. */
static void name_at_check(Loader *l, const Tag *tag) {
    for (size_t at = str_find(tag->name, STR(" at "), 0); at != SIZE_MAX;
         at = str_find(tag->name, STR(" at "), at + 1)) {
        TagId id = vocab_find(l->v, (Str){tag->name.p, at});
        const Tag *before = id == TAG_NONE ? NULL : &l->v->tags[id];
        if (before && (before->has_curve || before->spot_count))
            finding_add(l->findings, &vocab_kinds[K_NAME], tag->where, tag->span,
                        "the name '%.*s' reads like a formula: '%.*s' can be read at a value",
                        STR_ARG(tag->name), STR_ARG(before->name));
    }
}

void tags_check(Loader *l) {
    for (TagId i = 0; i < l->v->tag_count; i++)
        name_at_check(l, &l->v->tags[i]);
    for (uint32_t i = 0; i < l->count; i++) {
        const Block *b = &l->blocks[i];
        if (b->left_out) continue;
        if (b->kind == BLOCK_FACT)
            fact_check(l, b, &l->v->tags[b->index]);
        else if (b->kind == BLOCK_QUANTITY)
            quantity_check(l, b, &l->v->tags[b->index]);
    }
}
