#include "compute/chain.h"

enum { POINTS_MOST = 1024 }; /* readings of one curve in one entry that are compared for repeats */

static uint32_t assign_rows(Job *j, Chain *c) {
    uint16_t *row = arena_array(j->arena, j->vocab->tag_count, sizeof *row);
    uint32_t rows = 0;
    for (uint32_t i = 0; i < j->reading_count; i++) {
        uint16_t *r = &row[j->readings[i].tag];
        if (!*r) *r = (uint16_t)++rows;
    }
    TagId *tags = arena_array(j->arena, rows + 1, sizeof *tags);
    uint32_t count = 0;
    for (TagId t = 0; t < j->vocab->tag_count; t++) {
        if (row[t]) tags[count++] = t;
        row[t]--; /* 0 becomes CHAIN_NO_ROW */
    }
    c->row = row;
    c->tags = tags;
    return rows;
}

/* Readings sorted by the entry whose state they belong to, otherwise as in the file. */
static const uint32_t *reading_order(Job *j) {
    uint32_t *start = arena_array(j->arena, (size_t)j->entry_count + 1, sizeof *start);
    for (uint32_t i = 0; i < j->reading_count; i++)
        start[reading_entry(j, &j->readings[i]) + 1]++;
    for (uint32_t e = 0; e < j->entry_count; e++)
        start[e + 1] += start[e];
    uint32_t *order = arena_array(j->arena, j->reading_count + 1, sizeof *order);
    for (uint32_t i = 0; i < j->reading_count; i++)
        order[start[reading_entry(j, &j->readings[i])]++] = i;
    return order;
}

/* Marks what the new reading makes a repeat or replaces: older ones of the same entry and
 * condition. */
static void supersede(Job *j, const Chain *c, uint32_t index) {
    const Reading *r = &j->readings[index];
    if (r->flags & READ_STRUCK) return;
    uint32_t entry = reading_entry(j, r), looked = 0;
    for (uint32_t i = c->prev[index]; i; i = c->prev[i - 1]) {
        Reading *old = &j->readings[i - 1];
        if (reading_entry(j, old) != entry || ++looked > POINTS_MOST) return;
        if (!same_condition(old->at, r->at)) continue;
        if (old->entry != r->entry)
            old->flags |= READ_REPLACED;
        else if (!(old->flags & READ_STRUCK))
            old->flags |= READ_REPEATED;
        else
            continue;
        return;
    }
}

/* Hangs every reading behind the one before it, in the order in which they count. */
static void link_readings(Job *j, Chain *c, const uint32_t *order) {
    const uint16_t *rows = c->row;
    const Subject *subjects = j->subjects;
    uint32_t *last = c->last, *prev = c->prev, *classes = c->classes;
    size_t width = c->subjects;
    bool corrections = j->has_corrections;
    for (uint32_t i = 0, count = j->reading_count; i < count; i++) {
        uint32_t index = order ? order[i] : i;
        const Reading *r = &j->readings[index];
        uint16_t row = rows[r->tag];
        uint32_t *at = &last[row * width + r->subject];
        uint32_t before = *at;
        prev[index] = before;
        *at = index + 1;
        if (r->flags & READ_SPOT) c->spots[row] = true;
        if (!before)
            classes[row] |= (uint32_t)1 << subjects[r->subject].cls;
        else if (corrections || j->readings[before - 1].entry == r->entry)
            supersede(j, c, index);
    }
}

void chain_build(Job *j) {
    Chain *c = arena_alloc(j->arena, sizeof *c);
    c->subjects = j->subject_count;
    c->rows = assign_rows(j, c);
    c->last = arena_array(j->arena, (size_t)c->rows * c->subjects + 1, sizeof *c->last);
    c->prev = arena_array(j->arena, j->reading_count + 1, sizeof *c->prev);
    c->classes = arena_array(j->arena, c->rows + 1, sizeof *c->classes);
    c->spots = arena_array(j->arena, c->rows + 1, sizeof *c->spots);
    link_readings(j, c, j->has_corrections ? reading_order(j) : NULL);
    j->chain = c;
}
