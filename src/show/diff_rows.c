/* A comparison as rows for other programs. */
#include "show/diff_parts.h"

typedef enum Key {
    KEY_KIND,
    KEY_CHANGE,
    KEY_TAG,
    KEY_CLASS,
    KEY_SUBJECT,
    KEY_PLACE,
    KEY_AT_VALUE,
    KEY_AT_UNIT,
    KEY_AT_SPOT,
    KEY_UNIT,
    KEY_SIDES,
    KEY_DIFFERENCE = KEY_SIDES + 2 * 9,
    KEY_PERCENT,
    KEYS
} Key;

typedef enum SideKey {
    SIDE_SUBJECT,
    SIDE_PLACE,
    SIDE_VALUE,
    SIDE_TEXT,
    SIDE_STATE,
    SIDE_BY,
    SIDE_ENTRY,
    SIDE_FILE,
    SIDE_LINE,
    SIDE_KEYS
} SideKey;
_Static_assert(KEY_DIFFERENCE - KEY_SIDES == 2 * SIDE_KEYS, "two sides");

static const TableColumn columns[KEYS] = {
    [KEY_KIND] = {.key = "kind"},
    [KEY_CHANGE] = {.key = "change"},
    [KEY_TAG] = {.key = "tag"},
    [KEY_CLASS] = {.key = "class"},
    [KEY_SUBJECT] = {.key = "subject"},
    [KEY_PLACE] = {.key = "place"},
    [KEY_AT_VALUE] = {.key = "at.value", .json = JSON_NUMBER},
    [KEY_AT_UNIT] = {.key = "at.unit"},
    [KEY_AT_SPOT] = {.key = "at.spot"},
    [KEY_UNIT] = {.key = "unit"},
#define SIDE_ROWS(n, letter)                                                                      \
    [KEY_SIDES + (n)*SIDE_KEYS +                                                                  \
        SIDE_SUBJECT] = {.key = letter ".subject"},                                               \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_PLACE] = {.key = letter ".place"},                      \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_VALUE] = {.key = letter ".value", .json = JSON_NUMBER}, \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_TEXT] = {.key = letter ".text"},                        \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_STATE] = {.key = letter ".state"},                      \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_BY] = {.key = letter ".by"},                            \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_ENTRY] = {.key = letter ".entry"},                      \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_FILE] = {.key = letter ".file"},                        \
        [KEY_SIDES + (n)*SIDE_KEYS + SIDE_LINE] = {.key = letter ".line", .json = JSON_NUMBER}
    SIDE_ROWS(0, "a"),
    SIDE_ROWS(1, "b"),
#undef SIDE_ROWS
    [KEY_DIFFERENCE] = {.key = "difference", .json = JSON_NUMBER},
    [KEY_PERCENT] = {.key = "percent", .json = JSON_NUMBER},
};

static const char *const kinds[] = {[COMPARE_READING] = "reading",
                                    [COMPARE_COMPUTED] = "computed",
                                    [COMPARE_FACT] = "fact",
                                    [COMPARE_PLACED] = "placed"};
static const char *const hows[] = {
    [COMPARE_SAME] = "same",     [COMPARE_CHANGED] = "changed", [COMPARE_DOUBTED] = "doubted",
    [COMPARE_ONLY_A] = "only a", [COMPARE_ONLY_B] = "only b",   [COMPARE_NOT_AGAIN] = "not again"};

static void put(Table *t, uint32_t row, uint32_t key, Str text) {
    table_put(t, row, key, text, TONE_PLAIN);
}

static Str state_of(const CompareSide *s) {
    if (s->st & V_SUSPECT) return STR("suspect");
    if (s->st & V_NOMINAL) return STR("nominal");
    if (s->st & (V_CARRIED | V_EXTENDED)) return STR("carried");
    return s->st & V_PARTIAL ? STR("partial") : STR("ok");
}

/* How the value came about. */
static Str by_of(const CompareSide *s) {
    if (s->on_curve) return STR("curve");
    return s->reading == NO_READING ? STR("formula") : STR("reading");
}

static Str digits_of(const Diff *d, const CompareRow *r, int side) {
    Buf number = {0};
    Str text = diff_side(d, r, side);
    while (text.n && !is_digit(text.p[text.n - 1]) && text.p[text.n - 1] != '.')
        text.n--; /* the mark */
    (void)json_reading(&number, text);
    Str out = arena_str(d->a, buf_str(&number));
    buf_release(&number);
    return out;
}

static void put_origin(const Diff *d, Table *t, uint32_t row, const CompareRow *r, int side,
                       uint32_t base) {
    if (r->side[side].reading == NO_READING) return;
    const Job *j = d->j[side];
    const Reading *reading = &j->readings[r->side[side].reading];
    const Source *source = j->sources[reading->source];
    char day[DATE_TEXT];
    Date date = j->entries[reading->entry].date;
    if (date.day != DAY_NONE)
        put(t, row, base + SIDE_ENTRY, arena_printf(d->a, "%s", date_text(date, day)));
    Str place = say_place(d->a, source, reading->off);
    size_t colon = place.n;
    while (colon > 0 && place.p[colon - 1] != ':')
        colon--;
    put(t, row, base + SIDE_FILE, source->path);
    put(t, row, base + SIDE_LINE, str_skip(place, colon));
}

static void put_side(const Diff *d, Table *t, uint32_t row, const CompareRow *r, int side) {
    uint32_t base = KEY_SIDES + (uint32_t)side * SIDE_KEYS;
    const CompareSide *s = &r->side[side];
    const Unit *unit = diff_unit(d, r);
    if (r->by_place) put(t, row, base + SIDE_SUBJECT, diff_subject(d, r, side));
    if (diff_moved(d, r)) put(t, row, base + SIDE_PLACE, diff_place(d, r, side));
    if (!s->there) return;
    if (!unit) {
        put(t, row, base + SIDE_TEXT, s->words);
    } else {
        put(t, row, base + SIDE_VALUE, digits_of(d, r, side));
        put(t, row, base + SIDE_STATE, state_of(s));
        put(t, row, base + SIDE_BY, by_of(s));
    }
    put_origin(d, t, row, r, side, base);
}

static void put_condition(const Diff *d, Table *t, uint32_t row, const CompareRow *r) {
    if (!r->has_at) return;
    Str text = diff_condition(d, r);
    const Reading *at = &d->j[r->at_side]->readings[r->at_reading];
    if (at->flags & READ_SPOT) {
        put(t, row, KEY_AT_SPOT, text);
        return;
    }
    put(t, row, KEY_AT_VALUE, str_word(&text));
    put(t, row, KEY_AT_UNIT, str_from(at->at_unit->name));
}

static void add_row(const Diff *d, Table *t, const CompareRow *r) {
    uint32_t row = table_row(t);
    int side = r->subject[1] != SUBJECT_NONE;
    put(t, row, KEY_KIND, str_from(kinds[r->kind]));
    put(t, row, KEY_CHANGE, str_from(hows[r->how]));
    put(t, row, KEY_TAG, d->v->tags[r->tag].name);
    put(t, row, KEY_CLASS, d->v->classes[r->cls].name);
    put(t, row, KEY_SUBJECT, diff_subject(d, r, side));
    if (!diff_moved(d, r)) put(t, row, KEY_PLACE, diff_place(d, r, side));
    put_condition(d, t, row, r);
    const Unit *unit = diff_unit(d, r);
    if (unit) put(t, row, KEY_UNIT, str_from(unit->name));
    put_side(d, t, row, r, 0);
    put_side(d, t, row, r, 1);
    Str difference = diff_difference(d, r), percent = diff_percent(d, r);
    if (difference.n) put(t, row, KEY_DIFFERENCE, str_skip(difference, difference.p[0] == '+'));
    if (percent.n) put(t, row, KEY_PERCENT, str_skip(percent, percent.p[0] == '+'));
}

Table *diff_rows(const Diff *d) {
    Table *t = table_new(d->a);
    for (int i = 0; i < KEYS; i++)
        table_column(t, columns[i]);
    for (uint32_t i = 0; i < d->c->count; i++) {
        const CompareRow *r = &d->c->rows[i];
        bool one_sided = r->how == COMPARE_ONLY_A || r->how == COMPARE_ONLY_B;
        if (diff_listed(d, r) || (one_sided && r->kind != COMPARE_COMPUTED)) add_row(d, t, r);
    }
    return t;
}
