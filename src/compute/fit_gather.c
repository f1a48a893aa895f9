/* What a fit has to choose from: places, items that are free, sizes in the drawer. */
#include "compute/fit_parts.h"

#include <math.h>

static bool trouble(FitWork *w, FitTrouble what, SubjectId at) {
    w->out->trouble = what;
    w->out->at = at;
    return false;
}

static bool in_list(const SubjectList *list, SubjectId id) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->ids[i] == id) return true;
    return false;
}

uint32_t place_of(const FitWork *w, const State *s, SubjectId id) {
    for (; id != SUBJECT_NONE; id = state_up(s, id)) {
        if (w->place_index[id]) return w->place_index[id] - 1;
        if (id == SUBJECT_ENGINE) break;
    }
    return UINT32_MAX;
}

/* ---- places ------------------------------------------------------------------------------------
 */

static bool gather_places(FitWork *w) {
    const SubjectList *all = &w->j->classes[w->fit->place];
    w->out->place = arena_array(w->arena, all->count + 1, sizeof *w->out->place);
    for (uint32_t i = 0; i < all->count; i++) {
        SubjectKind kind = w->j->subjects[all->ids[i]].kind;
        if (kind != SUBJECT_PLACE && kind != SUBJECT_BANK) continue;
        if (w->ask->only.count && !in_list(&w->ask->only, all->ids[i])) continue;
        w->out->place[w->out->places++] = all->ids[i];
        w->place_index[all->ids[i]] = w->out->places;
    }
    return w->out->places ? true : trouble(w, FIT_NO_PLACES, SUBJECT_ENGINE);
}

static SubjectId sitting_in(const FitWork *w, SubjectId place, uint8_t slot) {
    return w->s->here ? w->s->here[(size_t)place * HERE_MOST + slot] : SUBJECT_NONE;
}

static SubjectId sitting(const FitWork *w, uint32_t p) {
    return sitting_in(w, w->out->place[p], w->slot);
}

/* Two springs on a valve are chosen one slot at a time, and somebody must say which. */
static bool one_slot(FitWork *w) {
    const Class *k = &w->v->classes[w->fit->item];
    for (uint32_t p = 0; p < w->out->places; p++) {
        for (uint8_t i = 0; i < k->slot_count; i++) {
            uint8_t slot = (uint8_t)(w->j->slot_base[w->fit->item] + i);
            if (i == w->ask->slot || sitting_in(w, w->out->place[p], slot) == SUBJECT_NONE)
                continue;
            w->out->others_stay = true;
            if (w->ask->slot == 0) return trouble(w, FIT_MANY_SIT, w->out->place[p]);
        }
    }
    return true;
}

/* ---- items -------------------------------------------------------------------------------------
 */

static bool set_sits(const FitWork *w, SubjectId set) {
    for (uint32_t p = 0; p < w->out->places; p++) {
        SubjectId item = sitting(w, p);
        if (item != SUBJECT_NONE && w->j->subjects[item].up == set) return true;
    }
    return false;
}

static bool anything_sits(const FitWork *w) {
    for (uint32_t p = 0; p < w->out->places; p++)
        if (sitting(w, p) != SUBJECT_NONE) return true;
    return false;
}

static bool right_set(const FitWork *w, SubjectId item, bool some_sit) {
    SubjectId set = w->j->subjects[item].up;
    if (w->ask->sets.count) return in_list(&w->ask->sets, set);
    return !some_sit || set_sits(w, set);
}

static void leave(FitWork *w, SubjectId item, Str why) {
    w->out->left[w->out->left_count++] = (FitLeft){item, why};
}

static bool gather_items(FitWork *w) {
    const SubjectList *all = &w->j->classes[w->fit->item];
    bool some_sit = anything_sits(w);
    w->out->candidate = arena_array(w->arena, all->count + 1, sizeof *w->out->candidate);
    w->out->left = arena_array(w->arena, all->count + 1, sizeof *w->out->left);
    w->now = arena_array(w->arena, all->count + 1, sizeof *w->now);
    for (uint32_t i = 0; i < all->count; i++) {
        SubjectId item = all->ids[i];
        if (w->j->subjects[item].number == 0 || !right_set(w, item, some_sit)) continue;
        if (w->s->scrapped && w->s->scrapped[item]) {
            Str why = w->s->scrapped[item]->text;
            leave(w, item, arena_printf(w->arena, "scrapped: %.*s", STR_ARG(why)));
            continue;
        }
        SubjectId at = w->s->sits_at ? w->s->sits_at[item] : SUBJECT_NONE;
        uint32_t p = at == SUBJECT_NONE ? 0 : w->place_index[at];
        if (at != SUBJECT_NONE && (p == 0 || sitting(w, p - 1) != item)) continue;
        w->now[w->out->candidates] = (int)p - 1;
        w->out->candidate[w->out->candidates++] = item;
    }
    return w->out->candidates ? true : trouble(w, FIT_NO_ITEMS, SUBJECT_ENGINE);
}

/* Items of one set and part are of a kind. */
static bool of_a_kind(const FitWork *w, SubjectId a, SubjectId b) {
    if (w->j->subjects[a].up != w->j->subjects[b].up) return false;
    TagId part = w->v->classes[w->fit->item].part_tag;
    return str_eq(state_words(w->s, part, a), state_words(w->s, part, b));
}

static bool kind_sits(const FitWork *w, SubjectId item) {
    for (uint32_t p = 0; p < w->out->places; p++) {
        SubjectId there = sitting(w, p);
        if (there != SUBJECT_NONE && of_a_kind(w, there, item)) return true;
    }
    return false;
}

/* Where kinds are kept apart by the places' letters (intake and exhaust springs), they stay so: to
 * a place goes only a kind that sits at some place of its letter, once anything does. A set that
 * was asked for by name and sits nowhere yet may go anywhere. */
static bool may_sit(const FitWork *w, uint32_t p, SubjectId item) {
    char letter = w->j->subjects[w->out->place[p]].letter;
    bool taken = false;
    if (w->ask->sets.count && !kind_sits(w, item)) return true;
    for (uint32_t q = 0; q < w->out->places; q++) {
        SubjectId there = sitting(w, q);
        if (there == SUBJECT_NONE || w->j->subjects[w->out->place[q]].letter != letter) continue;
        if (w->ask->sets.count && !in_list(&w->ask->sets, w->j->subjects[there].up)) continue;
        if (of_a_kind(w, there, item)) return true;
        taken = true;
    }
    return !taken;
}

static void open_pairs(FitWork *w) {
    uint32_t n = w->out->places, m = w->out->candidates;
    w->open = arena_array(w->arena, (size_t)n * m + 1, 1);
    w->shut = arena_array(w->arena, m + 1, sizeof *w->shut);
    for (uint32_t i = 0; i < m; i++) {
        bool any = false;
        for (uint32_t p = 0; p < n; p++) {
            bool may = may_sit(w, p, w->out->candidate[i]);
            w->open[(size_t)p * m + i] = may;
            any |= may;
        }
        if (!any) w->shut[i] = STR("of another set or part than what sits there");
    }
}

static bool hold(FitWork *w) {
    w->held = arena_array(w->arena, w->out->places + 1, sizeof *w->held);
    for (uint32_t p = 0; p < w->out->places; p++) {
        w->held[p] = -1;
        if (!in_list(&w->ask->held, w->out->place[p])) continue;
        for (uint32_t i = 0; i < w->out->candidates; i++)
            if (w->now[i] == (int)p) w->held[p] = (int)i;
        if (w->held[p] < 0) return trouble(w, FIT_HELD, w->out->place[p]);
    }
    return true;
}

/* ---- adjusters ---------------------------------------------------------------------------------
 */

static int by_size(const void *a, const void *b) {
    double x = ((const FitSize *)a)->si, y = ((const FitSize *)b)->si;
    return (x > y) - (x < y);
}

static double size_slack(const FitWork *w) {
    const Tag *tag = &w->v->tags[w->fit->adjust];
    return unit_step(tag->unit, tag->places) / 10;
}

static bool add_size(FitWork *w, double si, size_t pieces) {
    FitAnswer *out = w->out;
    for (uint32_t i = 0; i < out->sizes; i++) {
        if (fabs(out->size[i].si - si) > size_slack(w)) continue;
        bool many = pieces == FIT_MANY || out->size[i].pieces == FIT_MANY;
        out->size[i].pieces = many ? FIT_MANY : out->size[i].pieces + pieces;
        return true;
    }
    if (si <= 0) return true;
    if (out->sizes == FIT_THICKNESSES) return trouble(w, FIT_TOO_MANY, SUBJECT_ENGINE);
    out->size[out->sizes++] = (FitSize){si, pieces};
    return true;
}

/* When something was told: the entry, then the line in it; `line` is where it stands. */
typedef struct Moment {
    uint32_t entry, at, line;
} Moment;

static bool is_before(Moment a, Moment b) {
    if (a.entry != b.entry) return a.entry < b.entry;
    return a.at != b.at ? a.at < b.at : a.line < b.line;
}

static bool is_corrected(const Entry *old, const Entry *by) {
    return !old->corrects && old->date.day == by->asked.day &&
           (by->asked.minute < 0 || old->date.minute == by->asked.minute);
}

/* A correction takes the place of what was told, and stands at the end of its entry where nothing
 * was. That of a count is in force from its own line as every fact, yet says what the drawer held
 * on the day that it corrects: what was put in since came out of it. */
static Moment moment_in(const Job *j, TagId tag, SubjectId id, uint32_t entry, uint32_t line) {
    const Entry *e = &j->entries[entry];
    if (!e->corrects) return (Moment){entry, line, line};
    for (uint32_t i = chain_last(j, tag, id); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *old = &j->readings[i];
        if (!(old->flags & READ_STRUCK) && is_corrected(&j->entries[old->entry], e))
            return (Moment){old->entry, i, line};
    }
    return (Moment){e->corrected, UINT32_MAX, line};
}

static Moment moment_of(const Job *j, uint32_t i) {
    const Reading *r = &j->readings[i];
    return moment_in(j, r->tag, r->subject, r->entry, i);
}

static bool is_told(const FitWork *w, uint32_t i) {
    const Reading *r = &w->j->readings[i];
    return !(r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) && reading_counts(w->s, r);
}

/* The latest count of the drawer; NO_READING. */
static uint32_t last_count(const FitWork *w) {
    uint32_t last = NO_READING;
    for (uint32_t i = chain_last(w->j, w->fit->stock, SUBJECT_ENGINE); i != NO_READING;
         i = chain_prev(w->j, i)) {
        if (!is_told(w, i)) continue;
        if (last == NO_READING || is_before(moment_of(w->j, last), moment_of(w->j, i))) last = i;
    }
    return last;
}

/* What the drawer holds, in *r; NO_READING: nobody says so. Where the last line about it cannot be
 * read, neither an older one nor the usual sizes stand in for it. */
static bool stock_reading(FitWork *w, uint32_t *r) {
    *r = NO_READING;
    if (w->fit->stock == TAG_NONE) return true;
    *r = last_count(w);
    for (uint32_t i = w->j->unread_count; i-- > 0;) {
        const Unread *u = &w->j->unread[i];
        if (u->tag != w->fit->stock || !entry_counts(w->s, u->entry)) continue;
        Moment told = moment_in(w->j, u->tag, SUBJECT_ENGINE, u->entry, u->before);
        if (*r != NO_READING && !is_before(moment_of(w->j, *r), told)) continue;
        w->out->line_source = u->source;
        w->out->line_off = u->off;
        return trouble(w, FIT_STOCK_UNREAD, SUBJECT_ENGINE);
    }
    return true;
}

static bool read_sizes(FitWork *w, uint32_t stock) {
    const Tag *tag = &w->v->tags[w->fit->adjust];
    w->out->usual_sizes = stock == NO_READING && tag->stocked_count;
    if (stock == NO_READING) {
        for (uint8_t i = 0; i < tag->stocked_count; i++)
            if (!add_size(w, tag->stocked[i], FIT_MANY)) return false;
        return true;
    }
    const Stock *s = &w->j->stocks[(size_t)w->j->readings[stock].value];
    for (uint32_t i = 0; i < s->count; i++) {
        size_t pieces = s->sizes[i].count == STOCK_MANY ? FIT_MANY : s->sizes[i].count;
        if (!add_size(w, s->sizes[i].size, pieces)) return false;
    }
    return true;
}

/* At most so many pieces of size 0..k that make up a thickness, the thickest first, counted into
 * `use`; false when none do. `in_hand`: no more of a size than there are. */
static bool make_up(const FitWork *w, double left, int k, unsigned pieces, bool in_hand,
                    unsigned *use) {
    double slack = size_slack(w);
    if (fabs(left) <= slack) return true;
    if (k < 0 || left > pieces * w->out->size[k].si + slack) return false;
    const FitSize *size = &w->out->size[k];
    if (size->si <= left + slack && (!in_hand || use[k] < size->pieces)) {
        use[k]++;
        if (make_up(w, left - size->si, k, pieces - 1, in_hand, use)) return true;
        use[k]--;
    }
    return make_up(w, left, k - 1, pieces, in_hand, use);
}

/* The fewest pieces that make it up. */
static bool take_apart(const FitWork *w, double thickness, bool in_hand, unsigned *use) {
    enum { PIECES_MOST = 12 };
    for (unsigned pieces = 0; pieces <= PIECES_MOST; pieces++)
        if (make_up(w, thickness, (int)w->out->sizes - 1, pieces, in_hand, use)) return true;
    return false;
}

/* A stack that no sizes make up is a piece of its own: the drawer may have run out of what lies
 * there. */
static void add_own_size(FitWork *w, const Reading *r) {
    unsigned use[FIT_THICKNESSES] = {0};
    if ((r->flags & READ_SUSPECT) || w->out->sizes == FIT_THICKNESSES) return;
    if (!take_apart(w, r->value, false, use)) (void)add_size(w, r->value, 0);
}

/* Nothing is free of a stack that is in doubt. */
static void add_stack(FitWork *w, const Reading *r) {
    unsigned use[FIT_THICKNESSES] = {0};
    if ((r->flags & READ_SUSPECT) || !take_apart(w, r->value, false, use)) return;
    for (uint32_t k = 0; k < w->out->sizes; k++) {
        size_t *pieces = &w->out->size[k].pieces;
        if (*pieces != FIT_MANY) *pieces += use[k];
    }
}

/* It came out of what there was; where that does not make it up, as far as there was of it. */
static void take_stack(FitWork *w, const Reading *r) {
    unsigned use[FIT_THICKNESSES] = {0};
    if (!take_apart(w, r->value, true, use) && !take_apart(w, r->value, false, use)) return;
    for (uint32_t k = 0; k < w->out->sizes; k++) {
        size_t *pieces = &w->out->size[k].pieces;
        if (*pieces != FIT_MANY) *pieces = *pieces > use[k] ? *pieces - use[k] : 0;
    }
}

static uint32_t told_before(const FitWork *w, SubjectId id, Moment end) {
    uint32_t i = chain_last(w->j, w->fit->adjust, id);
    while (i != NO_READING && !(is_told(w, i) && is_before(moment_of(w->j, i), end)))
        i = chain_prev(w->j, i);
    return i;
}

/* What was last told to lie at a thing before a moment, with what was told of the head's place that
 * sits there in that state; of the head's place itself nothing then. */
static uint32_t lies(const FitWork *w, const State *s, SubjectId id, Moment end) {
    SubjectId other = s->carried ? s->carried[id] : SUBJECT_NONE;
    if (other == SUBJECT_NONE) return told_before(w, id, end);
    if (w->j->subjects[id].kind == SUBJECT_CARRIED) return NO_READING;
    uint32_t own = told_before(w, id, end), there = told_before(w, other, end);
    if (own == NO_READING || there == NO_READING) return own == NO_READING ? there : own;
    const Reading *all = w->j->readings;
    return reading_entry(w->j, &all[there]) > reading_entry(w->j, &all[own]) ? there : own;
}

/*
 * Free is what was counted, and what lay anywhere when it was counted, for that was no part of the
 * count; less what lies now at places that stay as they are. What is at the places of the fit came
 * from there too. A reading that was there then and stays is neither added nor taken: whatever
 * pieces it is made of, they are not to be had.
 */
static void free_pieces(FitWork *w, uint32_t stock) {
    enum { LAY = 1, STAYS = 2 };
    if (stock == NO_READING) return;
    const SubjectList *all = &w->j->classes[w->v->tags[w->fit->adjust].of];
    Moment count = moment_of(w->j, stock), now = {UINT32_MAX, UINT32_MAX, UINT32_MAX};
    const State *then = w->s->carried ? state_after(w->j, count.entry, w->arena) : w->s;
    uint8_t *is = arena_array(w->arena, w->j->reading_count + 1, 1);
    for (uint32_t i = 0; i < all->count; i++) {
        uint32_t lay = lies(w, then, all->ids[i], count), there = lies(w, w->s, all->ids[i], now);
        if (lay != NO_READING) is[lay] |= LAY;
        if (there != NO_READING && place_of(w, w->s, all->ids[i]) == UINT32_MAX) is[there] |= STAYS;
    }
    for (uint32_t r = 0; r < w->j->reading_count; r++)
        if (is[r] == LAY) add_own_size(w, &w->j->readings[r]);
    qsort(w->out->size, w->out->sizes, sizeof *w->out->size, by_size);
    for (uint32_t r = 0; r < w->j->reading_count; r++)
        if (is[r] == LAY) add_stack(w, &w->j->readings[r]);
    for (uint32_t r = 0; r < w->j->reading_count; r++)
        if (is[r] == STAYS) take_stack(w, &w->j->readings[r]);
}

static bool gather_sizes(FitWork *w) {
    FitAnswer *out = w->out;
    if (w->fit->adjust != TAG_NONE) {
        uint32_t stock;
        if (!stock_reading(w, &stock) || !read_sizes(w, stock)) return false;
        qsort(out->size, out->sizes, sizeof *out->size, by_size);
        free_pieces(w, stock);
    }
    fit_stacks(&out->stacks, w->arena, out->sizes, out->sizes ? w->fit->most : 0);
    w->thick = arena_array(w->arena, out->stacks.count, sizeof *w->thick);
    for (size_t k = 0; k < out->stacks.count; k++)
        for (uint32_t t = 0; t < out->sizes; t++)
            w->thick[k] += out->stacks.of[k][t] * out->size[t].si;
    for (uint32_t t = 0; t < out->sizes; t++)
        w->stock[t] = out->size[t].pieces;
    if (out->sizes == 0 && w->fit->item == CLASS_NONE)
        return trouble(w, FIT_NO_STOCK, SUBJECT_ENGINE);
    return true;
}

/* The subjects that the adjuster is set on, place by place. */
static void gather_on(FitWork *w) {
    uint32_t n = w->out->places;
    w->on_first = arena_array(w->arena, n + 1, sizeof *w->on_first);
    if (!w->out->sizes) return;
    const SubjectList *all = &w->j->classes[w->v->tags[w->fit->adjust].of];
    w->on = arena_array(w->arena, all->count + 1, sizeof *w->on);
    for (uint32_t p = 0; p < n; p++) {
        w->on_first[p] = w->on_count;
        for (uint32_t i = 0; i < all->count; i++) {
            SubjectKind kind = w->j->subjects[all->ids[i]].kind;
            if (kind != SUBJECT_CARRIED && place_of(w, w->s, all->ids[i]) == p)
                w->on[w->on_count++] = all->ids[i];
        }
    }
    w->on_first[n] = w->on_count;
}

bool gather(FitWork *w) {
    w->place_index = arena_array(w->arena, w->j->subject_count + 1, sizeof *w->place_index);
    if (!gather_places(w)) return false;
    if (w->fit->item != CLASS_NONE) {
        w->slot = (uint8_t)(w->j->slot_base[w->fit->item] + w->ask->slot);
        if (!one_slot(w) || !gather_items(w) || !hold(w)) return false;
        open_pairs(w);
    } else {
        w->held = arena_array(w->arena, w->out->places + 1, sizeof *w->held);
        for (uint32_t p = 0; p < w->out->places; p++)
            w->held[p] = -1;
    }
    w->columns = w->fit->item == CLASS_NONE ? w->out->places : w->out->candidates;
    if (!gather_sizes(w)) return false;
    gather_on(w);
    TagId adjust = w->out->sizes ? w->fit->adjust : TAG_NONE;
    w->what_if = what_if_new(w->s, adjust, w->on, w->on_count, w->arena);
    return true;
}
