/* What in a job answers the question: readings and computed values with their lines, and words. */
#include "index/query.h"

#include "base/number.h"
#include <math.h>

Match *add_match(Query *q, FoundJob *job, Match m) {
    arena_grow(q->arena, job->matches, job->match_count, job->match_room);
    job->matches[job->match_count] = m;
    return &job->matches[job->match_count++];
}

bool day_of_entry(Query *q, int64_t id, int64_t entry, int32_t *day) {
    sqlite3_stmt *s = db_statement(q->x, S_ENTRY_DAY, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, row_id(id, (uint32_t)entry));
    *day = DAY_NONE;
    if (sqlite3_step(s) == SQLITE_ROW && sqlite3_column_type(s, 0) != SQLITE_NULL)
        *day = sqlite3_column_int(s, 0);
    sqlite3_reset(s);
    return true;
}

static Str unit_name(Query *q, int64_t id) {
    sqlite3_stmt *s = id ? db_statement(q->x, S_UNIT_GET, q->err) : NULL;
    if (!s) return (Str){0};
    sqlite3_bind_int64(s, 1, id);
    Str name = {0};
    if (sqlite3_step(s) == SQLITE_ROW) name = arena_str(q->arena, column_str(s, 0));
    sqlite3_reset(s);
    return name;
}

/* ---- readings as they were written
 * ------------------------------------------------------------------ */

void bind_job(sqlite3_stmt *s, int64_t id) {
    sqlite3_bind_int64(s, 1, row_id(id, 0));
    sqlite3_bind_int64(s, 2, row_id(id, ROW_MOST));
}

void bind_job_tag(sqlite3_stmt *s, int64_t id, TagId tag) {
    bind_job(s, id);
    sqlite3_bind_int64(s, 3, tag);
}

void read_run(Query *q, sqlite3_stmt *s, const Tag *tag, RunRead *out) {
    *out =
        (RunRead){.entry = sqlite3_column_int64(s, 0),
                  .at = column_str(s, 1),
                  .at_unit = unit_name(q, sqlite3_column_int64(s, 2)),
                  .unit = unit_name(q, sqlite3_column_int64(s, 3)),
                  .of = column_str(s, 4),
                  .places = sqlite3_column_int64(s, 5),
                  .stem = column_str(s, 6),
                  .texts = column_str(s, 7),
                  .width = sqlite3_column_type(s, 8) == SQLITE_NULL ? -1 : sqlite3_column_int(s, 8),
                  .line = sqlite3_column_int64(s, 9),
                  .step = sqlite3_column_int64(s, 10),
                  .has_number = sqlite3_column_type(s, 11) != SQLITE_NULL,
                  .number = sqlite3_column_double(s, 11)};
    out->in = unit_find(out->unit, tag->dim);
}

/* One value of a run: its text without the mark behind it, and the mark. */
void run_value(Query *q, const RunRead *r, uint32_t i, Str *text, char *mark) {
    Str part = r->texts;
    if (r->width >= 0) {
        size_t width = (size_t)r->width;
        part = str_skip(part, i * width);
        if (part.n > width) part.n = width;
    } else {
        size_t comma = str_find_char(part, ',', 0);
        for (; i && comma != SIZE_MAX; i--) {
            part = str_skip(part, comma + 1);
            comma = str_find_char(part, ',', 0);
        }
        if (comma != SIZE_MAX) part.n = comma;
    }
    char last = part.n ? part.p[part.n - 1] : 0;
    *mark = last == '?' || last == 'x' || last == '^' || last == '~' ? last : 0;
    if (*mark) part.n--;
    *text = full_name(q, r->stem, arena_str(q->arena, part));
}

int64_t run_count(const RunRead *r, const Tag *tag, Str text) {
    Number n;
    if (r->has_number) return thousandths(tag, unit_to_si(tag->unit, r->number));
    if (!r->in || number_read(text, &n) != NUMBER_OK) return LAST_MISSING;
    return thousandths(tag, unit_to_si(r->in, n.value));
}

/* A computed value, or one a gauge corrected: the tag's places, and as many more as it takes for
 * the text not to contradict the condition it answers. */
static Str said_value(Query *q, const Tag *tag, const Condition *c, int64_t count) {
    enum { MORE_PLACES = 3 };
    Str text = {0};
    for (int more = 0; more <= MORE_PLACES; more++) {
        Buf b = {0};
        buf_fixed(&b, (double)count / (1000 * pow(10, tag->places)), tag->places + more);
        text = arena_str(q->arena, buf_str(&b));
        buf_release(&b);
        Number n;
        if (number_read(text, &n) != NUMBER_OK) break;
        int64_t shown = llround(n.value * 1000 * pow(10, tag->places));
        if (in_range(c, shown)) break;
    }
    return text;
}

void fill_reading(Query *q, Match *m, const RunRead *r, const ShownValue *v, uint32_t i, Str text) {
    m->line = (uint32_t)(r->line + (int64_t)i * r->step);
    m->value = text;
    m->unit = r->unit;
    m->at_unit = r->at_unit;
    if (!r->has_number || str_find_char(text, '/', 0) != SIZE_MAX) return;
    m->corrected = arena_printf(q->arena, "%.*s %s", STR_ARG(said_value(q, v->tag, v->c, v->count)),
                                v->tag->unit->name);
}

/* Finds the line a measured value stands on: the last good reading of it. */
static bool locate(Query *q, const ShownValue *v, Match *m) {
    sqlite3_stmt *s = db_statement(q->x, S_RUN_OF, q->err);
    if (!s) return false;
    bind_job_tag(s, v->id, v->c->tag);
    int rc = SQLITE_ROW;
    bool found = false;
    int64_t entry = 0;
    while (!found && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        RunRead r;
        Names names;
        read_run(q, s, v->tag, &r);
        if (v->at.n && !str_eq(v->at, r.at)) continue;
        if (!str_eq(r.of, v->of) || !names_of(q, r.places, &names)) continue;
        Str text;
        char mark;
        for (uint32_t i = 0; i < names.count; i++) {
            if (!str_eq(names.items[i], v->name)) continue;
            run_value(q, &r, i, &text, &mark);
            if (mark || run_count(&r, v->tag, text) != v->count) continue;
            fill_reading(q, m, &r, v, i, text);
            entry = r.entry;
            found = true;
        }
    }
    sqlite3_reset(s);
    if (!found && rc != SQLITE_DONE) return db_fail(q->x, q->err);
    return !found || day_of_entry(q, v->id, entry, &m->day);
}

static Str how_said(Query *q, uint8_t how) {
    static const struct {
        uint8_t bit;
        const char *words;
    } rows[] = {{HOW_NOMINAL, "nominal"},
                {HOW_PARTIAL, "so far"},
                {HOW_CARRIED, "carried on"},
                {HOW_EXTENDED, "beyond the readings"}};
    Str said = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (!(how & rows[i].bit)) continue;
        said = arena_printf(q->arena, "%.*s%s%s", STR_ARG(said), said.n ? ", " : "", rows[i].words);
    }
    return said;
}

static bool show_value(Query *q, FoundJob *job, const ShownValue *v) {
    bool measured = v->how & HOW_MEASURED;
    Match m = {.kind = measured ? MATCH_READING : MATCH_COMPUTED,
               .day = DAY_NONE,
               .tag = v->tag->name,
               .subject = full_name(q, v->of, v->name),
               .at = v->at,
               .how = how_said(q, v->how)};
    if (v->tag->of == CLASS_ENGINE) m.subject = (Str){0};
    if (v->at.n && v->tag->over) m.at_unit = str_from(v->tag->over->name);
    if (measured && !locate(q, v, &m)) return false;
    if (!m.line &&
        !rest_line(q, v->id, (uint32_t)(v->c - q->ask->conditions),
                   v->tag->of == CLASS_ENGINE ? STR("engine") : full_name(q, v->of, v->name), &m))
        return false;
    if (!m.value.n) {
        m.value = said_value(q, v->tag, v->c, v->count);
        m.unit = str_from(v->tag->unit->name);
    }
    add_match(q, job, m);
    return true;
}

/* ---- conditions
 * -------------------------------------------------------------------------------------- */

static bool listed(const Places *p, Str name) {
    for (uint32_t i = 0; i < p->count; i++) {
        if (str_eq(p->items[i], name)) return true;
    }
    return false;
}

typedef struct Holding { /* of one condition in one job */
    ShownValue *items;
    uint32_t count, room;
} Holding;

static bool hold_last(Query *q, const LastHit *h, ShownValue base, Holding *out) {
    sqlite3_stmt *s = db_statement(q->x, S_LAST_GET, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, base.c->tag);
    sqlite3_bind_int64(s, 2, h->least);
    sqlite3_bind_int64(s, 3, h->job);
    sqlite3_bind_text64(s, 4, h->at.n ? h->at.p : "", h->at.n, SQLITE_STATIC, SQLITE_UTF8);
    LastValues row;
    if (sqlite3_step(s) != SQLITE_ROW) {
        sqlite3_reset(s);
        return true;
    }
    last_values(s, &row);
    row.deltas = arena_str(q->arena, row.deltas);
    base.of = arena_str(q->arena, row.of);
    row.how = arena_str(q->arena, row.how);
    base.at = h->at;
    sqlite3_reset(s);
    Names names;
    if (!names_of(q, row.places, &names)) return false;
    for (uint32_t i = 0; i < names.count; i++) {
        base.count = value_at(&row, i);
        if (!in_range(base.c, base.count) ||
            !subject_matches(base.c->subject, base.of, names.items[i]))
            continue;
        base.name = names.items[i];
        base.how = how_at(&row, i);
        row_add(q->arena, out, base);
    }
    return true;
}

static bool hold_now(Query *q, uint32_t at, ShownValue base, Holding *out) {
    for (uint32_t i = q->of_job[at][base.id].first; i; i = q->lasts[at].items[i - 1].next) {
        if (!hold_last(q, &q->lasts[at].items[i - 1], base, out)) return false;
    }
    return true;
}

/* Every good reading of the log that fits, not only the last. */
static bool hold_ever(Query *q, ShownValue base, Holding *out, FoundJob *job) {
    sqlite3_stmt *s = db_statement(q->x, S_RUN_OF, q->err);
    if (!s) return false;
    bind_job_tag(s, base.id, base.c->tag);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        RunRead r;
        Names names;
        read_run(q, s, base.tag, &r);
        if ((base.c->at.n && !str_eq(base.c->at, r.at)) || !names_of(q, r.places, &names)) continue;
        Str text;
        char mark;
        for (uint32_t i = 0; i < names.count; i++) {
            run_value(q, &r, i, &text, &mark);
            int64_t count = run_count(&r, base.tag, text);
            if ((mark && mark != '^') || !in_range(base.c, count) ||
                !subject_matches(base.c->subject, r.of, names.items[i]))
                continue;
            base.count = count;
            base.of = arena_str(q->arena, r.of);
            base.name = names.items[i];
            base.at = arena_str(q->arena, r.at);
            row_add(q->arena, out, base);
            Match m = {.kind = MATCH_READING,
                       .tag = base.tag->name,
                       .subject = base.tag->of == CLASS_ENGINE ? str_none
                                                               : full_name(q, base.of, base.name),
                       .at = base.at};
            fill_reading(q, &m, &r, &base, i, text);
            if (!day_of_entry(q, base.id, r.entry, &m.day)) return false;
            add_match(q, job, m);
        }
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool same_words(Str a, Str b) {
    Buf x = {0}, y = {0};
    squeeze_all(&x, a);
    squeeze_all(&y, b);
    bool same = str_eq(buf_str(&x), buf_str(&y));
    buf_release(&x);
    buf_release(&y);
    return same;
}

/* What only a log that this one continues says stands at the line that names that log. */
static bool show_carried(Query *q, int64_t id, const Condition *c, FoundJob *job) {
    sqlite3_stmt *s = db_statement(q->x, S_CARRIED_OF, q->err);
    if (!s) return false;
    bind_job_tag(s, id, c->tag);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        Str subject = arena_str(q->arena, column_str(s, 0));
        if (!same_words(c->text, column_str(s, 1)) ||
            !subject_matches(c->subject, (Str){0}, subject))
            continue;
        Match m = {.kind = MATCH_FACT,
                   .line = (uint32_t)sqlite3_column_int64(s, 3),
                   .day = DAY_NONE,
                   .tag = book_vocab(q->x->book)->tags[c->tag].name,
                   .subject = subject,
                   .value = arena_str(q->arena, column_str(s, 1))};
        m.how = arena_printf(q->arena, "from %.*s", STR_ARG(column_str(s, 2)));
        add_match(q, job, m);
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool show_fact(Query *q, int64_t id, const Condition *c, FoundJob *job) {
    const Tag *tag = &book_vocab(q->x->book)->tags[c->tag];
    sqlite3_stmt *s = db_statement(q->x, S_FACT_OF, q->err);
    if (!s) return false;
    bind_job_tag(s, id, c->tag);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        bool same = same_words(c->text, column_str(s, 2));
        Str subject = arena_str(q->arena, column_str(s, 1));
        if (!same || sqlite3_column_type(s, 3) != SQLITE_NULL ||
            !subject_matches(c->subject, (Str){0}, subject))
            continue;
        Match m = {.kind = MATCH_FACT,
                   .line = (uint32_t)sqlite3_column_int64(s, 4),
                   .tag = tag->name,
                   .subject = subject,
                   .value = arena_str(q->arena, column_str(s, 2))};
        if (!day_of_entry(q, id, sqlite3_column_int64(s, 0), &m.day)) return false;
        add_match(q, job, m);
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static Places places_of(Query *q, const Holding *h) {
    Places names = {0};
    for (uint32_t i = 0; i < h->count; i++)
        row_add(q->arena, &names, full_name(q, h->items[i].of, h->items[i].name));
    return names;
}

/* Keeps of `same` what the next condition holds on too. */
static void narrow(Query *q, Places *same, const Places *next, bool first) {
    Places left = {0};
    for (uint32_t i = 0; i < next->count; i++) {
        if (!first && !listed(same, next->items[i])) continue;
        if (!listed(&left, next->items[i])) row_add(q->arena, &left, next->items[i]);
    }
    *same = left;
}

/* What was shown before it was known on which places all conditions hold. */
static void keep_same(FoundJob *job, const Places *same) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < job->match_count; i++) {
        const Match *m = &job->matches[i];
        if (m->kind == MATCH_FACT || listed(same, m->subject)) job->matches[kept++] = *m;
    }
    job->match_count = kept;
}

static bool show_holding(Query *q, const Holding *h, const Places *same, FoundJob *job) {
    for (uint32_t i = 0; i < h->count; i++) {
        const ShownValue *v = &h->items[i];
        if (q->ask->same_place && !listed(same, full_name(q, v->of, v->name))) continue;
        if (!show_value(q, job, v)) return false;
    }
    return true;
}

static bool add_conditions(Query *q, int64_t id, FoundJob *job, bool *holds) {
    const Ask *ask = q->ask;
    Holding held[ASK_MOST] = {0};
    Places same = {0};
    bool first = true;
    for (uint32_t i = 0; i < ask->condition_count; i++) {
        const Condition *c = &ask->conditions[i];
        uint32_t before = job->match_count;
        ShownValue base = {.c = c, .tag = &book_vocab(q->x->book)->tags[c->tag], .id = id};
        if (c->words && base.tag->kind == TAG_PLACEMENT) {
            Places at = {0};
            if (!show_placed(q, id, c, job, &at)) return false;
            *holds = *holds && at.count > 0;
            narrow(q, &same, &at, first);
            first = false;
            continue;
        }
        if (c->words) {
            if (!show_fact(q, id, c, job) || !show_carried(q, id, c, job)) return false;
            *holds = *holds && job->match_count > before;
            continue;
        }
        if (ask->ever && !hold_ever(q, base, &held[i], job)) return false;
        bool only_read = job->match_count > before;
        if (!only_read && !hold_now(q, i, base, &held[i])) return false;
        *holds = *holds && held[i].count > 0;
        Places at = places_of(q, &held[i]);
        narrow(q, &same, &at, first);
        first = false;
        if (only_read) held[i].count = 0; /* shown already */
    }
    if (ask->same_place && !first) {
        *holds = *holds && same.count > 0;
        keep_same(job, &same);
    }
    for (uint32_t i = 0; *holds && i < ask->condition_count; i++) {
        if (!show_holding(q, &held[i], &same, job)) return false;
    }
    return true;
}

/* ---- all of a job
 * --------------------------------------------------------------------------------------- */

static int by_line(const void *a, const void *b) {
    const Match *x = a, *y = b;
    uint32_t p = x->line ? x->line : UINT32_MAX, r = y->line ? y->line : UINT32_MAX;
    if (p != r) return p < r ? -1 : 1;
    return x->order < y->order ? -1 : 1;
}

/* The log as it is now; one that went away since holds nothing. */
static bool add_words(Query *q, int64_t id, FoundJob *job, bool *holds) {
    Err quiet = {0};
    Source s = {.path = job->file};
    bool found[ASK_MOST] = {0};
    *holds = false;
    arena_reset(q->scratch);
    if (!file_read(q->scratch, job->file.p, &s.text, NULL, &quiet)) return true;
    source_map(&s, q->scratch);
    if (!word_matches(q->tokenizer, q->words, q->ask->word_count, q->x->book, &s, q->scratch,
                      q->arena, job, found))
        return err_set(q->err, ERR_INDEX, "'%.*s' cannot be cut into words", STR_ARG(job->file));
    *holds = true;
    for (uint32_t i = 0; i < q->ask->word_count && *holds; i++) {
        const AskWord *w = &q->ask->words[i];
        if (w->item && !show_item(q, id, w->text, job, &found[i])) return false;
        *holds = found[i];
    }
    return true;
}

void matches_sort(FoundJob *job) {
    if (job->match_count) qsort(job->matches, job->match_count, sizeof *job->matches, by_line);
}

bool add_matches(Query *q, int64_t id, FoundJob *job, bool *holds) {
    *holds = true;
    if (!add_conditions(q, id, job, holds)) return false;
    if (*holds && q->ask->word_count && !add_words(q, id, job, holds)) return false;
    for (uint32_t i = 0; i < job->match_count; i++)
        job->matches[i].order = i;
    matches_sort(job);
    return true;
}
