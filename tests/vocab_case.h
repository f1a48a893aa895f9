/* Loads vocabularies from text and compares findings by code and by the text under the caret. */
#ifndef THOU_TESTS_VOCAB_CASE_H
#define THOU_TESTS_VOCAB_CASE_H

#include "vocab/parts.h"
#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

typedef struct Loaded {
    Arena *arena;
    Source built_in, shop;
    Findings findings;
    Vocab *v;
} Loaded;

static inline Source source_of(const char *path, Str text) {
    return (Source){.path = str_from(path), .text = text};
}

static inline Loaded *load_two(Str text, Str shop) {
    Arena *arena = arena_new();
    Loaded *l = arena_alloc(arena, sizeof *l);
    l->arena = arena;
    l->findings.arena = arena;
    l->built_in = source_of("test.vocab", arena_str(arena, text));
    l->shop = source_of("shop.vocab", arena_str(arena, shop));
    l->v = vocab_load_texts(&l->built_in, shop.n ? &l->shop : NULL, &l->findings);
    return l;
}

static inline void unload(Loaded *l) {
    vocab_free(l->v);
    arena_free(l->arena);
}

static inline void show_findings(const Loaded *l) {
    for (uint32_t i = 0; i < l->findings.count; i++) {
        const Finding *f = &l->findings.items[i];
        print_message("  %s at '%.*s': %.*s\n", f->kind->code,
                      STR_ARG(source_slice(f->source, f->span)), STR_ARG(f->message));
    }
}

/* Whether there is one finding, of this code, with the caret under this text (NULL: anywhere); no
 * finding at all when code is "". Prints what there is otherwise. */
static inline bool expect(const Loaded *l, const char *name, const char *code, const char *at) {
    bool right = l->findings.count == (*code ? 1 : 0);
    if (right && *code) {
        const Finding *f = &l->findings.items[0];
        right = strcmp(f->kind->code, code) == 0 &&
                (!at || str_eq(source_slice(f->source, f->span), str_from(at)));
    }
    if (!right) {
        print_message("%s: expected %s at '%s', got %u findings\n", name, *code ? code : "none",
                      at ? at : "", l->findings.count);
        show_findings(l);
    }
    return right;
}

#endif
