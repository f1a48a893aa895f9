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

/* ---- the entries of a day -------------------------------------------------------------------- */

enum { ANY_MINUTE = -2 }; /* `corrects DATE` without a time means all of the day */

typedef struct DaySlot {
    int32_t day;
    int16_t minute;
    bool used;
    uint32_t first, last; /* entries */
} DaySlot;

struct DayTable {
    DaySlot *slots;
    uint32_t room, used;
    uint32_t noted; /* so many entries of the log are in it */
};

static DaySlot *find_slot(const struct DayTable *t, int32_t day, int16_t minute) {
    uint64_t key = (uint64_t)(uint32_t)day << 16 | (uint16_t)minute;
    uint32_t at = (uint32_t)(key * 0x9E3779B97F4A7C15u >> 32) & (t->room - 1);
    while (t->slots[at].used && (t->slots[at].day != day || t->slots[at].minute != minute))
        at = (at + 1) & (t->room - 1);
    return &t->slots[at];
}

static void make_room(struct DayTable *t, Arena *a) {
    if (t->room && t->used * 2 < t->room) return;
    DaySlot *old = t->slots;
    uint32_t count = t->room;
    t->room = count ? count * 2 : 64;
    t->slots = arena_array(a, t->room, sizeof *t->slots);
    for (uint32_t i = 0; i < count; i++) {
        if (old[i].used) *find_slot(t, old[i].day, old[i].minute) = old[i];
    }
}

static void note_entry(struct DayTable *t, Arena *a, uint32_t entry, int32_t day, int16_t minute) {
    make_room(t, a);
    DaySlot *slot = find_slot(t, day, minute);
    if (!slot->used) {
        *slot = (DaySlot){.day = day, .minute = minute, .used = true, .first = entry};
        t->used++;
    }
    slot->last = entry;
}

/* Made when the first entry corrects another: most logs have none. */
static const DaySlot *entries_of(Binder *b, Date asked) {
    const Job *j = b->job;
    if (!b->days) b->days = arena_alloc(j->arena, sizeof *b->days);
    struct DayTable *t = b->days;
    for (; t->noted < b->entry; t->noted++) {
        const Entry *e = &j->entries[t->noted];
        if (e->corrects || e->date.day == DAY_NONE) continue;
        note_entry(t, j->arena, t->noted, e->date.day, ANY_MINUTE);
        if (e->date.minute >= 0) note_entry(t, j->arena, t->noted, e->date.day, e->date.minute);
    }
    if (!t->room) return NULL;
    const DaySlot *slot = find_slot(t, asked.day, asked.minute < 0 ? ANY_MINUTE : asked.minute);
    return slot->used ? slot : NULL;
}

void correct_entry(Binder *b, Entry *e) {
    Date asked = b->line.corrected;
    const DaySlot *slot = entries_of(b, asked);
    e->asked = asked;
    if (slot) {
        e->corrects = b->job->has_corrections = true;
        e->first_corrected = slot->first;
        e->corrected = slot->last;
        return;
    }
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
    uint32_t first; /* its first entry; the last is where it is kept */
    int16_t minute;
    struct Day *next;
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

static Day *gather_day(const Job *j, const Entry *e) {
    Day *d = arena_alloc(j->arena, sizeof *d);
    *d = (Day){.first = e->first_corrected, .minute = e->asked.minute};
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
    return d;
}

/* A day is gathered once, however many entries correct it. `days`: by its last entry. */
static const Day *day_of(const Job *j, const Entry *e, Day **days) {
    for (Day *d = days[e->corrected]; d; d = d->next) {
        if (d->first == e->first_corrected && d->minute == e->asked.minute) return d;
    }
    Day *d = gather_day(j, e);
    d->next = days[e->corrected];
    days[e->corrected] = d;
    return d;
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

static bool is_of_several(const Job *j, const Reading *r) {
    const Entry *e = &j->entries[r->entry];
    return e->corrects && e->first_corrected != e->corrected && !(r->flags & READ_WORDS);
}

void place_corrections(Binder *b) {
    Job *j = b->job;
    Day **days = NULL;
    for (uint32_t i = 0; j->has_corrections && i < j->reading_count; i++) {
        if (!is_of_several(j, &j->readings[i])) continue;
        if (!days) {
            days = arena_array(j->arena, j->entry_count, sizeof(Day *));
            j->homes = arena_array(j->arena, j->reading_count, sizeof *j->homes);
            memset(j->homes, 0xff, j->reading_count * sizeof *j->homes);
        }
        place_reading(b, day_of(j, &j->entries[j->readings[i].entry], days), i, &j->homes[i]);
    }
}
