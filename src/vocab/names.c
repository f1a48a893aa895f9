/*
 * Declared names as a trie of words whose edges stand in one hash table: (node, word) -> node. A
 * match walks it word by word and stops at the first word that no name goes on with, so that each
 * byte is hashed once and compared once. Nothing is allocated: it runs for every reading.
 */
#include "vocab/parts.h"

typedef struct NameNode {
    Str word; /* lower case */
    uint32_t parent;
    uint32_t hash;
    TagId tag; /* of the name that ends here */
} NameNode;

struct NameTable {
    Arena *arena;
    NameNode *nodes; /* 0 is the root */
    uint32_t count, room;
    uint32_t *slots; /* node, 0 when free */
    uint32_t mask;
};

static inline uint64_t load(const char *p, size_t n) {
    uint64_t bits = 0;
    memcpy(&bits, p, n);
    return bits;
}

/* Of the node and the word's length, first and last bytes (n > 0). Setting the bit of lower case in
 * each byte folds more than letters, and the middle of a long word is left out: the comparison that
 * follows is exact. */
static inline uint32_t hash_word(uint32_t parent, const char *p, size_t n) {
    uint64_t first, last;
    if (n >= 8)
        first = load(p, 8), last = load(p + n - 8, 8);
    else if (n >= 4)
        first = load(p, 4), last = load(p + n - 4, 4);
    else
        first = (unsigned char)p[0],
        last = (uint64_t)(unsigned char)p[n / 2] << 8 | (unsigned char)p[n - 1];
    const uint64_t lower = 0x2020202020202020u;
    uint64_t h = ((first | lower) + parent) * 0xff51afd7ed558ccdu + n;
    h = (h ^ h >> 32 ^ (last | lower)) * 0x9e3779b97f4a7c15u;
    return (uint32_t)(h >> 32);
}

static inline bool word_is(Str lower, const char *p, size_t n) {
    if (lower.n != n) return false;
    if (memcmp(lower.p, p, n) == 0) return true;
    for (size_t i = 0; i < n; i++)
        if (lower.p[i] != to_lower(p[i])) return false;
    return true;
}

/* The node that `word` leads to, or 0. */
static inline uint32_t child_find(const struct NameTable *t, uint32_t parent, uint32_t hash,
                                  const char *p, size_t n) {
    for (uint32_t slot = hash & t->mask; t->slots[slot]; slot = (slot + 1) & t->mask) {
        const NameNode *node = &t->nodes[t->slots[slot]];
        if (node->hash == hash && node->parent == parent && word_is(node->word, p, n))
            return t->slots[slot];
    }
    return 0;
}

struct NameTable *names_new(Arena *a) {
    enum { FIRST_SLOTS = 2048, FIRST_NODES = 1024 };
    struct NameTable *t = arena_alloc(a, sizeof *t);
    *t = (struct NameTable){.arena = a, .mask = FIRST_SLOTS - 1};
    t->slots = arena_array(a, FIRST_SLOTS, sizeof *t->slots);
    t->nodes = arena_array(a, FIRST_NODES, sizeof *t->nodes);
    t->room = FIRST_NODES;
    t->nodes[t->count++] = (NameNode){.tag = TAG_NONE};
    return t;
}

static void slot_fill(struct NameTable *t, uint32_t node) {
    uint32_t slot = t->nodes[node].hash & t->mask;
    while (t->slots[slot])
        slot = (slot + 1) & t->mask;
    t->slots[slot] = node;
}

/* The word itself when it is in lower case already, as nearly all are. */
static Str lowered(Arena *a, Str word) {
    size_t i = 0;
    while (i < word.n && word.p[i] == to_lower(word.p[i]))
        i++;
    if (i == word.n) return word;
    char *lower = arena_alloc(a, word.n);
    for (i = 0; i < word.n; i++)
        lower[i] = to_lower(word.p[i]);
    return (Str){lower, word.n};
}

static uint32_t child_add(struct NameTable *t, uint32_t parent, uint32_t hash, Str word) {
    if (t->count * 2 > t->mask) { /* half full: twice as many slots */
        t->mask = t->mask * 2 + 1;
        t->slots = arena_array(t->arena, (size_t)t->mask + 1, sizeof *t->slots);
        for (uint32_t i = 1; i < t->count; i++)
            slot_fill(t, i);
    }
    arena_grow(t->arena, t->nodes, t->count, t->room);
    t->nodes[t->count] = (NameNode){lowered(t->arena, word), parent, hash, TAG_NONE};
    slot_fill(t, t->count);
    return t->count++;
}

TagId names_add(struct NameTable *t, Str name, TagId tag) {
    uint32_t node = 0;
    for (Str word = str_word(&name); word.n; word = str_word(&name)) {
        uint32_t hash = hash_word(node, word.p, word.n);
        uint32_t next = child_find(t, node, hash, word.p, word.n);
        node = next ? next : child_add(t, node, hash, word);
    }
    if (t->nodes[node].tag != TAG_NONE) return t->nodes[node].tag;
    t->nodes[node].tag = tag;
    return TAG_NONE;
}

TagId vocab_match(const Vocab *v, Str left, Str *rest) {
    const struct NameTable *t = v->names;
    const char *p = left.p, *end = left.p + left.n, *best_end = left.p;
    TagId best = TAG_NONE;
    for (uint32_t node = 0;;) {
        while (p < end && is_blank(*p))
            p++;
        const char *word = p;
        while (p < end && !is_blank(*p))
            p++;
        if (p == word) break;
        size_t n = (size_t)(p - word);
        node = child_find(t, node, hash_word(node, word, n), word, n);
        if (!node) break;
        if (t->nodes[node].tag != TAG_NONE) {
            best = t->nodes[node].tag;
            best_end = p;
        }
    }
    if (rest) {
        while (best_end < end && is_blank(*best_end))
            best_end++;
        *rest = str_trim((Str){best_end, (size_t)(end - best_end)});
    }
    return best;
}

static void see(const Vocab *v, struct SeenName *slot, Str left) {
    Str rest;
    slot->tag = vocab_match(v, left, &rest);
    slot->rest_at = (uint8_t)(rest.p - left.p);
    slot->rest_n = (uint8_t)rest.n;
    slot->n = (uint8_t)left.n;
    memcpy(slot->text, left.p, left.n);
}

TagId vocab_match_again(const Vocab *v, NamesSeen *seen, Str left, Str *rest) {
    if (!seen || !left.n || left.n > SEEN_TEXT) return vocab_match(v, left, rest);
    if (seen->by != v) *seen = (NamesSeen){.by = v};
    uint32_t hash = hash_word(0, left.p, left.n); /* its upper bits tell the last letter, too */
    struct SeenName *slot = &seen->slots[hash >> (32 - SEEN_BITS)];
    if (slot->n != left.n || memcmp(slot->text, left.p, left.n) != 0) see(v, slot, left);
    *rest = (Str){left.p + slot->rest_at, slot->rest_n};
    return slot->tag;
}

bool vocab_begins(const Vocab *v, Str word) {
    return word.n && child_find(v->names, 0, hash_word(0, word.p, word.n), word.p, word.n);
}

TagId vocab_find(const Vocab *v, Str name) {
    Str rest;
    TagId tag = vocab_match(v, name, &rest);
    return rest.n ? TAG_NONE : tag;
}

/* ---- which names can be declared --------------------------------------------------------------
 */

static bool is_letter_of_class(const Vocab *v, char c) {
    for (unsigned i = 0; i < v->class_count; i++)
        for (const char *letter = v->classes[i].letters; *letter; letter++)
            if (to_lower(*letter) == to_lower(c)) return true;
    return false;
}

/* What a subject could be written as: `3`, `1..6`, `I`, `I3a`, `all`, `each`. */
static bool is_place_word(const Vocab *v, Str word) {
    if (str_ieq(word, STR("all")) || str_ieq(word, STR("each")) || is_digit(word.p[0]) ||
        word.p[0] == '.')
        return true;
    if (!is_letter_of_class(v, word.p[0])) return false;
    return word.n == 1 || is_digit(word.p[1]);
}

static bool is_odd(char c) {
    static const char odd[] = "=|;#:@,()*/^+<>?\"~[]{}";
    return (unsigned char)c < ' ' || c == 127 || memchr(odd, c, sizeof odd - 1);
}

/* First words that lines and formulas give a meaning of their own. */
static bool is_taken(Str first, Str second) {
    static const Str words[] = {WORD("limit"), WORD("aim"),   WORD("accept"),
                                WORD("x"),     WORD("first"), WORD("previous"),
                                WORD("read"),  WORD("pi"),    WORD("none")};
    static const Str of[] = {WORD("sum"),      WORD("mean"),  WORD("spread"), WORD("largest"),
                             WORD("smallest"), WORD("count"), WORD("slope")};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (word_eq(first, words[i])) return true;
    for (size_t i = 0; i < sizeof of / sizeof *of && second.n == 2; i++)
        if (word_eq(first, of[i]) && str_ieq(second, STR("of"))) return true;
    return false;
}

const char *name_fault(const Vocab *v, Str name, Str *at) {
    Str rest = name, first = {0}, second = {0};
    unsigned words = 0;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        *at = word;
        for (size_t i = 0; i < word.n; i++)
            if (is_odd(word.p[i])) return "has a character that lines and formulas use";
        if (word.p[0] == '-') return "has a word that starts with a minus";
        if (is_place_word(v, word)) return "has a word that stands for places";
        if (++words == 1)
            first = word;
        else if (words == 2)
            second = word;
    }
    *at = name;
    if (!words) return "is empty";
    if (words > NAME_WORDS) return "has more than 6 words";
    if (is_taken(first, second)) return "begins with a word that lines or formulas use";
    return NULL;
}

Str name_tidy(Arena *a, Str name) {
    Str trimmed = str_trim(name);
    size_t i = 0;
    while (i < trimmed.n && trimmed.p[i] != '\t' &&
           !(is_blank(trimmed.p[i]) && is_blank(trimmed.p[i + 1])))
        i++;
    if (i == trimmed.n) return trimmed;
    Str rest = trimmed;
    char *out = arena_alloc(a, trimmed.n);
    size_t n = 0;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        if (n) out[n++] = ' ';
        memcpy(out + n, word.p, word.n);
        n += word.n;
    }
    return (Str){out, n};
}
