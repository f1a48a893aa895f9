#include "base/hash.h"
#include <endian.h>

#define FNV_START 0xCBF29CE484222325u
#define FNV_PRIME 0x00000100000001B3u

/*
 * A multiplication carries upwards only: over whole words plain FNV-1a would let a change in the
 * top byte of one word be undone by the top byte of the next. The shift brings it down again.
 */
static uint64_t mix(uint64_t h, uint64_t word) {
    h = (h ^ word) * FNV_PRIME;
    return h ^ h >> 32;
}

/* Spreads every bit over all the others. */
static uint64_t finish(uint64_t h) {
    h = (h ^ h >> 33) * 0xFF51AFD7ED558CCDu;
    h = (h ^ h >> 33) * 0xC4CEB9FE1A85EC53u;
    return h ^ h >> 33;
}

uint64_t hash_bytes(Str s) {
    uint64_t h = mix(FNV_START, s.n); /* the length tells "a" from "a\0" */
    uint64_t word;
    size_t at = 0;
    for (; s.n - at >= sizeof word; at += sizeof word) {
        memcpy(&word, s.p + at, sizeof word);
        h = mix(h, le64toh(word));
    }
    if (at < s.n) {
        word = 0;
        memcpy(&word, s.p + at, s.n - at);
        h = mix(h, le64toh(word));
    }
    return finish(h);
}
