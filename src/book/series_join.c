/* What several logs of one engine say of the same thing, as one series. */
#include "book/series_parts.h"

#include "base/hash.h"
#include <math.h>

typedef struct Table { /* series by what they are of: the last one of each */
    uint32_t *slots;   /* index in the list + 1 */
    uint32_t mask;
} Table;

static bool same_thing(const Series *a, const Series *b) {
    return str_eq(a->engine, b->engine) && str_eq(a->subject, b->subject);
}

static uint32_t *slot_of(Table *t, const SeriesList *list, const Series *s) {
    uint32_t at = (uint32_t)(hash_bytes(s->engine) * 31 + hash_bytes(s->subject)) & t->mask;
    while (t->slots[at] && !same_thing(&list->items[t->slots[at] - 1], s))
        at = (at + 1) & t->mask;
    return &t->slots[at];
}

/* What an item had run when the next log takes it up: where it was still fitted at the end of the
 * one before, it ran on until then. */
static double carried_run(const Series *before, const Series *next) {
    double run = before->run_end;
    if (before->fitted_end) run += next->run_start - before->engine_end;
    return run;
}

static void append(Arena *a, Series *to, const Series *from, bool is_item) {
    double base = is_item ? carried_run(to, from) : 0;
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
    to->limits = from->limits;
    to->limit_count = from->limit_count;
    to->place = from->place.n ? from->place : to->place;
    if (!to->first)
        to->first = from->first;
    else if (from->first)
        to->last = from->last ? from->last : from->first;
    to->run_end = from->run_end + base;
    to->engine_end = from->engine_end;
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

static void add_repeats(Arena *a, Repeats *to, const Repeats *from) {
    for (uint32_t i = 0; i < from->value_count; i++) {
        arena_grow(a, to->values, to->value_count, to->value_room);
        to->values[to->value_count++] = from->values[i];
    }
    for (uint32_t i = 0; i < from->count; i++) {
        arena_grow(a, to->sizes, to->count, to->room);
        to->sizes[to->count++] = from->sizes[i];
    }
}

static void join_list(Table *t, const SeriesAsk *ask, const SeriesList *from, Arena *a,
                      SeriesList *out) {
    for (uint32_t i = 0; i < from->count; i++) {
        const Series *s = &from->items[i];
        uint32_t *slot = slot_of(t, out, s);
        bool is_item = !isnan(s->run_end) || s->fitted_end;
        if (*slot && goes_on(&out->items[*slot - 1], s, ask->by_place)) {
            append(a, &out->items[*slot - 1], s, is_item);
            continue;
        }
        out->items[out->count++] = *s;
        *slot = out->count;
    }
}

void series_join(Heads *heads, const SeriesAsk *ask, Arena *a, SeriesList *out) {
    Head **sorted = arena_array(a, heads->count + 1, sizeof *sorted);
    uint32_t n = 0, series = 0;
    for (uint32_t i = 0; i < heads->count; i++) {
        Head *head = &heads->items[i];
        add_repeats(a, &out->repeats, &head->list.repeats);
        if (!head->list.count) continue;
        sorted[n++] = head;
        series += head->list.count;
    }
    qsort(sorted, n, sizeof(Head *), by_engine);
    out->items = arena_array(a, series + 1, sizeof *out->items);
    uint32_t room = 64;
    while (room < series * 2)
        room *= 2;
    Table t = {arena_array(a, room, sizeof(uint32_t)), room - 1};
    for (uint32_t i = 0; i < n; i++)
        join_list(&t, ask, &sorted[i]->list, a, out);
}
