#include "base/str_index.h"
#include "base/hash.h"

/* Where the text is, or would be put. */
static uint32_t *slot_of(const StrIndex *x, Str text) {
    uint32_t mask = x->slot_count - 1, at = (uint32_t)hash_bytes(text) & mask;
    while (x->slots[at] && !str_eq(x->texts[x->slots[at] - 1], text))
        at = (at + 1) & mask;
    return &x->slots[at];
}

static void grow_slots(StrIndex *x, Arena *a) {
    x->slot_count = x->slot_count ? x->slot_count * 2 : 16;
    x->slots = arena_array(a, x->slot_count, sizeof *x->slots);
    for (uint32_t i = 0; i < x->count; i++)
        *slot_of(x, x->texts[i]) = i + 1;
}

uint32_t str_index_find(const StrIndex *x, Str text) {
    uint32_t number = x->count ? *slot_of(x, text) : 0;
    return number ? number - 1 : STR_INDEX_NONE;
}

uint32_t str_index_add(StrIndex *x, Arena *a, Str text) {
    if ((x->count + 1) * 2 > x->slot_count) grow_slots(x, a);
    uint32_t *slot = slot_of(x, text);
    if (*slot) return *slot - 1;
    arena_grow(a, x->texts, x->count, x->room);
    x->texts[x->count] = text;
    *slot = ++x->count;
    return x->count - 1;
}

void str_index_clear(StrIndex *x) {
    if (x->count) memset(x->slots, 0, x->slot_count * sizeof *x->slots);
    x->count = 0;
}
