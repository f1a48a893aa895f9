#include "compute/repeated.h"

enum { LOOKED_BACK_MOST = 1024 }; /* as far as repeats are marked: chain.c */

static bool read_singly(const Reading *r) {
    return !(r->flags & (READ_BAD | READ_WORDS | READ_EACH)) && !isnan(r->value);
}

/* A correction is another reading of another day: it repeats nothing. */
static bool repeats(const Reading *r, const Reading *old) {
    return (old->flags & READ_REPEATED) && old->entry == r->entry && read_singly(old) &&
           same_condition(old->at, r->at);
}

void repeated_add(const Job *j, uint32_t reading, Repeats *to) {
    const Reading *r = &j->readings[reading];
    if ((r->flags & READ_REPEATED) || !read_singly(r)) return;
    uint32_t entry = reading_entry(j, r), looked = 0;
    Thing thing = {0};
    thing_add(&thing, r->value);
    for (uint32_t i = chain_prev(j, reading); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *old = &j->readings[i];
        if (reading_entry(j, old) != entry || ++looked > LOOKED_BACK_MOST) break;
        if (repeats(r, old)) thing_add(&thing, old->value);
    }
    repeats_add(to, &thing);
}
