#include "base/near.h"

enum { LONGEST = 64, MOST_WORDS = 8 };

static unsigned least(unsigned a, unsigned b) {
    return a < b ? a : b;
}

/* Edits from a to b row by row, three rows kept: a swap looks two rows back. */
static unsigned letters_distance(Str a, Str b, unsigned most) {
    size_t gap = a.n > b.n ? a.n - b.n : b.n - a.n;
    if (gap > most || a.n > LONGEST || b.n > LONGEST) return most + 1;
    if (str_ieq(a, b)) return 0;
    unsigned rows[3][LONGEST + 1];
    for (size_t j = 0; j <= b.n; j++)
        rows[0][j] = (unsigned)j;
    for (size_t i = 1; i <= a.n; i++) {
        unsigned *now = rows[i % 3], *above = rows[(i + 2) % 3], *two_above = rows[(i + 1) % 3];
        char c = to_lower(a.p[i - 1]);
        unsigned best = now[0] = (unsigned)i;
        for (size_t j = 1; j <= b.n; j++) {
            char d = to_lower(b.p[j - 1]);
            unsigned edits = least(above[j], now[j - 1]) + 1;
            edits = least(edits, above[j - 1] + (c != d));
            if (i > 1 && j > 1 && c == to_lower(b.p[j - 2]) && d == to_lower(a.p[i - 2]))
                edits = least(edits, two_above[j - 2] + 1);
            now[j] = edits;
            best = least(best, edits);
        }
        /* a swap can come back from the row above, never for less than its least */
        if (best > most + 1) return most + 1;
    }
    return least(rows[a.n % 3][b.n], most + 1);
}

/* The words of s; 0 when there are more than fit. */
static unsigned words_of(Str s, Str words[MOST_WORDS]) {
    unsigned count = 0;
    for (Str word = str_word(&s); word.n; word = str_word(&s)) {
        if (count == MOST_WORDS) return 0;
        words[count++] = word;
    }
    return count;
}

/* Fewest words to take out and put in elsewhere so that the places come in rising order. */
static unsigned moves_of(const unsigned *place, unsigned count) {
    unsigned longest[MOST_WORDS], kept = 0; /* rising run that ends at each */
    for (unsigned i = 0; i < count; i++) {
        longest[i] = 1;
        for (unsigned j = 0; j < i; j++)
            if (place[j] < place[i] && longest[j] + 1 > longest[i]) longest[i] = longest[j] + 1;
        if (longest[i] > kept) kept = longest[i];
    }
    return count - kept;
}

/* Pairs each word of a with the nearest one left of b, then counts the moves. */
static unsigned words_distance(Str a, Str b, unsigned most) {
    Str from[MOST_WORDS], to[MOST_WORDS];
    unsigned count = words_of(a, from), place[MOST_WORDS], total = 0;
    bool taken[MOST_WORDS] = {false};
    if (count < 2 || words_of(b, to) != count) return most + 1;
    for (unsigned i = 0; i < count; i++) {
        unsigned nearest = most + 1;
        for (unsigned j = 0; j < count && nearest; j++) {
            unsigned edits = taken[j] ? most + 1 : letters_distance(from[i], to[j], most);
            if (edits < nearest) nearest = edits, place[i] = j;
        }
        total += nearest;
        if (total > most) return most + 1;
        taken[place[i]] = true;
    }
    return least(total + moves_of(place, count), most + 1);
}

unsigned near_distance(Str a, Str b, unsigned most) {
    unsigned letters = letters_distance(a, b, most);
    return letters ? least(letters, words_distance(a, b, most)) : 0;
}

/* A short name has few letters to get wrong; a long one may hide three slips. */
static unsigned near_enough(Str typed) {
    if (typed.n < 3) return (unsigned)(typed.n > 1);
    return typed.n < 5 ? 1 : typed.n < 9 ? 2 : 3;
}

void near_start(Near *n, Str typed) {
    *n = (Near){.typed = str_trim(typed)};
}

void near_offer(Near *n, Str name) {
    unsigned most = near_enough(n->typed);
    unsigned edits = near_distance(n->typed, name, most);
    if (edits > most) return;
    for (unsigned i = 0; i < n->count; i++)
        if (str_eq(n->names[i], name)) return;
    unsigned at = n->count;
    while (at && n->distance[at - 1] > edits)
        at--;
    if (at == NEAR_MOST) return;
    if (n->count < NEAR_MOST) n->count++;
    for (unsigned i = n->count - 1; i > at; i--) {
        n->names[i] = n->names[i - 1];
        n->distance[i] = n->distance[i - 1];
    }
    n->names[at] = name;
    n->distance[at] = edits;
}

Str near_text(const Near *n, Arena *a) {
    switch (n->count) {
    case 0: return (Str){0};
    case 1: return arena_printf(a, "did you mean '%.*s'?", STR_ARG(n->names[0]));
    case 2:
        return arena_printf(a, "did you mean '%.*s' or '%.*s'?", STR_ARG(n->names[0]),
                            STR_ARG(n->names[1]));
    default:
        return arena_printf(a, "did you mean '%.*s', '%.*s' or '%.*s'?", STR_ARG(n->names[0]),
                            STR_ARG(n->names[1]), STR_ARG(n->names[2]));
    }
}
