/* Where a reading stands so much above, or below, an earlier one of the same thing. */
#include "show/trend_parts.h"

#include <math.h>

static void settle_units(RiseReport *r, const SeriesList *list) {
    r->y = list->count ? list->items[0].shown : (Shown){r->tag->unit, r->tag->places};
    if (r->how->system) {
        const Unit *u = unit_in(r->y.unit, r->how->system);
        if (u != r->y.unit) r->y.places += r->y.unit->places_shift;
        r->y.unit = u;
    }
    if (r->y.places < 0) r->y.places = 0;
}

/* The reading that stands furthest above an earlier one, and the lowest of those before it; with
 * `sign` -1 the same downwards. */
static bool greatest_rise(const Series *s, double sign, Rise *out) {
    uint32_t low = 0;
    double most = 0;
    bool any = false;
    for (uint32_t i = 1; i < s->count; i++) {
        double rise = sign * (s->points[i].y - s->points[low].y);
        if (rise > most) {
            any = true;
            most = rise;
            *out = (Rise){s, &s->points[low], &s->points[i]};
        }
        if (rise < 0) low = i;
    }
    return any;
}

void rise_report(const SeriesList *list, const TrendHow *how, double least, Arena *a,
                 RiseReport *out) {
    RiseReport r = {.how = how, .tag = &how->v->tags[how->ask.tag], .least = least, .arena = a};
    uint32_t room = 0;
    settle_units(&r, list);
    double wanted = fabs(unit_diff_to_si(r.y.unit, least)) * (1 - 1e-9); /* sums are not exact */
    for (uint32_t i = 0; i < list->count; i++) {
        Rise rise;
        if (!greatest_rise(&list->items[i], least < 0 ? -1 : 1, &rise)) continue;
        if (fabs(rise.to->y - rise.from->y) < wanted) continue;
        arena_grow(a, r.items, r.count, room);
        r.items[r.count++] = rise;
    }
    *out = r;
}

static Str fixed(const RiseReport *r, double y) {
    Buf b = {0};
    buf_fixed(&b, y, r->y.places);
    Str text = arena_str(r->arena, buf_str(&b));
    buf_release(&b);
    return text;
}

static Str with_name(const RiseReport *r) {
    return r->how->ask.has_with ? r->how->v->tags[r->how->ask.with].name : STR("with");
}

enum { COLUMNS = 9, FOR_PROGRAMS = 4 };

static void put_rise(const RiseReport *r, Table *t, uint32_t columns, const Rise *rise) {
    uint32_t at = table_row(t);
    double from = unit_from_si(r->y.unit, rise->from->y), to = unit_from_si(r->y.unit, rise->to->y);
    Str subject = rise->s->subject, read_at = rise->s->at_text;
    if (read_at.n && columns == COLUMNS)
        subject = arena_printf(r->arena, "%.*s @ %.*s", STR_ARG(subject), STR_ARG(read_at));
    const Str cells[COLUMNS + FOR_PROGRAMS] = {rise->s->engine,
                                               subject,
                                               rise->to->place,
                                               fixed(r, from),
                                               fixed(r, to),
                                               fixed(r, to - from),
                                               trend_date(r->arena, rise->to->day),
                                               rise->to->job,
                                               rise->to->said ? *rise->to->said : str_none,
                                               STR("rise"),
                                               r->tag->name,
                                               str_from(r->y.unit->name),
                                               read_at};
    for (uint32_t i = 0; i < columns; i++)
        table_put(t, at, i, cells[i], TONE_PLAIN);
}

static Table *rise_table(const RiseReport *r, bool for_programs) {
    Table *t = table_new(r->arena);
    const TableColumn columns[COLUMNS + FOR_PROGRAMS] = {
        {.key = "engine", .heading = STR("engine"), .label = true},
        {.key = "subject", .heading = STR("")},
        {.key = "place", .heading = STR("at")},
        {.key = "from", .heading = STR("from"), .align = ALIGN_POINT, .json = JSON_NUMBER},
        {.key = "to", .heading = STR("to"), .align = ALIGN_POINT, .json = JSON_NUMBER},
        {.key = "change", .heading = STR("change"), .align = ALIGN_POINT, .json = JSON_NUMBER},
        {.key = "day", .heading = STR("on")},
        {.key = "job", .heading = STR("job")},
        {.key = "said", .heading = with_name(r)},
        {.key = "kind"},
        {.key = "tag"},
        {.key = "unit"},
        {.key = "at"}};
    uint32_t count = for_programs ? COLUMNS + FOR_PROGRAMS : COLUMNS;
    for (uint32_t i = 0; i < count; i++)
        table_column(t, columns[i]);
    for (uint32_t i = 0; i < r->count; i++)
        put_rise(r, t, count, &r->items[i]);
    return t;
}

void rise_text(Buf *out, const RiseReport *r) {
    Str title = arena_printf(r->arena, "%.*s, %s: %s by %.*s or more", STR_ARG(r->tag->name),
                             r->y.unit->name, r->least < 0 ? "fell" : "rose",
                             STR_ARG(fixed(r, fabs(r->least))));
    tone_text(out, title, TONE_HEAD, r->how->colour);
    buf_puts(out, "\n\n");
    table_text(out, rise_table(r, false), (TextStyle){r->how->width, r->how->colour, 2});
}

void rise_json(Buf *out, const RiseReport *r) {
    table_json(out, rise_table(r, true));
}

void rise_csv(Buf *out, const RiseReport *r) {
    table_csv(out, rise_table(r, true));
}
