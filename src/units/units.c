#include "base/fatal.h"
#include "base/number.h"
#include "units/expression.h"
#include "units/units_table.h"
#include <pthread.h>

/*
 * All spellings of all rows in one open-addressed table, made when the first unit is looked up and
 * only read from then on. The key is the spelling in lower case; spellings that differ in case
 * alone, and rows that share one, lie in the same run of slots.
 */
enum { SLOTS = 2048, SPELLING_MOST = 40 };

/* Small, for the table is made by every command: each page of it costs a fault. */
typedef struct Slot {
    uint16_t row;  /* of units_table, from 1; 0 in a free slot */
    uint16_t hash; /* the upper half, which the slot's place does not tell */
    uint16_t from; /* where the spelling begins in `also`; OWN_NAME */
    uint8_t length;
} Slot;
#define OWN_NAME UINT16_MAX

static Slot slots[SLOTS];
static pthread_once_t slots_once = PTHREAD_ONCE_INIT;

static char fold(char c) {
    return c == '_' ? ' ' : to_lower(c);
}

static uint32_t hash_of(Str s) {
    uint32_t h = 2166136261u;
    for (size_t i = 0; i < s.n; i++)
        h = (h ^ (unsigned char)fold(s.p[i])) * 16777619u;
    return h ^ h >> 15;
}

static const Unit *unit_of(const Slot *slot) {
    return &units_table[slot->row - 1];
}

/* '_' stands for a blank. */
static const char *spelling_of(const Slot *slot) {
    const Unit *u = unit_of(slot);
    return slot->from == OWN_NAME ? u->name : u->also + slot->from;
}

static void add_spelling(Str spelling, size_t row, uint16_t from, unsigned *used) {
    uint32_t hash = hash_of(spelling);
    size_t i = hash % SLOTS;
    while (slots[i].row)
        i = (i + 1) % SLOTS;
    slots[i] = (Slot){(uint16_t)(row + 1), (uint16_t)(hash >> 16), from, (uint8_t)spelling.n};
    if (++*used > SLOTS / 2 || spelling.n > SPELLING_MOST)
        fatal("units.c: SLOTS or SPELLING_MOST is too small for the table of units");
}

static void fill_slots(void) {
    unsigned used = 0;
    for (size_t i = 0; i < units_table_count; i++) {
        const Unit *u = &units_table[i];
        add_spelling(str_from(u->name), i, OWN_NAME, &used);
        Str also = str_from(u->also);
        for (Str word = str_word(&also); word.n; word = str_word(&also))
            add_spelling(word, i, (uint16_t)(word.p - u->also), &used);
    }
}

static bool spells(const Slot *slot, Str text, bool any_case) {
    if (slot->length != text.n) return false;
    const char *spelling = spelling_of(slot);
    for (size_t i = 0; i < text.n; i++) {
        char c = spelling[i] == '_' ? ' ' : spelling[i];
        if (c != text.p[i] && !(any_case && to_lower(c) == to_lower(text.p[i]))) return false;
    }
    return true;
}

/* How well a row answers: the wanted dimension first, then its own name. */
static int fit(const Slot *slot, Dim want) {
    return 1 + (unit_of(slot)->dim == want ? 2 : 0) + (slot->from == OWN_NAME);
}

static const Slot *best_slot(Str text, Dim want, bool any_case) {
    const Slot *best = NULL;
    int best_fit = 0;
    uint32_t hash = hash_of(text);
    for (size_t i = hash % SLOTS; slots[i].row; i = (i + 1) % SLOTS) {
        const Slot *slot = &slots[i];
        if (slot->hash != hash >> 16 || !spells(slot, text, any_case)) continue;
        int f = fit(slot, want);
        if (f > best_fit) best = slot, best_fit = f;
    }
    return best;
}

/* `Mm` is a million metres and no sloppy `mm`: what follows an m or M of the other case spells a
 * unit of the same kind, so that the case is a prefix. */
static bool case_is_prefix(Str text, const Slot *found) {
    char typed = text.p[0], meant = spelling_of(found)[0];
    if (typed == meant || to_lower(typed) != 'm') return false;
    Dim dim = unit_of(found)->dim;
    const Slot *bare = best_slot(str_skip(text, 1), dim, false);
    return bare && unit_of(bare)->dim == dim;
}

const Unit *unit_plain(Str text, Dim want) {
    pthread_once(&slots_once, fill_slots);
    if (text.n > SPELLING_MOST) return NULL;
    const Slot *found = best_slot(text, want, false);
    if (found) return unit_of(found);
    if (text.n < 2) return NULL; /* one letter alone: its case is its meaning */
    found = best_slot(text, want, true);
    return found && !case_is_prefix(text, found) ? unit_of(found) : NULL;
}

const Unit *unit_find(Str text, Dim want) {
    text = str_trim(text);
    if (text.n == 0 && want != DIM_NUMBER) return NULL;
    const Unit *found = unit_plain(text, want);
    return found || text.n == 0 ? found : unit_expression(text, want);
}

const Unit *unit_in(const Unit *u, System system) {
    if (system == SYSTEM_NONE || u->system == SYSTEM_NONE || u->system == system || !u->other)
        return u;
    return unit_plain(str_from(u->other), u->dim);
}

double unit_from_si(const Unit *u, double si) {
    return (si - u->offset) / u->factor;
}

double unit_diff_to_si(const Unit *u, double value) {
    return value * u->factor;
}

double unit_diff_from_si(const Unit *u, double si) {
    return si / u->factor;
}

double unit_step(const Unit *u, unsigned places) {
    return unit_diff_to_si(u, number_tenth(places));
}

const char *unit_advice(Str text) {
    static const struct {
        const char *words, *advice;
    } rows[] = {
        {"tenth tenths",
         "a tenth is .0001 in to one shop and 0.1 mm to the next: write .0001 in, or 0.1 mm"},
        {"hundredth hundredths",
         "a hundredth is .01 in to one shop and 0.01 mm to the next: write it in in or mm"},
        {"mil mils",
         "a mil is .001 in to one shop and a millimetre to the next: write thou, or mm"},
        {"point points",
         "a point is a full ratio to one shop and a tenth of one to the next: write the number"},
        {"ton tons tonf",
         "there are three tons (2000 lb, 2240 lb, 1000 kg): write it in lbf, lb, kN or kg"},
        {"gal gallon gallons qt quart quarts pt pint pints",
         "this measure is not the same in the US and in Britain: write it in in3, cc or L"},
        {"psig psia",
         "the unit is psi: whether it counts from the air around or from nothing, the tag says"},
        {"scfm acfm", "the unit is cfm: at what pressure and temperature, the log says"},
    };
    text = str_trim(text);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Str words = str_from(rows[i].words);
        for (Str word = str_word(&words); word.n; word = str_word(&words))
            if (str_ieq(word, text)) return rows[i].advice;
    }
    if (!unit_plain(text, DIM_NUMBER) && unit_is_ambiguous(text))
        return "a product behind a slash can be read in two ways: write it in front, or a second "
               "slash";
    return NULL;
}
