/* What several logs of one engine say of the same thing, as one series. */
#include "book/series_parts.h"

#include "base/hash.h"
#include "compute/fitted.h"
#include <math.h>

typedef struct Last { /* of what is of the same thing: the last series, and how many points */
    Series *series;
    uint32_t number; /* of the series in the order in which they begin */
} Last;

typedef struct Table {
    Last *slots;
    uint32_t mask;
} Table;

static bool same_thing(const Series *a, const Series *b) {
    return str_eq(a->engine, b->engine) && str_eq(a->subject, b->subject);
}

static Last *slot_of(Table *t, const Series *s) {
    uint32_t at = (uint32_t)(hash_bytes(s->engine) * 31 + hash_bytes(s->subject)) & t->mask;
    while (t->slots[at].series && !same_thing(t->slots[at].series, s))
        at = (at + 1) & t->mask;
    return &t->slots[at];
}

/* Whether the engine had run less at the next log than at the end of this: another meter, or a
 * slip. */
static bool fell_between(const Tag *over, const Series *before, const Series *next) {
    return over && fitted_fell(over, before->engine_end, next->run_start);
}

/* What an item had run when the next log takes it up: where it was still fitted at the end of the
 * one before, it ran on until then. */
static double carried_run(const Tag *over, const Series *before, const Series *next) {
    if (!before->fitted_end) return before->run_end;
    if (fell_between(over, before, next)) return NAN;
    double between = next->run_start - before->engine_end;
    return before->run_end + (between < 0 ? 0 : between); /* less than 0 only by its scatter */
}

/* Of a place: what the engine has run is what the readings say, as long as that only grew. */
static double place_run(const Tag *over, Series *to, const Series *from) {
    to->run_lost |= fell_between(over, to, from);
    double base = to->run_lost ? NAN : 0;
    to->run_lost |= from->run_lost;
    return base;
}

/* Of the first of a thing: room for the points of all that may follow. */
static void begin(Arena *a, Series *to, const Series *from, uint32_t points) {
    *to = *from;
    if (points <= from->count) return;
    to->points = arena_array(a, points, sizeof *to->points);
    to->room = points;
    if (from->count) memcpy(to->points, from->points, from->count * sizeof *to->points);
}

static void append(Arena *a, const Tag *over, Series *to, const Series *from) {
    double base = to->is_item ? carried_run(over, to, from) : place_run(over, to, from);
    for (uint32_t i = 0; i < from->count; i++) {
        SeriesPoint p = from->points[i];
        p.run += base;
        arena_grow(a, to->points, to->count, to->room);
        to->points[to->count++] = p;
    }
    to->left_out.suspect += from->left_out.suspect;
    to->left_out.struck += from->left_out.struck;
    to->left_out.replaced += from->left_out.replaced;
    to->left_out.beyond += from->left_out.beyond;
    to->left_out.nominal += from->left_out.nominal;
    to->left_out.unknown += from->left_out.unknown;
    to->ends_unknown = from->ends_unknown;
    to->limits = from->limits;
    to->limit_count = from->limit_count;
    to->place = from->place.n ? from->place : to->place;
    if (!to->first)
        to->first = from->first;
    else if (from->first)
        to->last = from->last ? from->last : from->first;
    to->run_end = from->run_end + base;
    if (to->is_item || !isnan(from->engine_end)) to->engine_end = from->engine_end;
    to->fitted_end = from->fitted_end;
}

/* Whether the next log goes on with the series: not where another item came to sit meanwhile, or
 * the item moved and series are by place. */
static bool goes_on(const Series *a, const Series *b, bool by_place) {
    if (b->began.n || !str_eq(a->item, b->item)) return false;
    return !by_place || str_eq(a->place, b->place);
}

static int by_engine(const void *a, const void *b) {
    const Head *x = *(Head *const *)a, *y = *(Head *const *)b;
    int c = str_cmp(x->list.items[0].engine, y->list.items[0].engine);
    if (c) return c;
    if (x->first_day != y->first_day) return x->first_day < y->first_day ? -1 : 1;
    return str_cmp(x->job->name, y->job->name);
}

/* How many points come of each series, in the order in which they begin: so that what is held for a
 * whole book is no more than it needs. By place a series may end sooner than can be seen from here;
 * then there are more of them, and append makes room. */
static uint32_t count_list(Table *t, const SeriesAsk *ask, SeriesList *from, uint32_t *points,
                           uint32_t count) {
    for (uint32_t i = 0; i < from->count; i++) {
        Series *s = &from->items[i];
        Last *slot = slot_of(t, s);
        if (ask->by_place || !slot->series || !goes_on(slot->series, s, false))
            *slot = (Last){s, count++};
        points[slot->number] += s->count;
    }
    return count;
}

static void join_list(Table *t, const Tag *over, const SeriesAsk *ask, const SeriesList *from,
                      const uint32_t *points, Arena *a, SeriesList *out) {
    for (uint32_t i = 0; i < from->count; i++) {
        const Series *s = &from->items[i];
        Last *slot = slot_of(t, s);
        if (slot->series && goes_on(slot->series, s, ask->by_place)) {
            append(a, over, slot->series, s);
            continue;
        }
        slot->series = &out->items[out->count];
        begin(a, slot->series, s, ask->by_place ? 0 : points[out->count]);
        out->count++;
    }
}

static Table table_for(uint32_t series, Arena *a) {
    uint32_t room = 64;
    while (room < series * 2)
        room *= 2;
    return (Table){arena_array(a, room, sizeof(Last)), room - 1};
}

void series_join(Heads *heads, const Tag *over, const SeriesAsk *ask, Arena *a, SeriesList *out) {
    Head **sorted = arena_array(a, heads->count + 1, sizeof *sorted);
    uint32_t n = 0, series = 0;
    for (uint32_t i = 0; i < heads->count; i++) {
        Head *head = &heads->items[i];
        repeats_join(&out->repeats, &head->list.repeats);
        if (!head->list.count) continue;
        sorted[n++] = head;
        series += head->list.count;
    }
    qsort(sorted, n, sizeof(Head *), by_engine);
    Table t = table_for(series, a);
    uint32_t *points = arena_array(a, series + 1, sizeof *points), count = 0;
    for (uint32_t i = 0; i < n; i++)
        count = count_list(&t, ask, &sorted[i]->list, points, count);
    memset(t.slots, 0, (t.mask + (size_t)1) * sizeof *t.slots);
    out->items = arena_array(a, count + 1, sizeof *out->items);
    for (uint32_t i = 0; i < n; i++)
        join_list(&t, over, ask, &sorted[i]->list, points, a, out);
}
