/*
 * Eight bytes of a text in one integer, to look at them all at once. The first byte is the lowest,
 * whatever the machine's own order; compilers make one load of it.
 */
#ifndef THOU_BASE_WORD_H
#define THOU_BASE_WORD_H

#include <stdint.h>

enum { WORD_BYTES = 8 };

/* The same byte eight times. */
#define WORD_OF(byte) (0x0101010101010101u * (uint64_t)(byte))

static inline uint64_t word_at(const char *p) {
    const unsigned char *u = (const unsigned char *)p;
    return (uint64_t)u[0] | (uint64_t)u[1] << 8 | (uint64_t)u[2] << 16 | (uint64_t)u[3] << 24 |
           (uint64_t)u[4] << 32 | (uint64_t)u[5] << 40 | (uint64_t)u[6] << 48 |
           (uint64_t)u[7] << 56;
}

/* The lowest bit of the first byte that is not 0; one is. */
static inline unsigned word_first(uint64_t word) {
    return (unsigned)__builtin_ctzll(word) & ~7u;
}

/* The high bit of each byte that is 0, and of none below the first. */
static inline uint64_t word_noughts(uint64_t word) {
    return (word - WORD_OF(1)) & ~word & WORD_OF(0x80);
}

/* 0x0F in each byte that is a digit, 0 in the others. All are ASCII. */
static inline uint64_t word_digits(uint64_t word) {
    const uint64_t highs = WORD_OF(0x80), values = word ^ WORD_OF('0');
    uint64_t others = values + WORD_OF(0x80 - 10); /* the high bit from 10 on */
    return (~others & highs) / 0x80 * 0x0F;
}

/* What eight digits say, each as 0 to 9, the first in the lowest byte: two make one of a hundred,
 * and four of those the whole. */
static inline uint64_t word_number(uint64_t digits) {
    const uint64_t pairs = digits * 10 + (digits >> 8), every_fourth = 0x000000FF000000FFu;
    uint64_t first = (pairs & every_fourth) * (100 + ((uint64_t)1000000 << 32));
    uint64_t second = (pairs >> 16 & every_fourth) * (1 + ((uint64_t)10000 << 32));
    return (first + second) >> 32;
}

#endif
