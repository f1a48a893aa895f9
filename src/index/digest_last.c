/* What a log leaves behind: every value, measured or computed, as it stands at its end. */
#include "index/internal.h"

#include "base/str_index.h"
#include <math.h>

typedef struct Value {
    Str at;
    SubjectId subject;
    uint32_t row; /* the number of its condition */
    int64_t thousandths;
    uint8_t how; /* bits of HOW_ */
} Value;

typedef struct Last {
    Eval *eval;
    const Job *job;
    Arena *arena;
    Digest *d;
    ROWS(Value) values; /* of the tag at hand */
    Naming *naming;
    StrIndex conditions; /* of the tag at hand; the same numbers count in `ever` */
    ROWS(LastRow) ever;  /* bounds of all good readings of the tag at hand, by condition */
} Last;

int64_t thousandths(const Tag *tag, double si) {
    static const double tens[] = {1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12};
    enum { TENS = sizeof tens / sizeof *tens };
    double v = unit_from_si(tag->unit, si) * tens[tag->places < TENS ? tag->places : TENS - 1];
    static const double most = 9e15; /* whole numbers a double still tells apart */
    if (isnan(v)) return LAST_MISSING;
    return v > most ? (int64_t)most : v < -most ? -(int64_t)most : llround(v);
}

Str digest_at(const Tag *tag, double at, bool spot, Arena *a) {
    if (isnan(at)) return (Str){0};
    if (spot) return tag->spots[(size_t)at];
    Buf b = {0};
    buf_fixed(&b, unit_from_si(tag->over, at), 6);
    Str s = buf_str(&b);
    while (s.n && s.p[s.n - 1] == '0')
        s.n--;
    if (s.n && s.p[s.n - 1] == '.') s.n--;
    s = arena_str(a, s);
    buf_release(&b);
    return s;
}

static void add_value(Last *l, const Tag *tag, Str at, SubjectId subject, double si, uint8_t st) {
    Value v = {.at = at, .subject = subject, .thousandths = thousandths(tag, si)};
    if (v.thousandths == LAST_MISSING) return;
    if ((st & V_READ) && !(st & V_NOMINAL)) v.how |= HOW_MEASURED;
    if (st & V_NOMINAL) v.how |= HOW_NOMINAL;
    if (st & V_PARTIAL) v.how |= HOW_PARTIAL;
    if (st & V_CARRIED) v.how |= HOW_CARRIED;
    if (st & V_EXTENDED) v.how |= HOW_EXTENDED;
    row_add(l->arena, &l->values, v);
}

static void gather_column(Last *l, TagId id) {
    const Tag *tag = &l->job->vocab->tags[id];
    const Col *col = eval_tag(l->eval, id);
    for (uint32_t i = 0; i < col->n; i++) {
        if (!(col->st[i] & V_MISSING))
            add_value(l, tag, (Str){0}, l->job->classes[tag->of].ids[i], col->v[i], col->st[i]);
    }
}

static void gather_curves(Last *l, TagId id) {
    const Tag *tag = &l->job->vocab->tags[id];
    const SubjectList *subjects = &l->job->classes[tag->of];
    for (uint32_t i = 0; i < subjects->count; i++) {
        const Curve *c = eval_curve(l->eval, id, i, F_TAG);
        if (c->st & V_MISSING) continue;
        for (uint32_t p = 0; p < c->count; p++) {
            uint8_t st = c->st | (c->st & V_EXTENDED || c->st & V_NOMINAL ? 0 : V_READ);
            add_value(l, tag, digest_at(tag, c->points[p].at, false, l->arena), subjects->ids[i],
                      c->points[p].value + c->shift, st);
        }
    }
}

/* The spots of one place, as the newest entry that read any of them left them. */
static void gather_spots(Last *l, TagId id) {
    const Tag *tag = &l->job->vocab->tags[id];
    const SubjectList *subjects = &l->job->classes[tag->of];
    for (uint32_t i = 0; i < subjects->count; i++) {
        uint32_t entry = UINT32_MAX;
        uint32_t r = chain_last(l->job, id, subjects->ids[i]);
        for (; r != NO_READING; r = chain_prev(l->job, r)) {
            const Reading *x = &l->job->readings[r];
            if (!(x->flags & READ_SPOT) || (x->flags & (READ_BAD | READ_REPEATED))) continue;
            if (entry == UINT32_MAX) entry = reading_entry(l->job, x);
            if (reading_entry(l->job, x) != entry) break;
            add_value(l, tag, digest_at(tag, x->at, true, l->arena), subjects->ids[i], x->value,
                      V_READ);
        }
    }
}

static void widen(LastRow *row, int64_t v) {
    if (v < row->ever_least) row->ever_least = v;
    if (v > row->ever_greatest) row->ever_greatest = v;
}

/* The number of the row for a condition. */
static uint32_t row_at(Last *l, TagId id, Str at) {
    uint32_t i = str_index_add(&l->conditions, l->arena, at);
    if (i < l->ever.count) return i;
    LastRow row = {.tag = id,
                   .at = at,
                   .least = LAST_MISSING,
                   .ever_least = INT64_MAX,
                   .ever_greatest = INT64_MIN};
    row_add(l->arena, &l->ever, row);
    return i;
}

static void gather_ever(Last *l, TagId id) {
    const Tag *tag = &l->job->vocab->tags[id];
    const SubjectList *subjects = &l->job->classes[tag->of];
    for (uint32_t i = 0; i < subjects->count; i++) {
        uint32_t r = chain_last(l->job, id, subjects->ids[i]);
        for (; r != NO_READING; r = chain_prev(l->job, r)) {
            const Reading *x = &l->job->readings[r];
            if (x->source != 0 || (x->flags & READ_BAD) || isnan(x->value)) continue;
            Str at = digest_at(tag, x->at, x->flags & READ_SPOT, l->arena);
            uint32_t row = row_at(l, id, at);
            widen(&l->ever.items[row], thousandths(tag, x->value));
        }
    }
}

/* How many tens every delta can be divided by, at most three: then they are whole places. */
static uint32_t tens_of(int64_t all) {
    uint32_t tens = 0;
    for (; tens < 3 && all % 10 == 0; tens++)
        all /= 10;
    return tens;
}

static int width_in(int64_t most, int64_t base) {
    int width = 0;
    for (; most; most /= base)
        width++;
    return width;
}

static int64_t divisor(int64_t a, int64_t b) { /* of both, the greatest */
    while (b) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* The values at one condition, as digits of one width without anything between them: up to four of
 * base 90, or more decimal ones. */
static void write_deltas(Last *l, LastRow *row, const Value **values, uint32_t count) {
    static const int64_t tens[] = {1, 10, 100, 1000};
    int64_t all = 0;
    for (uint32_t i = 0; i < count; i++)
        all = divisor(all, values[i]->thousandths - row->least);
    if (!all) return; /* all alike */
    uint32_t by = tens_of(all);
    int64_t base = DELTA_BASE;
    int width = width_in(row->spread / tens[by], base);
    if (width > DELTA_WIDTH) width = width_in(row->spread / tens[by], base = 10);
    char zero = base == 10 ? '0' : DELTA_ZERO;
    char *digits = arena_alloc(l->arena, (size_t)width * count + 1);
    for (uint32_t i = 0; i < count; i++) {
        int64_t delta = (values[i]->thousandths - row->least) / tens[by];
        for (char *p = digits + (size_t)width * (i + 1), *from = p - width; p > from; delta /= base)
            *--p = (char)(zero + delta % base);
    }
    row->form = (uint32_t)width * 10 + by;
    row->deltas = (Str){digits, (size_t)width * count};
}

/* Mostly there are two kinds: some were measured and the others were not. */
static Str how_of_two(Last *l, const Value **values, uint32_t count, uint8_t other) {
    size_t n = 2 + (count + 3) / 4;
    char *text = arena_alloc(l->arena, n);
    uint8_t bits = 0;
    text[0] = (char)(HOW_LETTER + values[0]->how);
    text[1] = (char)(HOW_LETTER + other);
    for (uint32_t i = 0; i < count; i++) {
        bits |= (uint8_t)((values[i]->how == other) << (3 - i % 4));
        if (i % 4 != 3 && i + 1 < count) continue;
        text[2 + i / 4] = "0123456789abcdef"[bits];
        bits = 0;
    }
    return (Str){text, n};
}

static void write_how(Last *l, LastRow *row, const Value **values, uint32_t count) {
    uint8_t first = values[0]->how, other = first;
    bool two = count >= HOW_BITS_LEAST;
    for (uint32_t i = 1; i < count; i++) {
        if (other == first) other = values[i]->how;
        two = two && (values[i]->how == first || values[i]->how == other);
    }
    bool alike = other == first;
    if (alike && !first) return;
    if (two && !alike) {
        row->how = how_of_two(l, values, count, other);
        return;
    }
    size_t n = alike ? 1 : count;
    char *letters = arena_alloc(l->arena, n);
    for (size_t i = 0; i < n; i++)
        letters[i] = (char)(HOW_LETTER + values[i]->how);
    row->how = (Str){letters, n};
}

/* The values of one condition. */
static void write_values(Last *l, LastRow *row, const Value **values, uint32_t count) {
    SubjectId *ids = arena_array(l->arena, count, sizeof *ids);
    int64_t least = INT64_MAX, greatest = INT64_MIN;
    for (uint32_t i = 0; i < count; i++) {
        const Value *v = values[i];
        ids[i] = v->subject;
        if (v->thousandths < least) least = v->thousandths;
        if (v->thousandths > greatest) greatest = v->thousandths;
    }
    row->least = least;
    row->spread = greatest - least;
    write_deltas(l, row, values, count);
    write_how(l, row, values, count);
    digest_names(l->naming, ids, count, &row->of, &row->places);
}

/* The values by their rows, and as they were met within one: those of row r are from starts[r] up
 * to starts[r + 1]. */
static const Value **values_by_row(Last *l, uint32_t **starts) {
    const Value **sorted = arena_array(l->arena, l->values.count, sizeof *sorted);
    uint32_t *next = arena_array(l->arena, l->ever.count + 2, sizeof *next);
    *starts = next++; /* when all are placed, next[r] has moved on to where the row behind begins */
    for (uint32_t i = 0; i < l->values.count; i++)
        next[l->values.items[i].row + 1]++;
    for (uint32_t r = 1; r <= l->ever.count; r++)
        next[r] += next[r - 1];
    for (uint32_t i = 0; i < l->values.count; i++)
        sorted[next[l->values.items[i].row]++] = &l->values.items[i];
    return sorted;
}

static void write_tag(Last *l, TagId id) {
    for (uint32_t i = 0; i < l->values.count; i++) /* a row for each condition there is */
        l->values.items[i].row = row_at(l, id, l->values.items[i].at);
    uint32_t *starts;
    const Value **values = values_by_row(l, &starts);
    for (uint32_t i = 0; i < l->ever.count; i++) {
        LastRow row = l->ever.items[i];
        uint32_t count = starts[i + 1] - starts[i];
        if (count) write_values(l, &row, values + starts[i], count);
        bool wider = row.places.n == 0 || row.ever_least < row.least ||
                     row.ever_greatest > row.least + row.spread;
        if (row.ever_least > row.ever_greatest || !wider) {
            row.ever_least = INT64_MAX;
            row.ever_greatest = INT64_MIN;
        }
        row_add(l->arena, &l->d->lasts, row);
    }
    l->values.count = 0;
    l->ever.count = 0;
    str_index_clear(&l->conditions);
}

static bool on_a_card(const Job *j, TagId id) {
    for (uint8_t i = 0; i < j->card_count; i++) {
        const Job *card = j->cards[i].card;
        if (card && card->chain->row[id] != CHAIN_NO_ROW) return true;
    }
    return false;
}

void digest_last(Eval *e, Naming *naming, Arena *a, Digest *d) {
    const Job *j = eval_job(e);
    Last l = {.eval = e, .job = j, .arena = a, .d = d, .naming = naming};
    for (TagId id = 0; id < j->vocab->tag_count; id++) {
        const Tag *tag = &j->vocab->tags[id];
        bool read = j->chain->row[id] != CHAIN_NO_ROW;
        bool worth = read || (!tag->has_curve && tag->is) || on_a_card(j, id);
        if (tag->kind != TAG_NUMBER || tag->unindexed || !worth) continue;
        if (tag->has_curve)
            gather_curves(&l, id);
        else
            gather_column(&l, id);
        if (read && tag->spot_count) gather_spots(&l, id);
        if (read) gather_ever(&l, id);
        write_tag(&l, id);
    }
}
