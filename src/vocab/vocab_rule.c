/* Rules that must hold, and cautions. */
#include "vocab/parts.h"

bool block_twice(Loader *l, const Block *b) {
    for (const Block *other = l->blocks; other < b; other++)
        if (other->kind == b->kind && !other->left_out && str_ieq(other->name, b->name)) {
            vocab_fault(l->findings, K_TWICE, b->source, b->at, "a %s '%.*s' is there already",
                        block_word(b->kind), STR_ARG(b->name));
            return true;
        }
    return false;
}

void rules_declare(Loader *l) {
    Vocab *v = l->v;
    uint16_t rule_room = 0, caution_room = 0;
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (!(b->kind & (BLOCK_RULE | BLOCK_CAUTION))) continue;
        if (v->rule_count + v->caution_count == TAG_MOST) {
            vocab_fault(l->findings, K_FULL, b->source, b->at, "more than %d rules and cautions",
                        TAG_MOST);
            b->left_out = true;
            return;
        }
        b->left_out = block_twice(l, b);
        if (b->left_out) continue;
        if (b->kind == BLOCK_RULE) {
            arena_grow(v->arena, v->rules, v->rule_count, rule_room);
            b->index = v->rule_count++;
            v->rules[b->index] = (Rule){.name = b->name,
                                        .level = LEVEL_WARNING,
                                        .where = b->source,
                                        .span = line_span(b->source, b->at)};
        } else {
            arena_grow(v->arena, v->cautions, v->caution_count, caution_room);
            b->index = v->caution_count++;
            v->cautions[b->index] = (Caution){.name = b->name};
        }
    }
}

void parse_for(Loader *l, Block *b, const Prop *p) {
    ClassId of = prop_class(l, p, p->value);
    if (of == CLASS_NONE) return;
    if (b->kind == BLOCK_FIT)
        l->v->fits[b->index].place = of;
    else
        l->v->rules[b->index].of = of;
}

void parse_level(Loader *l, Block *b, const Prop *p) {
    if (str_ieq(p->value, STR("error")))
        l->v->rules[b->index].level = LEVEL_ERROR;
    else if (str_ieq(p->value, STR("warning")))
        l->v->rules[b->index].level = LEVEL_WARNING;
    else
        prop_fault(l, K_VALUE, p, "'level' is error or warning");
}

void parse_must(Loader *l, Block *b, const Prop *p) {
    Rule *rule = &l->v->rules[b->index];
    size_t less = str_find_char(p->value, '<', 0), more = str_find_char(p->value, '>', 0);
    size_t at = less < more ? less : more;
    if (at == SIZE_MAX) {
        prop_fault(l, K_SYNTAX, p, "a rule compares two formulas with <, <=, > or >=");
        return;
    }
    bool equal = at + 1 < p->value.n && p->value.p[at + 1] == '=';
    if (less < more)
        rule->relation = equal ? RULE_AT_MOST : RULE_LESS;
    else
        rule->relation = equal ? RULE_AT_LEAST : RULE_MORE;
    Str left = str_trim((Str){p->value.p, at});
    Str right = str_trim(str_skip(p->value, at + 1 + equal));
    if (!left.n || !right.n) {
        prop_fault(l, K_SYNTAX, p, "a formula is missing on one side");
        return;
    }
    rule->left = formula_parse(l->v, p->source, left, rule->of, false, 0, l->findings);
    if (rule->left)
        rule->right =
            formula_parse(l->v, p->source, right, rule->of, true, rule->left->dim, l->findings);
}

void parse_tags(Loader *l, Block *b, const Prop *p) {
    Caution *caution = &l->v->cautions[b->index];
    unsigned room = list_room(l, p, LIST_MOST);
    TagId *tags = arena_array(l->v->arena, room, sizeof *tags);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        TagId tag = prop_tag(l, p, entry);
        if (tag == TAG_NONE) return;
        tags[count++] = tag;
    }
    caution->tags = tags;
    caution->tag_count = count;
}

static Str lowered(Arena *a, Str s) {
    char *out = arena_alloc(a, s.n + 1);
    for (size_t i = 0; i < s.n; i++)
        out[i] = to_lower(s.p[i]);
    return (Str){out, s.n};
}

void parse_words(Loader *l, Block *b, const Prop *p) {
    Caution *caution = &l->v->cautions[b->index];
    unsigned room = list_room(l, p, LIST_MOST);
    Str *words = arena_array(l->v->arena, room, sizeof *words);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        if (!entry.n) {
            prop_fault(l, K_VALUE, p, "a word is missing between the commas");
            return;
        }
        words[count++] = lowered(l->v->arena, entry);
    }
    caution->words = words;
    caution->word_count = count;
}

void block_needs(Loader *l, const Block *b, const char *property) {
    if (!block_prop(b, str_from(property)))
        vocab_fault(l->findings, K_MISSING, b->source, b->at, "the %s '%.*s' needs '%s'",
                    block_word(b->kind), STR_ARG(b->name), property);
}

void rules_check(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++) {
        const Block *b = &l->blocks[i];
        if (b->left_out || !(b->kind & (BLOCK_RULE | BLOCK_CAUTION))) continue;
        block_needs(l, b, "says");
        if (b->kind == BLOCK_RULE)
            block_needs(l, b, "must");
        else if (!block_prop(b, STR("tags")))
            block_needs(l, b, "words");
    }
}
