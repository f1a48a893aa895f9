#include "index/intern.h"

#include "base/hash.h"

typedef struct Name {
    Str text;
    uint64_t hash;
    int64_t id;
} Name;

typedef struct NameSet {
    Name *slots;
    uint32_t room, count;
} NameSet;

enum { RECENT = 8 };
struct Interned {
    NameSet units, places, shapes;
    struct { /* lists of places of the job at hand, by where their text stands */
        const char *p;
        int64_t id;
    } recent[RECENT];
    uint32_t next_recent;
};

static Name *name_slot(NameSet *set, Str text, uint64_t hash) {
    for (uint64_t h = hash;; h++) {
        Name *n = &set->slots[h & (set->room - 1)];
        if (!n->id || (n->hash == hash && str_eq(n->text, text))) return n;
    }
}

static void name_add(Arena *a, NameSet *set, Str text, uint64_t hash, int64_t id) {
    if ((set->count + 1) * 2 > set->room) {
        NameSet bigger = {.room = set->room ? set->room * 2 : 256, .count = set->count};
        bigger.slots = arena_array(a, bigger.room, sizeof *bigger.slots);
        for (uint32_t i = 0; i < set->room; i++) {
            const Name *n = &set->slots[i];
            if (n->id) *name_slot(&bigger, n->text, n->hash) = *n;
        }
        *set = bigger;
    }
    *name_slot(set, text, hash) = (Name){arena_str(a, text), hash, id};
    set->count++;
}

static bool load_names(Index *x, StatementId id, NameSet *set, Err *err) {
    sqlite3_stmt *s = db_statement(x, id, err);
    int rc = SQLITE_ERROR;
    while (s && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        Str text = column_str(s, 1);
        name_add(x->arena, set, text, hash_bytes(text), sqlite3_column_int64(s, 0));
    }
    if (!s || rc != SQLITE_DONE) return db_fail(x, err);
    sqlite3_reset(s);
    return true;
}

typedef struct Shape { /* how the readings of a run stand: a row of t_shape; 0 is NULL */
    int32_t unit, at_unit, places, width, step; /* width + 1 */
} Shape;

static Str shape_key(const Shape *shape) {
    return (Str){(const char *)shape, sizeof *shape};
}

static bool load_shapes(Index *x, NameSet *set, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_SHAPES, err);
    int rc = SQLITE_ERROR;
    while (s && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        bool even = sqlite3_column_type(s, 4) != SQLITE_NULL;
        Shape shape = {.unit = sqlite3_column_int(s, 1),
                       .at_unit = sqlite3_column_int(s, 2),
                       .places = sqlite3_column_int(s, 3),
                       .width = even ? sqlite3_column_int(s, 4) + 1 : 0,
                       .step = sqlite3_column_int(s, 5)};
        Str key = shape_key(&shape);
        name_add(x->arena, set, key, hash_bytes(key), sqlite3_column_int64(s, 0));
    }
    if (!s || rc != SQLITE_DONE) return db_fail(x, err);
    sqlite3_reset(s);
    return true;
}

bool need_interned(Index *x, Err *err) {
    if (x->interned) return true;
    struct Interned *in = arena_alloc(x->arena, sizeof *in);
    if (!load_names(x, S_UNITS, &in->units, err) || !load_names(x, S_PLACES, &in->places, err) ||
        !load_shapes(x, &in->shapes, err))
        return false;
    x->interned = in;
    return true;
}

/* The number of a text, a new one for a new text; 0 on failure. */
static int64_t number_of(Index *x, NameSet *set, StatementId put, Str text, const Unit *u,
                         Err *err) {
    uint64_t hash = hash_bytes(text);
    Name *n = set->room ? name_slot(set, text, hash) : NULL;
    if (n && n->id) return n->id;
    int64_t id = (int64_t)set->count + 1;
    sqlite3_stmt *s = db_statement(x, put, err);
    if (!s) return 0;
    sqlite3_bind_int64(s, 1, id);
    sqlite3_bind_text64(s, 2, text.p ? text.p : "", text.n, SQLITE_STATIC, SQLITE_UTF8);
    if (u) {
        sqlite3_bind_double(s, 3, u->factor);
        sqlite3_bind_double(s, 4, u->offset);
    }
    if (!db_run(x, s, err)) return 0;
    name_add(x->arena, set, text, hash, id);
    return id;
}

static int64_t unit_number(Index *x, const Unit *u, Err *err) {
    return number_of(x, &x->interned->units, S_UNIT_PUT, str_from(u->name), u, err);
}

bool bind_unit(Index *x, sqlite3_stmt *s, int at, const Unit *u, Err *err) {
    if (!u) {
        sqlite3_bind_null(s, at);
        return true;
    }
    int64_t id = unit_number(x, u, err);
    sqlite3_bind_int64(s, at, id);
    return id != 0;
}

void forget_recent(Index *x) {
    memset(x->interned->recent, 0, sizeof x->interned->recent);
}

/* A job's lists are shared between its rows: most are met again by their address. */
int64_t places_number(Index *x, Str places, Err *err) {
    struct Interned *in = x->interned;
    for (uint32_t i = 0; i < RECENT; i++) {
        if (in->recent[i].p == places.p) return in->recent[i].id;
    }
    int64_t id = number_of(x, &in->places, S_PLACES_PUT, places, NULL, err);
    uint32_t at = in->next_recent++ % RECENT;
    in->recent[at].p = id ? places.p : NULL;
    in->recent[at].id = id;
    return id;
}

static bool shape_of(Index *x, const RunRow *r, Shape *out, Err *err) {
    int64_t places = places_number(x, r->places, err);
    int64_t unit = r->unit ? unit_number(x, r->unit, err) : 0;
    int64_t at_unit = r->at_unit ? unit_number(x, r->at_unit, err) : 0;
    *out =
        (Shape){(int32_t)unit, (int32_t)at_unit, (int32_t)places, r->width + 1, (int32_t)r->step};
    return places && !r->unit == !unit && !r->at_unit == !at_unit;
}

int64_t shape_number(Index *x, const RunRow *r, Err *err) {
    Shape shape;
    if (!shape_of(x, r, &shape, err)) return 0;
    NameSet *set = &x->interned->shapes;
    Str key = shape_key(&shape);
    uint64_t hash = hash_bytes(key);
    Name *n = set->room ? name_slot(set, key, hash) : NULL;
    if (n && n->id) return n->id;
    int64_t id = (int64_t)set->count + 1;
    sqlite3_stmt *s = db_statement(x, S_SHAPE_PUT, err);
    if (!s) return 0;
    sqlite3_bind_int64(s, 1, id);
    bind_some(s, 2, shape.unit, shape.unit != 0);
    bind_some(s, 3, shape.at_unit, shape.at_unit != 0);
    sqlite3_bind_int64(s, 4, shape.places);
    bind_some(s, 5, shape.width - 1, shape.width > 0);
    bind_some(s, 6, shape.step, shape.step != 0);
    if (!db_run(x, s, err)) return 0;
    name_add(x->arena, set, key, hash, id);
    return id;
}
