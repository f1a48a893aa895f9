/* Rows into tables. */
#include "index/intern.h"

#include <math.h>

/* ---- the vocabulary -------------------------------------------------------------------------- */

static bool insert_tag(Index *x, const Vocab *v, TagId id, Err *err) {
    const Tag *tag = &v->tags[id];
    sqlite3_stmt *s = db_statement(x, S_TAG_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    bind_str(s, 2, tag->name);
    bind_str(s, 3, v->classes[tag->of].name);
    if (!bind_unit(x, s, 4, tag->unit, err) || !bind_unit(x, s, 5, tag->over, err)) return false;
    sqlite3_bind_int64(s, 6, tag->places);
    sqlite3_bind_double(s, 7, pow(10, -(double)tag->places));
    return db_run(x, s, err);
}

static bool insert_about(Index *x, Str key, Str value, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_ABOUT_PUT, err);
    if (!s) return false;
    bind_str(s, 1, key);
    bind_str(s, 2, value);
    return db_run(x, s, err);
}

bool insert_names(Index *x, Err *err) {
    const Vocab *v = book_vocab(x->book);
    if (!need_interned(x, err)) return false;
    for (TagId id = 0; id < v->tag_count; id++) {
        const Tag *tag = &v->tags[id];
        if (!insert_tag(x, v, id, err)) return false;
        if (tag->kind != TAG_PART) continue;
        Str key = arena_printf(x->arena, "part %.*s", STR_ARG(tag->name));
        if (!insert_about(x, key, tag->name, err)) return false;
    }
    TagId stage = v->roles[ROLE_STAGE];
    return stage == TAG_NONE || insert_about(x, STR("stage"), v->tags[stage].name, err);
}

/* ---- a job ------------------------------------------------------------------------------------
 */

static bool put_job(Index *x, int64_t id, const Digest *d, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_JOB_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    bind_str(s, 2, d->name.n ? d->name : d->file);
    bind_str(s, 3, d->file);
    bind_str(s, 4, d->title);
    bind_str(s, 5, d->engine);
    bind_str(s, 6, d->owner);
    bind_some(s, 7, d->first, d->first != DAY_NONE);
    bind_some(s, 8, d->last, d->last != DAY_NONE);
    return db_run(x, s, err);
}

static bool put_entries(Index *x, int64_t id, const Digest *d, Err *err) {
    for (uint32_t i = 0; i < d->entries.count; i++) {
        const EntryRow *e = &d->entries.items[i];
        sqlite3_stmt *s = db_statement(x, S_ENTRY_PUT, err);
        if (!s) return false;
        sqlite3_bind_int64(s, 1, row_id(id, i));
        bind_some(s, 2, e->date.day, e->date.day != DAY_NONE);
        bind_some(s, 3, e->date.minute, e->date.minute >= 0);
        bind_some(s, 4, e->corrects, e->corrects >= 0);
        bind_str(s, 5, e->title);
        sqlite3_bind_int64(s, 6, e->line);
        if (!db_run(x, s, err)) return false;
    }
    return true;
}

static bool put_facts(Index *x, int64_t id, const Digest *d, Err *err) {
    for (uint32_t i = 0; i < d->facts.count; i++) {
        const FactRow *f = &d->facts.items[i];
        sqlite3_stmt *s = db_statement(x, S_FACT_PUT, err);
        if (!s) return false;
        sqlite3_bind_int64(s, 1, row_id(id, i));
        sqlite3_bind_int64(s, 2, f->tag);
        sqlite3_bind_int64(s, 3, f->entry);
        bind_str(s, 4, f->subject);
        sqlite3_bind_text64(s, 5, f->text.p, f->text.n, SQLITE_STATIC, SQLITE_UTF8);
        bind_str(s, 6, str_from(f->state));
        sqlite3_bind_int64(s, 7, f->line);
        if (!db_run(x, s, err)) return false;
    }
    return true;
}

static bool put_carried(Index *x, int64_t id, const Digest *d, Err *err) {
    for (uint32_t i = 0; i < d->carried.count; i++) {
        const CarriedRow *c = &d->carried.items[i];
        sqlite3_stmt *s = db_statement(x, S_CARRIED_PUT, err);
        if (!s) return false;
        sqlite3_bind_int64(s, 1, row_id(id, i));
        sqlite3_bind_int64(s, 2, c->tag);
        bind_str(s, 3, c->subject);
        sqlite3_bind_text64(s, 4, c->text.p, c->text.n, SQLITE_STATIC, SQLITE_UTF8);
        bind_str(s, 5, c->told);
        sqlite3_bind_int64(s, 6, c->line);
        if (!db_run(x, s, err)) return false;
    }
    return true;
}

static bool put_run(Index *x, int64_t id, const RunRow *r, Err *err) {
    int64_t number = shape_number(x, r, err);
    sqlite3_stmt *s = number ? db_statement(x, S_RUN_PUT, err) : NULL;
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    sqlite3_bind_int64(s, 2, r->tag);
    sqlite3_bind_int64(s, 3, r->entry);
    bind_str(s, 4, r->at);
    bind_str(s, 5, r->of);
    sqlite3_bind_int64(s, 6, number);
    bind_str(s, 7, r->stem);
    bind_str(s, 8, r->texts);
    sqlite3_bind_int64(s, 9, r->line);
    if (isnan(r->number))
        sqlite3_bind_null(s, 10);
    else
        sqlite3_bind_double(s, 10, r->number);
    return db_run(x, s, err);
}

static bool put_sits(Index *x, int64_t id, const SitsRow *r, Err *err) {
    int64_t items = places_number(x, r->items, err);
    int64_t places = items ? places_number(x, r->places, err) : 0;
    sqlite3_stmt *s = places ? db_statement(x, S_SITS_PUT, err) : NULL;
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    sqlite3_bind_int64(s, 2, r->tag);
    sqlite3_bind_int64(s, 3, r->entry);
    bind_str(s, 4, r->of);
    sqlite3_bind_int64(s, 5, items);
    bind_str(s, 6, r->place_of);
    sqlite3_bind_int64(s, 7, places);
    bind_str(s, 8, r->now);
    sqlite3_bind_int64(s, 9, r->line);
    bind_some(s, 10, r->step, r->step != 0);
    return db_run(x, s, err);
}

static bool put_needs(Index *x, int64_t id, const Digest *d, Err *err) {
    for (uint32_t i = 0; i < d->needs.count; i++) {
        sqlite3_stmt *s = db_statement(x, S_NEED_PUT, err);
        if (!s) return false;
        bind_str(s, 1, d->needs.items[i].name);
        sqlite3_bind_int64(s, 2, d->needs.items[i].kind);
        sqlite3_bind_int64(s, 3, id);
        if (!db_run(x, s, err)) return false;
    }
    return true;
}

static bool put_said(Index *x, int64_t id, const Digest *d, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_SAID_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    bind_str(s, 2, buf_str(&d->said));
    return db_run(x, s, err);
}

/* Half a million of them wait to be sorted: a row and its texts in as few bytes as it takes. */
struct LaterValue {
    int64_t least, ever_least, ever_greatest;
    uint32_t job, places, deltas;
    uint16_t at, of, how, tag;
    uint8_t form;
    char text[]; /* at, of, how and deltas, one behind the other: the lengths are above */
};

static char *put_text(char *to, Str s) {
    if (s.n) memcpy(to, s.p, s.n);
    return to + s.n;
}

static struct LaterValue *later_value(Arena *a, const LastRow *r, int64_t job, int64_t places) {
    size_t size = r->at.n + r->of.n + r->how.n + r->deltas.n;
    struct LaterValue *v = arena_alloc(a, sizeof *v + size);
    *v = (struct LaterValue){.least = r->least,
                             .ever_least = r->ever_least,
                             .ever_greatest = r->ever_greatest,
                             .job = (uint32_t)job,
                             .places = (uint32_t)places,
                             .deltas = (uint32_t)r->deltas.n,
                             .at = (uint16_t)r->at.n,
                             .of = (uint16_t)r->of.n,
                             .how = (uint16_t)r->how.n,
                             .tag = r->tag,
                             .form = (uint8_t)r->form};
    put_text(put_text(put_text(put_text(v->text, r->at), r->of), r->how), r->deltas);
    return v;
}

static bool keep_later(Index *x, Later *l, int64_t id, const Digest *d, Err *err) {
    Arena *a = l->arena;
    for (uint32_t i = 0; i < d->lasts.count; i++) {
        const LastRow *row = &d->lasts.items[i];
        int64_t places = row->places.n ? places_number(x, row->places, err) : 0;
        if (row->places.n && !places) return false;
        struct LaterValue *value = later_value(a, row, id, places);
        row_add(a, &l->lasts, value);
    }
    for (uint32_t i = 0; i < d->words.count; i++) {
        WordRow row = d->words.items[i];
        row.job = id;
        row.squeezed = arena_str(a, row.squeezed);
        row_add(a, &l->words, row);
    }
    return true;
}

bool insert_job(Index *x, int64_t id, const Digest *d, Later *later, Err *err) {
    uint32_t most = d->runs.count > d->facts.count ? d->runs.count : d->facts.count;
    if (d->sits.count > most) most = d->sits.count;
    if (d->carried.count > most) most = d->carried.count;
    if (most > ROW_MOST || d->entries.count > ROW_MOST)
        return err_set(err, ERR_LIMIT, "the job '%.*s' is too long for the index",
                       STR_ARG(d->file));
    if (!need_interned(x, err)) return false;
    forget_recent(x);
    if (!put_job(x, id, d, err) || !put_entries(x, id, d, err) || !put_facts(x, id, d, err) ||
        !put_carried(x, id, d, err) || !put_needs(x, id, d, err) || !put_said(x, id, d, err))
        return false;
    for (uint32_t i = 0; i < d->runs.count; i++) {
        if (!put_run(x, row_id(id, i), &d->runs.items[i], err)) return false;
    }
    for (uint32_t i = 0; i < d->sits.count; i++) {
        if (!put_sits(x, row_id(id, i), &d->sits.items[i], err)) return false;
    }
    return again_put(x, id, d, err) && keep_later(x, later, id, d, err);
}

/* ---- what is put in sorted --------------------------------------------------------------------
 */

static int order(int64_t a, int64_t b) {
    return (a > b) - (a < b);
}

static int by_value(const void *p, const void *q) {
    const struct LaterValue *a = *(struct LaterValue *const *)p,
                            *b = *(struct LaterValue *const *)q;
    int c = order(a->tag, b->tag);
    if (!c) c = order(a->least, b->least);
    if (!c) c = order(a->job, b->job);
    return c ? c : str_cmp((Str){a->text, a->at}, (Str){b->text, b->at});
}

/* Of equal words the one that counts stands first: the others are passed over. */
static int by_word(const void *p, const void *q) {
    const WordRow *a = p, *b = q;
    int c = order(a->tag, b->tag);
    if (!c) c = str_cmp(a->squeezed, b->squeezed);
    if (!c) c = order(a->job, b->job);
    return c ? c : order(b->now, a->now);
}

static bool put_ever(Index *x, const struct LaterValue *v, Err *err) {
    if (v->ever_least > v->ever_greatest) return true;
    sqlite3_stmt *s = db_statement(x, S_EVER_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, v->tag);
    sqlite3_bind_int64(s, 2, v->job);
    sqlite3_bind_text64(s, 3, v->text, v->at, SQLITE_STATIC, SQLITE_UTF8);
    sqlite3_bind_int64(s, 4, v->ever_least);
    sqlite3_bind_int64(s, 5, v->ever_greatest);
    return db_run(x, s, err);
}

static bool put_last(Index *x, const struct LaterValue *v, Err *err) {
    if (!v->places) return put_ever(x, v, err);
    sqlite3_stmt *s = db_statement(x, S_LAST_PUT, err);
    if (!s) return false;
    const char *of = v->text + v->at, *how = of + v->of, *deltas = how + v->how;
    sqlite3_bind_int64(s, 1, v->tag);
    sqlite3_bind_int64(s, 2, v->least);
    sqlite3_bind_int64(s, 3, v->job);
    sqlite3_bind_text64(s, 4, v->text, v->at, SQLITE_STATIC, SQLITE_UTF8);
    bind_str(s, 5, (Str){of, v->of});
    sqlite3_bind_int64(s, 6, v->places);
    bind_str(s, 7, (Str){how, v->how});
    bind_some(s, 8, v->form, v->form != 0);
    bind_str(s, 9, (Str){deltas, v->deltas});
    return db_run(x, s, err) && put_ever(x, v, err);
}

static bool put_word(Index *x, const WordRow *r, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_WORD_PUT, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, r->tag);
    sqlite3_bind_text64(s, 2, r->squeezed.p, r->squeezed.n, SQLITE_STATIC, SQLITE_UTF8);
    sqlite3_bind_int64(s, 3, r->job);
    sqlite3_bind_int64(s, 4, r->now);
    return db_run(x, s, err);
}

bool insert_later(Index *x, Later *l, Err *err) {
    if (l->lasts.count) qsort(l->lasts.items, l->lasts.count, sizeof *l->lasts.items, by_value);
    if (l->words.count) qsort(l->words.items, l->words.count, sizeof *l->words.items, by_word);
    for (uint32_t i = 0; i < l->lasts.count; i++) {
        if (!put_last(x, l->lasts.items[i], err)) return false;
    }
    for (uint32_t i = 0; i < l->words.count; i++) {
        if (!put_word(x, &l->words.items[i], err)) return false;
    }
    return true;
}

/* What is kept by value or word (t_last, t_word, t_need, t_said) stays until the next rebuild: a
 * job's id is never used again, and what has no row in t_job does not count. */
bool remove_job(Index *x, int64_t id, Err *err) {
    static const StatementId by_range[] = {S_ENTRY_DROP, S_FACT_DROP, S_CARRIED_DROP, S_RUN_DROP,
                                           S_SITS_DROP};
    sqlite3_stmt *s = db_statement(x, S_JOB_DROP, err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    if (!db_run(x, s, err)) return false;
    for (size_t i = 0; i < sizeof by_range / sizeof *by_range; i++) {
        if (!(s = db_statement(x, by_range[i], err))) return false;
        sqlite3_bind_int64(s, 1, row_id(id, 0));
        sqlite3_bind_int64(s, 2, row_id(id, ROW_MOST));
        if (!db_run(x, s, err)) return false;
    }
    return again_drop(x, id, err);
}
