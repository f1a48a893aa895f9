#include "compute/fitted.h"

#include <math.h>

typedef struct Moment { /* the engine at the end of an entry */
    double value;       /* NAN: not known */
    bool doubted;       /* not known, because the reading is doubted */
    uint32_t falls;     /* how often the value had gone backwards by then */
} Moment;

typedef struct Times {
    uint32_t since; /* entry + 1; 0 while it sits nowhere */
    double sum;
    FittedWhy why; /* a time of it is not known */
    uint32_t entry;
} Times;

struct Fitted {
    const State *state;
    Moment *at;       /* per entry */
    Times *items;     /* per subject */
    SubjectId *slot;  /* per place and slot: the item there, id + 1 */
    SubjectId **sits; /* per item: the slot it is in; NULL */
    uint32_t next;    /* event to be played */
    uint32_t entry;   /* played to */
};

/* What the last reading of each entry says. A doubted one says nothing, and none before it does in
 * its stead. */
static void take_readings(const State *s, TagId tag, Moment *at) {
    const Job *j = s->job;
    for (uint32_t i = 0; i <= j->entry_count; i++)
        at[i].value = NAN;
    for (uint32_t i = chain_last(j, tag, SUBJECT_ENGINE); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        Moment *m = &at[reading_entry(j, r)];
        bool good = !(r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED));
        if (!good || !reading_counts(s, r) || m->doubted || !isnan(m->value)) continue;
        m->doubted = (r->flags & READ_SUSPECT) != 0;
        if (!m->doubted) m->value = r->value;
    }
}

bool fitted_fell(const Tag *tag, double from, double to) {
    return from - to > tag->repeatability + 1e-9 * fabs(to);
}

static bool is_read(const Moment *m) {
    return m->doubted || !isnan(m->value);
}

/* Per entry, the engine-level value in force at its end: made once for all items. */
static Moment *timeline(const State *s, TagId tag, Arena *a) {
    const Job *j = s->job;
    Moment *at = arena_array(a, j->entry_count + 1, sizeof *at);
    take_readings(s, tag, at);
    double last = NAN; /* the last that was known */
    for (uint32_t i = 0; i < j->entry_count; i++) {
        uint32_t falls = i ? at[i - 1].falls : 0;
        if (i && !is_read(&at[i])) at[i] = at[i - 1];
        at[i].falls = falls + fitted_fell(&j->vocab->tags[tag], last, at[i].value);
        if (isnan(last) && at[i].value == 0) { /* nothing ran before it stood at 0 */
            for (uint32_t k = 0; k < i; k++)
                at[k].value = 0;
        }
        if (!isnan(at[i].value)) last = at[i].value;
    }
    return at;
}

Fitted *fitted_start(const State *s, TagId tag, Arena *a) {
    const Job *j = s->job;
    Fitted *f = arena_alloc(a, sizeof *f);
    f->state = s;
    f->at = timeline(s, tag, a);
    f->items = arena_array(a, j->subject_count, sizeof *f->items);
    f->slot = arena_array(a, (size_t)j->subject_count * HERE_MOST, sizeof *f->slot);
    f->sits = arena_array(a, j->subject_count, sizeof *f->sits);
    return f;
}

static FittedWhy moment_why(const Moment *m) {
    if (!isnan(m->value)) return FITTED_KNOWN;
    return m->doubted ? FITTED_DOUBTED : FITTED_UNSAID;
}

/* Why what ran between the ends of two entries is not known, and by which entry. */
static FittedWhy span_why(const Fitted *f, uint32_t from, uint32_t to, uint32_t *entry) {
    *entry = from;
    FittedWhy why = moment_why(&f->at[from]);
    if (why) return why;
    *entry = to;
    why = moment_why(&f->at[to]);
    if (why) return why;
    if (f->at[to].falls == f->at[from].falls) return FITTED_KNOWN;
    for (*entry = from; f->at[*entry].falls == f->at[from].falls;)
        ++*entry;
    return FITTED_BACKWARDS;
}

/* Less than 0 only by what a reading scatters. */
static double span_run(const Fitted *f, uint32_t from, uint32_t to) {
    return fmax(0, f->at[to].value - f->at[from].value);
}

static void close_time(Fitted *f, SubjectId item, uint32_t entry) {
    Times *t = &f->items[item];
    if (!t->since) return;
    if (!t->why) t->why = span_why(f, t->since - 1, entry, &t->entry);
    if (!t->why) t->sum += span_run(f, t->since - 1, entry);
    t->since = 0;
}

static void take_out(Fitted *f, SubjectId item, uint32_t entry) {
    close_time(f, item, entry);
    if (f->sits[item]) *f->sits[item] = 0;
    f->sits[item] = NULL;
}

/* One that moves runs on, and leaves its old place empty. */
static void put_in(Fitted *f, SubjectId item, SubjectId *here, uint32_t entry) {
    if (f->sits[item]) *f->sits[item] = 0;
    *here = item + 1;
    f->sits[item] = here;
    if (!f->items[item].since) f->items[item].since = entry + 1;
}

static void play(Fitted *f, const Event *ev) {
    if (ev->kind == EVENT_SCRAP) take_out(f, ev->subject, ev->entry);
    if (ev->kind != EVENT_PLACE && ev->kind != EVENT_EMPTY) return;
    SubjectId *here = &f->slot[(size_t)ev->subject2 * HERE_MOST + ev->slot];
    bool same = ev->kind == EVENT_PLACE && *here == ev->subject + 1;
    if (*here && !same) take_out(f, *here - 1, ev->entry);
    if (ev->kind == EVENT_PLACE) put_in(f, ev->subject, here, ev->entry);
}

void fitted_to(Fitted *f, uint32_t entry) {
    const Job *j = f->state->job;
    for (; f->next < j->event_count && j->events[f->next].entry <= entry; f->next++) {
        if (entry_counts(f->state, j->events[f->next].entry)) play(f, &j->events[f->next]);
    }
    f->entry = entry;
}

FittedWhy fitted_why(const Fitted *f, SubjectId item, uint32_t *entry) {
    const Times *t = &f->items[item];
    *entry = t->entry;
    if (t->why || !t->since) return t->why;
    return span_why(f, t->since - 1, f->entry, entry);
}

double fitted_time(const Fitted *f, SubjectId item) {
    const Times *t = &f->items[item];
    uint32_t entry;
    if (fitted_why(f, item, &entry)) return NAN;
    return t->since ? t->sum + span_run(f, t->since - 1, f->entry) : t->sum;
}

bool fitted_now(const Fitted *f, SubjectId item) {
    return f->items[item].since != 0;
}

double fitted_engine(const Fitted *f, uint32_t entry) {
    return f->at[entry].value;
}

uint32_t fitted_falls(const Fitted *f, uint32_t entry) {
    return f->at[entry].falls;
}

bool fitted_asked(const Formula *f, TagId tag) {
    if (!f) return false;
    if (f->kind == F_FITTED && f->tag == tag) return true;
    return fitted_asked(f->a, tag) || fitted_asked(f->b, tag);
}

TagId fitted_tag(const Formula *f) {
    if (!f) return TAG_NONE;
    if (f->kind == F_FITTED) return f->tag;
    TagId tag = fitted_tag(f->a);
    return tag == TAG_NONE ? fitted_tag(f->b) : tag;
}

const char *fitted_text(FittedWhy why) {
    static const char *const texts[] = {
        [FITTED_KNOWN] = "known",
        [FITTED_UNSAID] = "not read by then",
        [FITTED_DOUBTED] = "doubted, and not read again by then",
        [FITTED_BACKWARDS] = "went backwards: another meter, or a slip",
    };
    return texts[why];
}
