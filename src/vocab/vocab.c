/* Loading a vocabulary whole, and looking it up. */
#include "vocab/vocab.h"

#include "base/hash.h"
#include "base/near.h"
#include "vocab/parts.h"
#include "vocab/texts.h"

/* Raised when the same text would come to mean something else: what was indexed is then stale. */
enum { FORMAT_VERSION = 1 };

uint64_t vocab_hash(const Source *shop) {
    Str built_in = {(const char *)text_trade_vocab, text_trade_vocab_size};
    uint64_t parts[3] = {FORMAT_VERSION, hash_bytes(built_in), shop ? hash_bytes(shop->text) : 0};
    return hash_bytes((Str){(const char *)parts, sizeof parts});
}

static Vocab *vocab_new(const Source *built_in, const Source *shop) {
    Arena *arena = arena_new();
    Vocab *v = arena_alloc(arena, sizeof *v);
    v->arena = arena;
    Source *own = arena_alloc(arena, sizeof *own);
    *own = *built_in;
    v->sources[0] = own;
    v->sources[1] = shop;
    v->names = names_new(arena);
    for (unsigned i = 0; i < ROLE_COUNT; i++)
        v->roles[i] = TAG_NONE;
    source_map(own, arena);
    return v;
}

/* Names may be used before they are declared, so each step goes over all blocks. */
static void load(Loader *l) {
    Vocab *v = l->v;
    /* At start-up fresh memory costs more than the work in it: room is taken once, not by doubling.
     * Most lines are properties; a block has some six. */
    l->prop_room = v->sources[0]->lines + 1;
    l->props = arena_array(l->scratch, l->prop_room, sizeof *l->props);
    l->room = l->prop_room / 6 + 1;
    l->blocks = arena_array(l->scratch, l->room, sizeof *l->blocks);
    blocks_read(l, v->sources[0]);
    l->built_in = l->count;
    if (v->sources[1]) blocks_read(l, v->sources[1]);
    blocks_settle(l);
    classes_declare(l);
    blocks_run(l, PHASE_CLASS);
    blocks_run(l, PHASE_UP);
    rules_declare(l);
    forms_declare(l);
    fits_declare(l);
    tags_declare(l);
    blocks_run(l, PHASE_TAG);
    blocks_run(l, PHASE_VALUE);
    classes_check(l);
    blocks_run(l, PHASE_FORMULA);
    tags_check(l);
    rules_check(l);
    forms_check(l);
    fits_check(l);
    limits_read(l);
    order_tags(v, l->scratch, l->findings);
}

Vocab *vocab_load_texts(const Source *built_in, const Source *shop, Findings *findings) {
    Loader l = {.v = vocab_new(built_in, shop), .scratch = arena_new(), .findings = findings};
    load(&l);
    arena_free(l.scratch);
    return l.v;
}

Vocab *vocab_load(const Source *shop, Findings *findings) {
    Source built_in = {.path = STR("trade.vocab"),
                       .text = {(const char *)text_trade_vocab, text_trade_vocab_size}};
    return vocab_load_texts(&built_in, shop, findings);
}

void vocab_free(Vocab *v) {
    if (v) arena_free(v->arena);
}

ClassId vocab_class(const Vocab *v, Str name) {
    for (unsigned i = 0; i < v->class_count; i++)
        if (str_ieq(v->classes[i].name, name) || str_ieq(v->classes[i].plural, name))
            return (ClassId)i;
    return CLASS_NONE;
}

const Fit *vocab_fit(const Vocab *v, Str name) {
    for (unsigned i = 0; i < v->fit_count; i++)
        if (str_ieq(v->fits[i].name, name)) return &v->fits[i];
    return NULL;
}

Str vocab_near(const Vocab *v, Str typed, Arena *a) {
    Near near;
    near_start(&near, typed);
    for (unsigned i = 0; i < v->tag_count; i++) {
        near_offer(&near, v->tags[i].name);
        for (unsigned k = 0; k < v->tags[i].also_count; k++)
            near_offer(&near, v->tags[i].also[k]);
    }
    Str text = near_text(&near, a);
    return text.n ? arena_printf(a, " (%.*s)", STR_ARG(text)) : text;
}
