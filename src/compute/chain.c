#include "compute/chain.h"

enum { POINTS_MOST = 1024 }; /* readings of one curve in one entry that are compared for repeats */

uint32_t corrected_entry(const Job *j, const Reading *r) {
    const Entry *e = &j->entries[r->entry];
    if (!e->corrects || r->flags & READ_WORDS) return r->entry;
    uint32_t home = j->homes ? j->homes[r - j->readings] : UINT32_MAX;
    return home != UINT32_MAX ? home : e->corrected;
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

typedef struct Linker {
    Job *job;
    uint16_t *row;  /* of the chain, while it is made */
    uint64_t *read; /* a bit per tag: it has a row */
    ChainRow *rows;
    uint32_t count, room;
    uint32_t *last; /* of the next row */
    uint32_t *prev;
} Linker;

/* Marks what the new reading makes a repeat or replaces: older ones of the same entry and
 * condition. */
static inline void supersede(const Linker *l, ChainRow *row, uint32_t index, bool corrections) {
    Reading *all = l->job->readings, *r = &all[index];
    if (r->flags & READ_STRUCK) return;
    uint32_t entry = corrections ? corrected_entry(l->job, r) : r->entry, looked = 0;
    for (uint32_t i = l->prev[index]; i; i = l->prev[i - 1]) {
        Reading *old = &all[i - 1];
        if ((corrections ? corrected_entry(l->job, old) : old->entry) != entry) return;
        if (++looked > POINTS_MOST) return;
        if (looked > 1) row->crowded = true;
        if (!same_condition(old->at, r->at)) continue;
        if (old->entry != r->entry)
            old->flags |= READ_REPLACED;
        else if (!(old->flags & READ_STRUCK))
            old->flags |= READ_REPEATED;
        else
            continue;
        row->flags |= old->flags;
        return;
    }
}

/* Kept out of line, as add_extent is: so that every reading can be linked without a call. */
__attribute__((noinline)) static ChainRow *new_row(Linker *l, const Reading *first) {
    enum { TOGETHER = 8 }; /* rows whose `last` are made at once */
    const Job *j = l->job;
    size_t subjects = j->subject_count;
    arena_grow(j->arena, l->rows, l->count, l->room);
    if (l->count % TOGETHER == 0)
        l->last = arena_array(j->arena, TOGETHER * subjects, sizeof *l->last);
    l->row[first->tag] = (uint16_t)l->count;
    l->read[first->tag / 64] |= (uint64_t)1 << first->tag % 64;
    ChainRow *row = &l->rows[l->count++];
    *row = (ChainRow){.last = l->last,
                      .unit = first->unit,
                      .of = j->vocab->tags[first->tag].of,
                      .extent_count = 1,
                      .extents = {{first->at, INFINITY, -INFINITY}}};
    l->last += subjects;
    return row;
}

/* NAN, which stands for no condition, is found by its bits. */
static uint64_t bits_of(double value) {
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

/* Where conditions that count as one have an extent each, none holds all of their values. */
static bool has_condition(const ChainRow *row, double at) {
    for (uint8_t i = 0; i < row->extent_count; i++) {
        double known = row->extents[i].at;
        if (same_condition(isnan(known) ? 0 : known, isnan(at) ? 0 : at)) return true;
    }
    return false;
}

__attribute__((noinline)) static void add_extent(ChainRow *row, double at, double value) {
    if (isnan(value) || row->extent_count == EXTENTS_MOST || has_condition(row, at))
        row->unbounded = true;
    else
        row->extents[row->extent_count++] = (Extent){at, value, value};
}

static inline void stretch(ChainRow *row, Extent *x, double value) {
    x->low = value < x->low ? value : x->low;
    x->high = value > x->high ? value : x->high;
    if (isnan(value)) row->unbounded = true;
}

/* An unbounded row is not asked for its extents: what becomes of them is all one. */
static inline void take_value(ChainRow *row, double at, double value) {
    Extent *x = row->extents;
    while (bits_of(x->at) != bits_of(at)) {
        if (++x < row->extents + row->extent_count) continue;
        add_extent(row, at, value);
        return;
    }
    stretch(row, x, value);
}

void chain_value_changed(const Job *j, const Reading *r) {
    ChainRow *row = &j->chain->rows[j->chain->row[r->tag]];
    row->flags |= r->flags;
    take_value(row, r->at, r->value);
}

static void take_subject(ChainRow *row, ClassId cls) {
    row->classes |= (uint32_t)1 << cls;
    row->own += cls == row->of;
}

/* Hangs a reading behind the one before it. */
static inline void link_reading(Linker *l, uint32_t index, bool corrections) {
    const Job *j = l->job;
    const Reading *all = j->readings, *r = &all[index];
    uint16_t known = l->row[r->tag];
    ChainRow *row = known == CHAIN_NO_ROW ? new_row(l, r) : &l->rows[known];
    uint32_t *last = &row->last[r->subject], before = *last;
    l->prev[index] = before;
    *last = index + 1;
    row->flags |= r->flags;
    if (r->unit != row->unit) row->units_differ = true;
    take_value(row, r->at, r->value);
    if (!before)
        take_subject(row, j->subjects[r->subject].cls);
    else if (corrections || all[before - 1].entry == r->entry)
        supersede(l, row, index, corrections);
    else
        row->again = true;
}

/* In the order in which they count: that of the file where none corrects, as mostly. */
static void link_readings(Linker *l) {
    Job *j = l->job;
    uint32_t count = j->reading_count;
    if (j->has_corrections) {
        const uint32_t *order = reading_order(j);
        for (uint32_t i = 0; i < count; i++)
            link_reading(l, order[i], true);
    } else {
        for (uint32_t i = 0; i < count; i++)
            link_reading(l, i, false);
    }
}

/* Most of the vocabulary is not: 64 tags are passed over at once. */
static const TagId *tags_read(const Linker *l) {
    TagId *tags = arena_array(l->job->arena, l->count + 1, sizeof *tags);
    for (uint32_t word = 0, count = 0; count < l->count; word++) {
        for (uint64_t left = l->read[word]; left; left &= left - 1)
            tags[count++] = (TagId)(word * 64 + (unsigned)__builtin_ctzll(left));
    }
    return tags;
}

void chain_build(Job *j) {
    enum { ROWS_USUAL = 32 };
    uint16_t tags = j->vocab->tag_count;
    Linker l = {.job = j,
                .rows = arena_bare_array(j->arena, ROWS_USUAL, sizeof *l.rows),
                .room = ROWS_USUAL,
                .row = arena_bare_array(j->arena, tags, sizeof *l.row),
                .read = arena_array(j->arena, tags / 64 + 1u, sizeof *l.read),
                .prev = arena_bare_array(j->arena, j->reading_count + 1, sizeof *l.prev)};
    memset(l.row, 0xff, tags * sizeof *l.row);
    link_readings(&l);
    Chain *c = arena_alloc(j->arena, sizeof *c);
    *c = (Chain){.row = l.row,
                 .rows = l.rows,
                 .row_count = l.count,
                 .tags = tags_read(&l),
                 .prev = l.prev,
                 .subjects = j->subject_count};
    j->chain = c;
}
