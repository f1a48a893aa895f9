/* A selective fit for other programs. */
#include "show/fit.h"

#include "compute/say.h"
#include <math.h>

typedef struct Json {
    Buf *out;
    const FitAnswer *f;
    const Job *j;
    const Vocab *v;
    Arena *a;
} Json;

static void key(Json *o, const char *name) {
    buf_printf(o->out, ",\"%s\":", name);
}

static void put_text(Json *o, const char *name, Str text) {
    key(o, name);
    buf_json(o->out, text);
}

/* To nine digits: what lies behind is the arithmetic's, not the engine's. */
static void put_double(Json *o, double v) {
    enum { DIGITS = 9, PLACES_MOST = 15 };
    int before = v == 0 ? 1 : (int)floor(log10(fabs(v))) + 1;
    int places = before >= DIGITS ? 0 : DIGITS - before;
    size_t start = o->out->n;
    buf_fixed(o->out, v, places > PLACES_MOST ? PLACES_MOST : places);
    if (o->out->failed || str_find_char(str_skip(buf_str(o->out), start), '.', 0) == SIZE_MAX)
        return;
    while (o->out->p[o->out->n - 1] == '0')
        o->out->n--;
    if (o->out->p[o->out->n - 1] == '.') o->out->n--;
    o->out->p[o->out->n] = '\0';
}

static void put_units(Json *o) {
    const Fit *fit = o->f->ask->fit;
    key(o, "units");
    buf_putc(o->out, '{');
    for (uint8_t k = 0; k < fit->table_count; k++) {
        if (k) buf_putc(o->out, ',');
        buf_json(o->out, o->v->tags[fit->table[k]].name);
        buf_putc(o->out, ':');
        buf_json(o->out, str_from(say_unit(o->j, fit->table[k], SYSTEM_NONE).unit->name));
    }
    if (fit->adjust != TAG_NONE) {
        buf_puts(o->out, fit->table_count ? ",\"shims\":" : "\"shims\":");
        buf_json(o->out, str_from(say_unit(o->j, fit->adjust, SYSTEM_NONE).unit->name));
    }
    buf_putc(o->out, '}');
}

static void put_stack(Json *o, uint32_t p) {
    const FitAnswer *f = o->f;
    const Unit *unit = f->sizes ? say_unit(o->j, f->ask->fit->adjust, SYSTEM_NONE).unit : NULL;
    bool first = true;
    key(o, "shims");
    buf_putc(o->out, '[');
    for (uint32_t t = f->sizes; t-- > 0;) {
        for (uint8_t n = 0; n < f->stacks.of[f->stack[p]][t]; n++) {
            if (!first) buf_putc(o->out, ',');
            put_double(o, unit_from_si(unit, f->size[t].si));
            first = false;
        }
    }
    buf_putc(o->out, ']');
}

static void put_margins(Json *o, uint32_t p) {
    const FitAnswer *f = o->f;
    bool first = true;
    key(o, "margins");
    buf_putc(o->out, '[');
    for (uint32_t l = 0; l < f->limits; l++) {
        const FitMargin *m = &f->after.margin[(size_t)p * f->limits + l];
        const Force *force = f->limit[l].force;
        if (!m->there) continue;
        const Unit *unit = say_unit(o->j, force->tag, SYSTEM_NONE).unit;
        buf_puts(o->out, first ? "{\"tag\":" : ",{\"tag\":");
        first = false;
        buf_json(o->out, o->v->tags[force->tag].name);
        put_text(o, "by", force->by);
        key(o, "margin");
        put_double(o, unit_diff_from_si(unit, m->margin));
        put_text(o, "unit", str_from(unit->name));
        if (m->unsure > 0) {
            key(o, "uncertainty");
            put_double(o, unit_diff_from_si(unit, m->unsure));
        }
        buf_putc(o->out, '}');
    }
    buf_putc(o->out, ']');
}

static void put_place(Json *o, uint32_t p) {
    const FitAnswer *f = o->f;
    const Fit *fit = f->ask->fit;
    buf_puts(o->out, "{\"kind\":\"place\"");
    put_text(o, "subject", subject_name(o->j, f->place[p], o->a));
    if (fit->item != CLASS_NONE) put_text(o, "item", subject_name(o->j, f->after.item[p], o->a));
    put_stack(o, p);
    for (uint8_t k = 0; k < fit->table_count; k++) {
        const FitFigure *figure = &f->after.figure[(size_t)p * fit->table_count + k];
        if (figure->st & V_MISSING) continue;
        buf_putc(o->out, ',');
        buf_json(o->out, o->v->tags[fit->table[k]].name);
        buf_putc(o->out, ':');
        put_double(o, unit_from_si(say_unit(o->j, fit->table[k], SYSTEM_NONE).unit, figure->value));
    }
    put_margins(o, p);
    put_units(o);
    buf_puts(o->out, "}\n");
}

static void put_gives_way(Json *o, const Force *force, double amount) {
    const Unit *unit = say_unit(o->j, force->tag, SYSTEM_NONE).unit;
    key(o, "gives_way_by");
    put_double(o, unit_diff_from_si(unit, amount));
    put_text(o, "unit", str_from(unit->name));
}

/* Of what was found only limits on all places together can be in the way; of nothing, those whose
 * giving way would serve more. */
static bool is_in_the_way(const FitAnswer *f, uint32_t l) {
    if (!f->result.choice) return !f->limit[l].whole && f->why.limit[l].served > f->why.served;
    const FitMargin *all = &f->after.margin[(size_t)f->places * f->limits + l];
    return all->there && all->broken;
}

static void put_in_the_way(Json *o) {
    const FitAnswer *f = o->f;
    bool first = true;
    key(o, "in_the_way");
    buf_putc(o->out, '[');
    for (uint32_t l = 0; l < f->limits; l++) {
        const Force *force = f->limit[l].force;
        if (!is_in_the_way(f, l)) continue;
        buf_puts(o->out, first ? "{\"tag\":" : ",{\"tag\":");
        first = false;
        buf_json(o->out, o->v->tags[force->tag].name);
        put_text(o, "by", force->by);
        put_text(o, "limit", say_range(o->a, force));
        if (f->result.choice) {
            put_gives_way(o, force, -f->after.margin[(size_t)f->places * f->limits + l].margin);
        } else {
            const FitBlock *b = &f->why.limit[l];
            buf_printf(o->out, ",\"served\":%zu", b->served);
            if (b->enough && b->amount_known) put_gives_way(o, force, b->amount);
        }
        buf_putc(o->out, '}');
    }
    buf_putc(o->out, ']');
}

/* Limits that nothing could be held against: who reads `holds` has to know of them. */
static void put_not_judged(Json *o) {
    const FitAnswer *f = o->f;
    bool first = true;
    for (uint32_t l = 0; l < f->limits; l++) {
        const FitLimit *limit = &f->limit[l];
        if (limit->judged || limit->missing == TAG_NONE) continue;
        buf_puts(o->out, first ? ",\"not_judged\":[{\"tag\":" : ",{\"tag\":");
        first = false;
        buf_json(o->out, o->v->tags[limit->force->tag].name);
        put_text(o, "by", limit->force->by);
        put_text(o, "limit", say_range(o->a, limit->force));
        put_text(o, "missing", o->v->tags[limit->missing].name);
        buf_putc(o->out, '}');
    }
    if (!first) buf_putc(o->out, ']');
}

static void put_result(Json *o) {
    const FitAnswer *f = o->f;
    const FitResult *r = &f->result;
    buf_printf(o->out, "{\"kind\":\"result\",\"holds\":%s",
               r->choice && !f->whole_broken ? "true" : "false");
    if (r->choice) {
        buf_printf(o->out, ",\"proved\":%s", r->status == FIT_OPTIMAL ? "true" : "false");
        if (f->has_aim)
            buf_printf(o->out, ",\"worst_deviation\":%d,\"sum_squares\":%lld", r->worst_deviation,
                       (long long)r->sum_squares);
        if (isfinite(r->worst_margin)) {
            key(o, "worst_margin");
            put_double(o, r->worst_margin);
        }
        buf_printf(o->out, ",\"shims\":%zu,\"moved\":%zu", r->adjusters, r->moved);
    } else {
        buf_printf(o->out, ",\"served\":%zu,\"places\":%u,\"items_short\":%zu", f->why.served,
                   f->places, f->why.items_short);
    }
    put_in_the_way(o);
    put_not_judged(o);
    buf_puts(o->out, "}\n");
}

void fit_json(Buf *out, const FitAnswer *f) {
    Json o = {out, f, f->job, f->job->vocab, arena_new()};
    for (uint32_t p = 0; f->result.choice && p < f->places; p++)
        put_place(&o, p);
    put_result(&o);
    arena_free(o.a);
}
