/*
 * Entries that correct an earlier day. Of a day with one entry, that is the one whose readings are
 * replaced. Of several, each correcting reading goes where its thing was read, and to the last
 * where it was read in none.
 */
#include "compute/bind.h"

#include "compute/chain.h"
#include <stdlib.h>

/* Whether the line `DATE corrects ASKED` means this entry. */
static bool meant(const Entry *old, Date asked) {
    if (old->corrects || old->date.day != asked.day) return false;
    return asked.minute < 0 || old->date.minute == asked.minute;
}

void correct_entry(Binder *b, Entry *e) {
    Job *j = b->job;
    Date asked = b->line.corrected;
    for (uint32_t i = 0; i < b->entry; i++) {
        if (!meant(&j->entries[i], asked)) continue;
        if (!e->corrects) e->first_corrected = i;
        e->corrects = true;
        e->corrected = i;
    }
    e->asked = asked;
    j->has_corrections |= e->corrects;
    if (e->corrects) return;
    char day[DATE_TEXT];
    fault(b, CORRECTS_NOTHING, b->line.whole,
          "no entry above is dated %s; write the date of the entry that this one corrects",
          date_text(asked, day));
}

/* ---- which of several entries of a day ---------------------------------------------------------
 */

typedef struct ReadThen { /* a reading of the day that is corrected */
    const Reading *r;
    uint32_t index;
} ReadThen;

typedef struct Day {
    ReadThen *items;
    uint32_t count, room;
    uint32_t first, last; /* its entries */
    int16_t minute;
} Day;

/* NAN, of what has no condition, before all numbers. */
static int by_number(double a, double b) {
    if (isnan(a) || isnan(b)) return isnan(b) - isnan(a);
    return (a > b) - (a < b);
}

static int by_thing(const Reading *a, const Reading *b) {
    if (a->tag != b->tag) return a->tag < b->tag ? -1 : 1;
    if (a->subject != b->subject) return a->subject < b->subject ? -1 : 1;
    return same_condition(a->at, b->at) ? 0 : by_number(a->at, b->at);
}

static int in_order(const void *pa, const void *pb) {
    const ReadThen *a = pa, *b = pb;
    int thing = by_thing(a->r, b->r);
    return thing ? thing : (a->index > b->index) - (a->index < b->index);
}

static bool is_day_of(const Day *d, const Entry *e) {
    return d->items && d->first == e->first_corrected && d->last == e->corrected &&
           d->minute == e->asked.minute;
}

/* Days are often corrected once, seldom twice in a row: the last one is kept. */
static void read_day(const Job *j, const Entry *e, Day *d) {
    if (is_day_of(d, e)) return;
    *d = (Day){.first = e->first_corrected, .last = e->corrected, .minute = e->asked.minute};
    uint32_t end = e->corrected + 1 < j->entry_count ? j->entries[e->corrected + 1].first_reading
                                                     : j->reading_count;
    for (uint32_t i = j->entries[d->first].first_reading; i < end; i++) {
        const Reading *r = &j->readings[i];
        if (!meant(&j->entries[r->entry], e->asked) || r->flags & (READ_WORDS | READ_STRUCK))
            continue;
        arena_grow(j->arena, d->items, d->count, d->room);
        d->items[d->count++] = (ReadThen){r, i};
    }
    if (d->count) qsort(d->items, d->count, sizeof *d->items, in_order);
}

/* The reading's thing as the day's last entry read it; NULL. *first: as the first did. */
static const Reading *find_then(const Day *d, const Reading *r, const Reading **first) {
    uint32_t low = 0, high = d->count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (by_thing(d->items[middle].r, r) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    const Reading *last = NULL;
    *first = NULL;
    for (; low < d->count && by_thing(d->items[low].r, r) == 0; low++) {
        last = d->items[low].r;
        if (!*first) *first = last;
    }
    return last;
}

/* An entry with a time of its own can be named by it. */
static void say_unsure(Binder *b, const Reading *r, const Reading *first) {
    const Job *j = b->job;
    char then[DATE_TEXT];
    Date date = j->entries[first->entry].date;
    if (r->source != 0) return;
    Str earlier = date.minute < 0 ? STR("strike it where it stands, with x")
                                  : arena_printf(j->arena, "head the correction `corrects %s`",
                                                 date_text(date, then));
    fault(b, CORRECTS_UNSURE, reading_text(j, r),
          "two entries of that day read `%.*s` here, and this takes the place of the later; if the "
          "earlier is meant, %.*s",
          STR_ARG(b->v->tags[r->tag].name), STR_ARG(earlier));
}

static void place_reading(Binder *b, const Day *d, uint32_t i, uint32_t *home) {
    const Reading *r = &b->job->readings[i], *first, *then = find_then(d, r, &first);
    *home = then ? then->entry : b->job->entries[r->entry].corrected;
    if (then && first->entry != then->entry) say_unsure(b, r, first);
}

void place_corrections(Binder *b) {
    Job *j = b->job;
    Day day = {0};
    for (uint32_t i = 0; j->has_corrections && i < j->reading_count; i++) {
        const Entry *e = &j->entries[j->readings[i].entry];
        if (!e->corrects || e->first_corrected == e->corrected || j->readings[i].flags & READ_WORDS)
            continue;
        if (!j->homes) {
            uint32_t *homes = arena_array(j->arena, j->reading_count, sizeof *homes);
            for (uint32_t k = 0; k < j->reading_count; k++)
                homes[k] = UINT32_MAX;
            j->homes = homes;
        }
        read_day(j, e, &day);
        place_reading(b, &day, i, &j->homes[i]);
    }
}
