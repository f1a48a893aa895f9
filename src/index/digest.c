/* A job as the rows the index holds of it. */
#include "index/internal.h"

#include "base/hash.h"
#include "base/str_index.h"
#include "compute/say.h"
#include <math.h>

enum { RUNS_LOOKED_BACK = 32 };

typedef struct Digester {
    const Job *job;
    const State *state;
    Arena *arena;
    Digest *d;
    Naming *naming;
    uint32_t *entry_row;    /* by entry of the job; UINT32_MAX: of a log it continues */
    uint32_t *next;         /* by reading: the next of its run + 1 */
    uint32_t *first, *last; /* by run: its readings */
    uint32_t run_room;
    const char *at; /* up to here lines are counted */
    uint32_t line;
} Digester;

/* Readings come nearly in the order of the file: lines are counted on from the last one. */
static uint32_t line_of(Digester *g, uint32_t off) {
    const char *base = g->job->sources[0]->text.p, *to = base + off;
    if (to < g->at) {
        g->at = base;
        g->line = 1;
    }
    for (const char *p; (p = memchr(g->at, '\n', (size_t)(to - g->at))); g->at = p + 1)
        g->line++;
    return g->line;
}

static void add_entries(Digester *g) {
    const Job *j = g->job;
    Digest *d = g->d;
    g->entry_row = arena_array(g->arena, j->entry_count + 1, sizeof *g->entry_row);
    d->first = INT32_MAX;
    d->last = DAY_NONE;
    for (uint32_t i = 0; i < j->entry_count; i++) {
        const Entry *e = &j->entries[i];
        g->entry_row[i] = UINT32_MAX;
        if (e->source != 0) continue;
        g->entry_row[i] = d->entries.count;
        EntryRow row = {.date = e->date, .corrects = -1, .title = e->title};
        row.line = line_of(g, e->span.off);
        if (e->corrects && j->entries[e->corrected].source == 0)
            row.corrects = g->entry_row[e->corrected];
        row_add(g->arena, &d->entries, row);
        if (e->date.day == DAY_NONE) continue;
        if (e->date.day < d->first) d->first = e->date.day;
        if (e->date.day > d->last) d->last = e->date.day;
    }
    if (d->last == DAY_NONE) d->first = DAY_NONE;
}

static const char *state_word(const Reading *r) {
    if (r->flags & READ_STRUCK) return "struck";
    if (r->flags & READ_SUSPECT) return "suspect";
    if (r->flags & READ_REPLACED) return "replaced";
    return r->flags & READ_REPEATED ? "repeat" : NULL;
}

static Str squeezed(Arena *a, Str text) {
    Buf b = {0};
    squeeze_all(&b, text);
    Str key = buf_str(&b);
    if (key.n > SQUEEZED_MOST) key.n = SQUEEZED_MOST;
    key = arena_str(a, key);
    buf_release(&b);
    return key;
}

/* As the log leaves it, this is what is said of the thing. */
static bool stands(const Digester *g, uint32_t index) {
    const Reading *r = &g->job->readings[index];
    return !(r->flags & READ_BAD) &&
           state_reading(g->state, r->tag, r->subject, UINT32_MAX) == index;
}

/* Names a log, or says who measured with what: that of another log says nothing of this one. */
static bool is_of_one_log(const Vocab *v, TagId tag) {
    static const Role roles[] = {ROLE_JOB, ROLE_CONTINUES, ROLE_UNITS, ROLE_BY, ROLE_WITH};
    for (size_t i = 0; i < sizeof roles / sizeof *roles; i++) {
        if (v->roles[roles[i]] == tag) return true;
    }
    return false;
}

/* A fact of a log that this one continues, where this one says nothing newer: the sheet shows it.
 */
static void add_carried(Digester *g, uint32_t index) {
    const Job *j = g->job;
    const Reading *r = &j->readings[index];
    if (is_of_one_log(j->vocab, r->tag) || !stands(g, index)) return;
    CarriedRow row = {.tag = r->tag,
                      .line = line_of(g, j->continues.off),
                      .text = reading_text(j, r),
                      .told = say_place(g->arena, j->sources[r->source], r->off)};
    if (r->subject != SUBJECT_ENGINE) row.subject = subject_name(j, r->subject, g->arena);
    row_add(g->arena, &g->d->carried, row);
    WordRow word = {.tag = r->tag, .now = true, .squeezed = squeezed(g->arena, row.text)};
    if (word.squeezed.n) row_add(g->arena, &g->d->words, word);
}

static void add_fact(Digester *g, uint32_t index) {
    const Job *j = g->job;
    const Reading *r = &j->readings[index];
    FactRow row = {.tag = r->tag,
                   .entry = g->entry_row[r->entry],
                   .line = line_of(g, r->off),
                   .text = reading_text(j, r),
                   .state = state_word(r)};
    if (r->subject != SUBJECT_ENGINE) row.subject = subject_name(j, r->subject, g->arena);
    row_add(g->arena, &g->d->facts, row);
    if (r->flags & READ_STRUCK) return;
    WordRow word = {.tag = r->tag, .squeezed = squeezed(g->arena, row.text)};
    word.now = stands(g, index);
    if (word.squeezed.n) row_add(g->arena, &g->d->words, word);
}

/* What it needs of other files: cards, and the logs it goes on from. */
static void add_need(Digester *g, const Reading *r) {
    const Vocab *v = g->job->vocab;
    bool part = v->tags[r->tag].kind == TAG_PART, log = r->tag == v->roles[ROLE_CONTINUES];
    if (!part && !log) return;
    NeedRow row = {part ? FILE_CARD : FILE_JOB, reading_text(g->job, r)};
    row_add(g->arena, &g->d->needs, row);
}

static Str condition_text(Digester *g, const Reading *r) {
    if (isnan(r->at)) return (Str){0};
    return digest_at(&g->job->vocab->tags[r->tag], r->at, r->flags & READ_SPOT, g->arena);
}

/* The text of a fraction, or of a reading a gauge was off for, is not the number that counts. */
static bool stands_alone(const Reading *r) {
    return (r->flags & (READ_FRACTION | READ_GAUGED)) || isnan(r->value);
}

static bool goes_on(const Digester *g, uint32_t run, const Reading *r, uint32_t line) {
    const RunRow *row = &g->d->runs.items[run];
    const Reading *first = &g->job->readings[g->first[run]];
    if (row->tag != r->tag || row->entry != g->entry_row[r->entry] || row->unit != r->unit ||
        row->at_unit != r->at_unit || !same_condition(first->at, r->at) || stands_alone(first))
        return false;
    const Subject *a = &g->job->subjects[first->subject], *b = &g->job->subjects[r->subject];
    if (a->cls != b->cls || a->kind != b->kind) return false;
    if (a->kind == SUBJECT_ITEM && a->up != b->up) return false;
    if (row->count == 1) return line == row->line || line == row->line + 1;
    return line == row->line + row->count * row->step;
}

static uint32_t find_run(const Digester *g, const Reading *r, uint32_t line) {
    if (stands_alone(r)) return UINT32_MAX;
    uint32_t count = g->d->runs.count;
    for (uint32_t i = count, looked = 0; i-- > 0 && looked < RUNS_LOOKED_BACK; looked++) {
        if (goes_on(g, i, r, line)) return i;
    }
    return UINT32_MAX;
}

static void new_run(Digester *g, uint32_t index, uint32_t line) {
    const Reading *r = &g->job->readings[index];
    RunRow row = {.tag = r->tag,
                  .entry = g->entry_row[r->entry],
                  .line = line,
                  .count = 1,
                  .unit = r->unit,
                  .at_unit = r->at_unit,
                  .at = condition_text(g, r),
                  .number = NAN};
    if (stands_alone(r) && !isnan(r->value))
        row.number = unit_from_si(g->job->vocab->tags[r->tag].unit, r->value);
    uint32_t run = g->d->runs.count;
    row_add(g->arena, &g->d->runs, row);
    g->first[run] = g->last[run] = index;
}

static void add_number(Digester *g, uint32_t index) {
    const Reading *r = &g->job->readings[index];
    uint32_t line = line_of(g, r->off), run = find_run(g, r, line);
    if (run == UINT32_MAX) {
        new_run(g, index, line);
        return;
    }
    RunRow *row = &g->d->runs.items[run];
    if (row->count == 1) row->step = line - row->line;
    row->count++;
    g->next[g->last[run]] = index + 1;
    g->last[run] = index;
}

static char mark_of(const Reading *r) {
    if (r->flags & READ_STRUCK) return 'x';
    if (r->flags & READ_SUSPECT) return '?';
    if (r->flags & READ_REPLACED) return '~';
    return r->flags & READ_REPEATED ? '^' : 0;
}

static Str with_mark(Arena *a, const Job *j, const Reading *r) {
    Str text = reading_text(j, r);
    char mark = mark_of(r);
    return mark ? arena_printf(a, "%.*s%c", STR_ARG(text), mark) : text;
}

static size_t common_start(const Str *texts, uint32_t count) {
    size_t n = texts[0].n;
    for (uint32_t i = 1; i < count; i++) {
        size_t k = 0;
        while (k < n && k < texts[i].n && texts[i].p[k] == texts[0].p[k])
            k++;
        n = k;
    }
    return n;
}

static bool one_width(const Str *texts, uint32_t count) {
    for (uint32_t i = 1; i < count; i++) {
        if (texts[i].n != texts[0].n) return false;
    }
    return true;
}

/* What all begin with is written once, and no commas where all are as wide. A mark is never part of
 * the stem: it is looked for at the end of what stands behind it. */
static void write_texts(Digester *g, RunRow *row, Str *texts) {
    Buf b = {0};
    size_t stem = common_start(texts, row->count);
    bool marked = stem == texts[0].n && stem && !is_digit(texts[0].p[stem - 1]);
    if (marked) stem--;
    bool even = one_width(texts, row->count);
    row->stem = (Str){texts[0].p, stem};
    row->width = even ? (int)(texts[0].n - stem) : -1;
    for (uint32_t i = 0; i < row->count; i++) {
        if (i && !even) buf_putc(&b, ',');
        buf_add(&b, str_skip(texts[i], stem));
    }
    row->texts = arena_str(g->arena, buf_str(&b));
    buf_release(&b);
}

static void write_run(Digester *g, uint32_t run, SubjectId *ids, Str *texts) {
    RunRow *row = &g->d->runs.items[run];
    uint32_t count = 0;
    for (uint32_t i = g->first[run] + 1; i; i = g->next[i - 1]) {
        const Reading *r = &g->job->readings[i - 1];
        ids[count] = r->subject;
        texts[count++] = with_mark(g->arena, g->job, r);
    }
    write_texts(g, row, texts);
    digest_names(g->naming, ids, count, &row->of, &row->places);
}

static void add_readings(Digester *g) {
    const Job *j = g->job;
    size_t n = (size_t)j->reading_count + 1;
    g->next = arena_array(g->arena, n, sizeof *g->next);
    g->first = arena_array(g->arena, n, sizeof *g->first);
    g->last = arena_array(g->arena, n, sizeof *g->last);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (r->flags & READ_WORDS) add_need(g, r);
        bool number = j->vocab->tags[r->tag].kind == TAG_NUMBER && !(r->flags & READ_WORDS);
        if (r->source != 0 && !number) add_carried(g, i);
        if (r->source != 0 || g->entry_row[r->entry] == UINT32_MAX) continue;
        if (number)
            add_number(g, i);
        else
            add_fact(g, i);
    }
    SubjectId *ids = arena_array(g->arena, n, sizeof *ids);
    Str *texts = arena_array(g->arena, n, sizeof *texts);
    for (uint32_t i = 0; i < g->d->runs.count; i++)
        write_run(g, i, ids, texts);
}

/* ---- what sits where --------------------------------------------------------------------------
 */

typedef struct Sitting { /* a row that is not whole yet */
    SitsRow row;
    SubjectId set; /* of all its items */
    ROWS(SubjectId) items, places;
    Buf now;
} Sitting;

static void end_sitting(Digester *g, Sitting *s) {
    if (!s->items.count) return;
    digest_names(g->naming, s->items.items, s->items.count, &s->row.of, &s->row.items);
    digest_names(g->naming, s->places.items, s->places.count, &s->row.place_of, &s->row.places);
    Str now = buf_str(&s->now);
    bool all = str_find_char(now, '0', 0) == SIZE_MAX,
         some = str_find_char(now, '1', 0) != SIZE_MAX;
    if (!all) s->row.now = arena_str(g->arena, now);
    row_add(g->arena, &g->d->sits, s->row);
    WordRow word = {.tag = s->row.tag, .now = some, .squeezed = squeezed(g->arena, s->row.of)};
    row_add(g->arena, &g->d->words, word);
    s->items.count = s->places.count = 0;
    buf_clear(&s->now);
}

static bool sits_on(const Digester *g, const Sitting *s, const Event *e, uint32_t line) {
    if (!s->items.count || s->row.entry != g->entry_row[e->entry]) return false;
    if (s->set != g->job->subjects[e->subject].up) return false;
    if (s->items.count == 1) return line == s->row.line || line == s->row.line + 1;
    return line == s->row.line + s->items.count * s->row.step;
}

static void add_sitting(Digester *g, Sitting *s, const Event *e) {
    const Job *j = g->job;
    ClassId item = j->subjects[e->subject].cls;
    uint32_t line = line_of(g, e->span.off);
    if (!sits_on(g, s, e, line)) {
        end_sitting(g, s);
        s->set = j->subjects[e->subject].up;
        s->row = (SitsRow){.tag = j->vocab->classes[item].placement[e->slot - j->slot_base[item]],
                           .entry = g->entry_row[e->entry],
                           .line = line};
    }
    if (s->items.count == 1) s->row.step = line - s->row.line;
    row_add(g->arena, &s->items, e->subject);
    row_add(g->arena, &s->places, e->subject2);
    size_t here = (size_t)e->subject2 * HERE_MOST + e->slot;
    bool still =
        g->state->here && g->state->here[here] == e->subject && g->state->changed[here] == e->entry;
    buf_putc(&s->now, still ? '1' : '0');
}

static void add_sits(Digester *g) {
    const Job *j = g->job;
    Sitting sittings[HERE_MOST] = {0};
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        if (e->kind != EVENT_PLACE || e->source != 0 || g->entry_row[e->entry] == UINT32_MAX)
            continue;
        if (!j->subjects[e->subject].number) continue; /* nobody gave it a number and placed it */
        add_sitting(g, &sittings[e->slot], e);
    }
    for (int i = 0; i < HERE_MOST; i++) {
        end_sitting(g, &sittings[i]);
        buf_release(&sittings[i].now);
    }
}

/* Behind the facts and placements: most sets are named by them, and need no row of their own. */
static void add_sets(Digester *g) {
    const Job *j = g->job;
    StrIndex named = {0};
    for (uint32_t i = 0; i < g->d->words.count; i++) {
        const WordRow *w = &g->d->words.items[i];
        if (names_set(&j->vocab->tags[w->tag])) str_index_add(&named, g->arena, w->squeezed);
    }
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind != SUBJECT_SET) continue;
        WordRow word = {.tag = WORD_SET, .squeezed = squeezed(g->arena, j->subjects[id].name)};
        if (word.squeezed.n && str_index_find(&named, word.squeezed) == STR_INDEX_NONE)
            row_add(g->arena, &g->d->words, word);
    }
}

static TagId scrapping(const Vocab *v) {
    TagId id = 0;
    while (id < v->tag_count && v->tags[id].kind != TAG_SCRAP)
        id++;
    return id;
}

/* Why an item was scrapped is a fact of it. */
static void add_scraps(Digester *g) {
    const Job *j = g->job;
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        if (e->kind != EVENT_SCRAP || e->source != 0 || g->entry_row[e->entry] == UINT32_MAX)
            continue;
        FactRow row = {.tag = scrapping(j->vocab),
                       .entry = g->entry_row[e->entry],
                       .line = line_of(g, e->span.off),
                       .subject = subject_name(j, e->subject, g->arena),
                       .text = e->text};
        row_add(g->arena, &g->d->facts, row);
    }
}

static Str fact_of(const Job *j, Role role) {
    const Reading *r = job_fact(j, j->vocab->roles[role]);
    return r ? reading_text(j, r) : (Str){0};
}

static void add_said(const Source *s, const Vocab *v, Digest *d) {
    Buf part_numbers = {0};
    SaidReader r;
    Said said;
    said_start(&r, s);
    while (said_next(&r, &said)) {
        if (said.numbers && said_is_value(v, &said)) continue;
        buf_add(&d->said, said.text);
        buf_putc(&d->said, '\n');
        for (Str rest = said.text, word; (word = str_word(&rest)).n;)
            squeeze_add(&part_numbers, word);
    }
    buf_add(&d->said, buf_str(&part_numbers));
    buf_release(&part_numbers);
}

static void digest_rows(const Source *s, const Door *door, const Vocab *v, Arena *a, Digest *d) {
    Findings dropped = {.arena = a};
    Job *j = job_read(v, s, false, door, a, &dropped);
    State *state = state_at(j, INT32_MAX, a);
    Digester g = {.job = j, .state = state, .arena = a, .d = d, .at = s->text.p, .line = 1};
    g.naming = naming_new(j, a);
    d->name = j->name;
    d->title = fact_of(j, ROLE_TITLE);
    d->engine = fact_of(j, ROLE_ENGINE);
    d->owner = fact_of(j, ROLE_OWNER);
    add_entries(&g);
    add_readings(&g);
    add_sits(&g);
    add_sets(&g);
    add_scraps(&g);
    digest_again(j, g.entry_row, a, d);
    digest_last(eval_new(state, a), g.naming, a, d);
    add_said(s, v, d);
}

void digest_job(Book *b, Str name, const char *path, Arena *a, Digest *d) {
    Source *s = arena_alloc(a, sizeof *s);
    BookDoor through = {.book = b, .arena = a};
    Door door = book_door(&through);
    d->file = name;
    s->path = str_from(path);
    if (!file_read(a, path, &s->text, &d->stamp, &d->err)) {
        d->gone = !file_exists(path);
        return;
    }
    d->hash = hash_bytes(s->text);
    digest_rows(s, &door, book_vocab(b), a, d);
}
