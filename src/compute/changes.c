#include "compute/changes.h"

#include "base/buf.h"
#include "base/hash.h"
#include <math.h>

/* ---- what a log says --------------------------------------------------------------------------
 */

typedef struct Gather {
    const Job *j;
    Arena *a;
    Str *names;        /* per subject, made when asked for */
    uint32_t *said_of; /* per reading: its place in the list, or SAID_NONE */
    SaidList list;
    uint32_t room;
} Gather;

static Str name_of(Gather *g, SubjectId id) {
    if (id == SUBJECT_ENGINE || id == SUBJECT_NONE) return (Str){0};
    if (!g->names[id].n) g->names[id] = subject_name(g->j, id, g->a);
    return g->names[id];
}

static Said *add(Gather *g, Said said) {
    arena_grow(g->a, g->list.items, g->list.count, g->room);
    g->list.items[g->list.count] = said;
    return &g->list.items[g->list.count++];
}

static bool is_number(const Job *j, const Reading *r) {
    return j->vocab->tags[r->tag].kind == TAG_NUMBER && !(r->flags & READ_WORDS) && r->unit;
}

static void add_reading(Gather *g, uint32_t i) {
    const Job *j = g->j;
    const Reading *r = &j->readings[i];
    bool number = is_number(j, r);
    Said said = {.kind = number ? SAID_READING : SAID_FACT,
                 .tag = r->tag,
                 .subject = name_of(g, r->subject),
                 .text = reading_text(j, r),
                 .value = number ? r->value : NAN,
                 .at = r->at,
                 .unit = number ? r->unit : NULL,
                 .date = j->entries[r->entry].date,
                 .flags = r->flags & (READ_SUSPECT | READ_STRUCK),
                 .off = r->off,
                 .replaces = SAID_NONE};
    if (number && (r->flags & READ_GAUGED)) said.value = NAN; /* the digits are what was written */
    if (r->flags & READ_SPOT)
        said.condition = j->vocab->tags[r->tag].spots[(size_t)r->at];
    else if (!isnan(r->at)) {
        said.condition = (Str){j->sources[r->source]->text.p + r->at_off, r->at_len};
        said.at_unit = r->at_unit;
    }
    g->said_of[i] = g->list.count;
    add(g, said);
}

/* The name of the placement: `spring` of slot 0, `inner spring` of another. */
static TagId placement_of(const Job *j, const Event *e) {
    ClassId item = j->subjects[e->subject].cls;
    const Class *k = &j->vocab->classes[item];
    return k->placement[e->slot - j->slot_base[item]];
}

static void add_event(Gather *g, const Event *e, uint32_t *last_off) {
    const Job *j = g->j;
    Said said = {.kind = SAID_RULE,
                 .tag = TAG_NONE,
                 .value = NAN,
                 .at = NAN,
                 .date = j->entries[e->entry].date,
                 .off = e->span.off,
                 .replaces = SAID_NONE};
    if (e->kind == EVENT_PLACE) {
        if (!j->subjects[e->subject].number) return; /* unnamed: it stands there by its readings */
        said.kind = SAID_PLACED;
        said.tag = placement_of(j, e);
        said.subject = name_of(g, e->subject2);
        said.text = name_of(g, e->subject);
    } else {
        if (e->span.off == *last_off) return; /* one line can be several events */
        *last_off = e->span.off;
        Str line = source_slice(j->sources[e->source], e->span);
        size_t equals = str_find(line, STR(" = "), 0);
        said.head = str_before(line, equals);
        said.text = equals == SIZE_MAX ? str_none : str_trim(str_skip(line, equals + 3));
    }
    add(g, said);
}

/* The reading that lost its say to reading i: chain.c marked it so, or it is struck and i was
 * written in its stead in the same entry. */
static uint32_t replaced_by(const Job *j, uint32_t i) {
    const Reading *r = &j->readings[i];
    uint32_t entry = reading_entry(j, r);
    /* who measured, and with what, is nothing that a reading puts right */
    if (r->flags & READ_STRUCK || j->vocab->tags[r->tag].holds_entry) return NO_READING;
    for (uint32_t p = chain_prev(j, i); p != NO_READING; p = chain_prev(j, p)) {
        const Reading *old = &j->readings[p];
        if (reading_entry(j, old) != entry) break;
        if (same_condition(old->at, r->at)) return p;
    }
    return NO_READING;
}

/* A bank, by the places it has: it is said once, before all that is read at them. */
static void add_banks(Gather *g) {
    const Job *j = g->j;
    const Source *log = j->sources[0];
    for (uint32_t i = 0; i < j->subject_count; i++) {
        const Subject *bank = &j->subjects[i];
        if (bank->kind != SUBJECT_BANK) continue;
        bool here = bank->name.p >= log->text.p && bank->name.p < log->text.p + log->text.n;
        if (!here) continue; /* a log that this one continues says it */
        Buf places = {0};
        for (uint32_t k = 0; k < j->subject_count; k++) {
            if (j->subjects[k].kind != SUBJECT_PLACE || j->subjects[k].up != i) continue;
            buf_printf(&places, "%s%.*s", places.n ? " " : "", STR_ARG(name_of(g, k)));
        }
        Str word = j->vocab->classes[bank->cls].name;
        add(g, (Said){.kind = SAID_RULE,
                      .tag = TAG_NONE,
                      .head = arena_printf(g->a, "%.*s %.*s", STR_ARG(word), STR_ARG(bank->name)),
                      .text = arena_str(g->a, buf_str(&places)),
                      .value = NAN,
                      .at = NAN,
                      .date = {DAY_NONE, -1},
                      .off = (uint32_t)(bank->name.p - log->text.p),
                      .replaces = SAID_NONE});
        buf_release(&places);
    }
}

SaidList said_by(const Job *j, Arena *a) {
    Gather g = {.j = j, .a = a};
    uint32_t e = 0, last_off = UINT32_MAX;
    g.names = arena_array(a, j->subject_count + 1, sizeof *g.names);
    g.said_of = arena_array(a, j->reading_count + 1, sizeof *g.said_of);
    memset(g.said_of, 0xff, (j->reading_count + 1) * sizeof *g.said_of);
    add_banks(&g);
    for (uint32_t i = 0; i <= j->reading_count; i++) {
        for (; e < j->event_count && j->events[e].before <= i; e++) {
            if (!j->events[e].source) add_event(&g, &j->events[e], &last_off);
        }
        if (i < j->reading_count && !j->readings[i].source) add_reading(&g, i);
    }
    if (!g.list.count) return g.list;
    for (uint32_t i = 0; i < j->reading_count; i++) {
        if (g.said_of[i] == SAID_NONE) continue;
        uint32_t old = replaced_by(j, i);
        if (old == NO_READING || g.said_of[old] == SAID_NONE) continue;
        g.list.items[g.said_of[i]].replaces = g.said_of[old];
        g.list.items[g.said_of[i]].again = j->readings[old].entry == j->readings[i].entry;
    }
    return g.list;
}

/* ---- two versions ------------------------------------------------------------------------------
 * What is the same in both is paired off first, then what is less and less the same. Each step
 * pairs by a hash of what must be equal; 64 bits of it are taken for the thing itself. */

typedef enum Aspect {
    ASPECT_ENTRY = 1 << 0,
    ASPECT_CONDITION = 1 << 1,
    ASPECT_VALUE = 1 << 2,
    ASPECT_STATE = 1 << 3,
} Aspect;

typedef struct Step {
    unsigned same; /* aspects that must agree, beside what it is read of and on */
    int kind;      /* a ChangeKind, or UNCHANGED */
} Step;
enum { UNCHANGED = CHANGE_KINDS };

static const Step steps[] = {
    {ASPECT_ENTRY | ASPECT_CONDITION | ASPECT_VALUE | ASPECT_STATE, UNCHANGED},
    {ASPECT_ENTRY | ASPECT_CONDITION | ASPECT_VALUE, CHANGE_STATE},
    {ASPECT_ENTRY | ASPECT_CONDITION, CHANGE_VALUE},
    {ASPECT_ENTRY | ASPECT_VALUE, CHANGE_CONDITION},
    {ASPECT_CONDITION | ASPECT_VALUE | ASPECT_STATE, CHANGE_MOVED},
};

static uint64_t mixed(uint64_t h, uint64_t word) {
    h = (h ^ word) * 0x9E3779B97F4A7C15u;
    return h ^ h >> 29;
}

static uint64_t number_bits(double v) {
    uint64_t bits = 0;
    v += 0.0; /* -0 is 0 */
    memcpy(&bits, &v, sizeof bits);
    return bits;
}

static uint64_t hash_said(const Said *s, unsigned same) {
    uint64_t h = mixed(hash_bytes(s->subject), (uint64_t)s->kind << 32 | s->tag);
    if (s->head.n) h = mixed(h, hash_bytes(s->head));
    if (same & ASPECT_ENTRY)
        h = mixed(h, (uint64_t)(uint32_t)s->date.day << 16 | (uint16_t)s->date.minute);
    if (same & ASPECT_CONDITION) h = mixed(h, isnan(s->at) ? 1 : number_bits(s->at));
    if (same & ASPECT_STATE) h = mixed(h, s->flags);
    if (!(same & ASPECT_VALUE)) return h;
    if (!isnan(s->value)) return mixed(h, number_bits(s->value));
    return mixed(mixed(h, hash_bytes(s->text)), hash_bytes(str_from(s->unit ? s->unit->name : "")));
}

typedef struct Match {
    const SaidList *old, *now;
    uint32_t *was; /* per `now` */
    bool *taken;   /* per `old` */
    uint8_t *how;  /* per `now`: the step's kind */
    uint32_t *head, *next;
    uint64_t *hashes;
    uint32_t mask;
} Match;

/* Buckets of what is left of `old`, each in the order of the file. */
static bool fill_buckets(Match *m, unsigned same) {
    bool any = false;
    memset(m->head, 0, ((size_t)m->mask + 1) * sizeof *m->head);
    for (uint32_t i = m->old->count; i-- > 0;) {
        if (m->taken[i]) continue;
        m->hashes[i] = hash_said(&m->old->items[i], same);
        uint32_t *head = &m->head[m->hashes[i] & m->mask];
        m->next[i] = *head;
        *head = i + 1;
        any = true;
    }
    return any;
}

static void take_step(Match *m, const Step *step) {
    if (!fill_buckets(m, step->same)) return;
    for (uint32_t i = 0; i < m->now->count; i++) {
        if (m->was[i] != SAID_NONE) continue;
        uint64_t hash = hash_said(&m->now->items[i], step->same);
        uint32_t at = m->head[hash & m->mask];
        while (at && (m->taken[at - 1] || m->hashes[at - 1] != hash))
            at = m->next[at - 1];
        if (!at) continue;
        m->was[i] = at - 1;
        m->how[i] = (uint8_t)step->kind;
        m->taken[at - 1] = true;
    }
}

static Changes list_changes(const Match *m, Arena *a) {
    Changes out = {.was = m->was};
    out.items = arena_array(a, (size_t)m->now->count + m->old->count + 1, sizeof *out.items);
    for (uint32_t i = 0; i < m->now->count; i++) {
        if (m->was[i] == SAID_NONE)
            out.items[out.count++] = (Change){CHANGE_ADDED, SAID_NONE, i};
        else if (m->how[i] != UNCHANGED)
            out.items[out.count++] = (Change){(ChangeKind)m->how[i], m->was[i], i};
    }
    for (uint32_t i = 0; i < m->old->count; i++) {
        if (!m->taken[i]) out.items[out.count++] = (Change){CHANGE_REMOVED, i, SAID_NONE};
    }
    return out;
}

Changes changes_between(const SaidList *old, const SaidList *now, Arena *a) {
    Match m = {.old = old, .now = now};
    uint32_t room = 16;
    while (room < old->count * 2)
        room *= 2;
    m.mask = room - 1;
    m.head = arena_array(a, room, sizeof *m.head);
    m.next = arena_array(a, old->count + 1, sizeof *m.next);
    m.hashes = arena_array(a, old->count + 1, sizeof *m.hashes);
    m.taken = arena_array(a, old->count + 1, sizeof *m.taken);
    m.was = arena_array(a, now->count + 1, sizeof *m.was);
    m.how = arena_array(a, now->count + 1, sizeof *m.how);
    memset(m.was, 0xff, (now->count + 1) * sizeof *m.was);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        take_step(&m, &steps[i]);
    return list_changes(&m, a);
}

/* ---- in words ----------------------------------------------------------------------------------
 */

Str said_name(const Vocab *v, const Said *s, Arena *a) {
    if (s->kind == SAID_RULE) return s->head.n ? s->head : s->text;
    Str name = v->tags[s->tag].name;
    Str condition = s->condition;
    if (s->at_unit) /* a spot has none */
        condition = arena_printf(a, "@ %.*s%s%s", STR_ARG(condition),
                                 s->at_unit->name[0] ? " " : "", s->at_unit->name);
    return arena_printf(a, "%.*s%s%.*s%s%.*s", STR_ARG(name), s->subject.n ? " " : "",
                        STR_ARG(s->subject), condition.n ? " " : "", STR_ARG(condition));
}

Str said_value(const Said *s, bool with_unit, Arena *a) {
    bool named = with_unit && s->unit && s->unit->name[0];
    return arena_printf(a, "%s%.*s%s%s%s", s->flags & READ_STRUCK ? "x " : "", STR_ARG(s->text),
                        named ? " " : "", named ? s->unit->name : "",
                        s->flags & READ_SUSPECT ? " ?" : "");
}
