/* Which jobs a question means: each part of it marks jobs, and those with all marks are the answer.
 */
#include "index/query.h"

enum { FEW = 256 };

const char *match_kind_name(MatchKind kind) {
    static const char *const names[] = {
        [MATCH_READING] = "reading",     [MATCH_COMPUTED] = "computed", [MATCH_FACT] = "fact",
        [MATCH_PLACEMENT] = "placement", [MATCH_NOTE] = "note",         [MATCH_TITLE] = "title",
        [MATCH_REMARK] = "remark"};
    return names[kind];
}

/* ---- parts of the question
 * ------------------------------------------------------------------------ */

/* Each part of the question may name a job several times: it counts once. */
static void hit(Query *q, int64_t job) {
    if (job > 0 && job < q->x->next_job && q->hits[job] == q->wanted) q->hits[job]++;
}

static bool finish(Query *q, sqlite3_stmt *s, int rc) {
    sqlite3_reset(s);
    q->wanted++;
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

bool hit_words(Query *q, Str expression, uint32_t *met) {
    sqlite3_stmt *s = db_statement(q->x, S_SAID_MEET, q->err);
    if (!s) return false;
    bind_str(s, 1, expression);
    int rc;
    for (*met = 0; (rc = sqlite3_step(s)) == SQLITE_ROW; ++*met)
        hit(q, sqlite3_column_int64(s, 0));
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

/* The index keeps no lengths of texts, so FTS5 takes all for equally long: what counts is how often
 * the words are said, and how rare they are. */
static bool rank_words(Query *q, Str expression) {
    sqlite3_stmt *s = db_statement(q->x, S_SAID_RANK, q->err);
    if (!s) return false;
    bind_str(s, 1, expression);
    q->fits = arena_array(q->arena, (size_t)q->x->next_job, sizeof *q->fits);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t job = sqlite3_column_int64(s, 0);
        if (job > 0 && job < q->x->next_job) q->fits[job] = sqlite3_column_double(s, 1);
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

/* Words that most of a large book says tell its jobs apart by nothing: bm25 gives what is in more
 * than half of the texts the least weight there is, and asking it of thousands takes time. */
static bool all_say_it(const Query *q, uint32_t met) {
    enum { LARGE = 1000 };
    return met > LARGE && met > q->x->next_job / 2;
}

static bool find_words(Query *q) {
    const Ask *ask = q->ask;
    if (!ask->word_count) return true;
    if (!tokenizer_new(q->x, q->arena, &q->tokenizer, q->err) ||
        !word_queries(q->tokenizer, ask, q->arena, &q->words, q->err))
        return false;
    Str expression = word_expression(q->words, ask->word_count, q->arena);
    uint32_t met;
    if (!expression.n) return true;
    if (!hit_words(q, expression, &met)) return false;
    q->wanted++;
    return met < 2 || all_say_it(q, met) || rank_words(q, expression);
}

static bool row_holds(Query *q, const Condition *c, const LastValues *row, bool *holds) {
    Names names = {0};
    *holds = false;
    uint32_t count = row->form >= 10 ? (uint32_t)(row->deltas.n / ((size_t)row->form / 10)) : 1;
    if (c->subject.n) {
        if (!names_of(q, row->places, &names)) return false;
        count = names.count;
    }
    for (uint32_t i = 0; i < count && !*holds; i++) {
        bool meant = !c->subject.n || subject_matches(c->subject, row->of, names.items[i]);
        *holds = meant && in_range(c, value_at(row, i));
    }
    return true;
}

/* Jobs in which the condition may once have held: what stands in the log decides. */
static bool find_ever(Query *q, const Condition *c) {
    sqlite3_stmt *s = db_statement(q->x, S_EVER_RANGE, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, c->tag);
    sqlite3_bind_int64(s, 2, c->high);
    sqlite3_bind_int64(s, 3, c->low);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        if (!c->at.n || str_eq(c->at, column_str(s, 1))) hit(q, sqlite3_column_int64(s, 0));
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

/* Many rows are decided by their least value: only the others are read whole. */
static bool last_holds(Query *q, const Condition *c, sqlite3_stmt *s, bool *holds) {
    *holds = false;
    if (c->at.n && !str_eq(c->at, column_str(s, 2))) return true;
    if (!c->subject.n && in_range(c, sqlite3_column_int64(s, 0))) {
        *holds = true;
        return true;
    }
    LastValues row;
    last_values(s, &row);
    return row_holds(q, c, &row, holds);
}

static void keep_hit(Query *q, uint32_t at, LastHit keep) {
    row_add(q->arena, &q->lasts[at], keep);
    uint32_t number = q->lasts[at].count, *last = &q->of_job[at][keep.job].last;
    if (*last)
        q->lasts[at].items[*last - 1].next = number;
    else
        q->of_job[at][keep.job].first = number;
    *last = number;
}

static bool find_values(Query *q, uint32_t at) {
    const Condition *c = &q->ask->conditions[at];
    if (q->ask->ever && !find_ever(q, c)) return false;
    sqlite3_stmt *s = db_statement(q->x, S_LAST_RANGE, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, c->tag);
    sqlite3_bind_int64(s, 2, c->high);
    q->of_job[at] = arena_array(q->arena, (size_t)q->x->next_job, sizeof *q->of_job[at]);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        bool holds;
        if (!last_holds(q, c, s, &holds)) return false;
        if (!holds) continue;
        LastHit keep = {.job = sqlite3_column_int64(s, 1), .least = sqlite3_column_int64(s, 0)};
        if (keep.job <= 0 || keep.job >= q->x->next_job) continue;
        hit(q, keep.job);
        if (sqlite3_column_bytes(s, 2)) keep.at = arena_str(q->arena, column_str(s, 2));
        keep_hit(q, at, keep);
    }
    return finish(q, s, rc);
}

static Str squeeze(Arena *a, Str text) {
    Buf b = {0};
    squeeze_all(&b, text);
    Str key = arena_str(a, buf_str(&b));
    buf_release(&b);
    return key.n > SQUEEZED_MOST ? (Str){key.p, SQUEEZED_MOST} : key;
}

bool hit_facts(Query *q, StatementId how, TagId tag, Str text, bool ever) {
    if (tag == TAG_NONE) return true;
    sqlite3_stmt *s = db_statement(q->x, how, q->err);
    if (!s) return false;
    Str key = squeeze(q->arena, text), past = arena_printf(q->arena, "%.*s\xff", STR_ARG(key));
    sqlite3_bind_int64(s, 1, tag);
    sqlite3_bind_text64(s, 2, key.p, key.n, SQLITE_STATIC, SQLITE_UTF8);
    if (how == S_WORD_BEGINS) sqlite3_bind_text64(s, 3, past.p, past.n, SQLITE_STATIC, SQLITE_UTF8);
    sqlite3_bind_int64(s, 4, ever ? 0 : 1);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW)
        hit(q, sqlite3_column_int64(s, 0));
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool find_fact(Query *q, StatementId how, TagId tag, Str text) {
    return hit_facts(q, how, tag, text, q->ask->ever);
}

static bool find_part(Query *q) {
    if (!q->ask->part.n) return true;
    const Vocab *v = book_vocab(q->x->book);
    for (TagId id = 0; id < v->tag_count; id++) {
        if (v->tags[id].kind == TAG_PART && !find_fact(q, S_WORD_BEGINS, id, q->ask->part))
            return false;
    }
    q->wanted++;
    return true;
}

static bool find_filters(Query *q) {
    const Ask *ask = q->ask;
    const struct {
        Str text;
        Role role;
        StatementId how;
    } filters[] = {{ask->engine, ROLE_ENGINE, S_WORD_BEGINS},
                   {ask->owner, ROLE_OWNER, S_WORD_HAS},
                   {ask->stage, ROLE_STAGE, S_WORD_BEGINS}};
    for (size_t i = 0; i < sizeof filters / sizeof *filters; i++) {
        if (!filters[i].text.n) continue;
        TagId tag = book_vocab(q->x->book)->roles[filters[i].role];
        if (!find_fact(q, filters[i].how, tag, filters[i].text)) return false;
        q->wanted++;
    }
    return find_part(q);
}

/* Jobs where an item of that set was placed: which item, and where, is seen when they are shown. */
static bool find_placed(Query *q, const Condition *c) {
    size_t number = str_find_char(c->text, '#', 0);
    Str set = {c->text.p, number == SIZE_MAX ? c->text.n : number};
    return find_fact(q, set.n ? S_WORD_IS : S_WORD_BEGINS, c->tag, set);
}

static bool find_conditions(Query *q) {
    for (uint32_t i = 0; i < q->ask->condition_count; i++) {
        const Condition *c = &q->ask->conditions[i];
        if (!c->words) {
            if (!find_values(q, i)) return false;
            continue;
        }
        bool placed = book_vocab(q->x->book)->tags[c->tag].kind == TAG_PLACEMENT;
        if (!(placed ? find_placed(q, c) : find_fact(q, S_WORD_IS, c->tag, c->text))) return false;
        q->wanted++;
    }
    return true;
}

/* ---- from marks to jobs
 * ---------------------------------------------------------------------------- */

static Str kept(Query *q, sqlite3_stmt *s, int column) {
    return arena_str(q->arena, column_str(s, column));
}

static int32_t day_of(sqlite3_stmt *s, int column) {
    return sqlite3_column_type(s, column) == SQLITE_NULL ? DAY_NONE : sqlite3_column_int(s, column);
}

/* False on failure; *there false when the id has no job any more, or its days do not fit. */
static bool job_of(Query *q, int64_t id, FoundJob *out, bool *there) {
    sqlite3_stmt *s = db_statement(q->x, S_JOB_GET, q->err);
    if (!s) return false;
    sqlite3_bind_int64(s, 1, id);
    int rc = sqlite3_step(s);
    *there = false;
    if (rc == SQLITE_ROW) {
        *out = (FoundJob){.name = kept(q, s, 0),
                          .title = kept(q, s, 2),
                          .engine = kept(q, s, 3),
                          .owner = kept(q, s, 4),
                          .first = day_of(s, 5),
                          .last = day_of(s, 6)};
        out->file = str_from(look_path(q->x, FILE_JOB, column_str(s, 1), q->arena));
        *there = out->last >= q->ask->since && (out->first <= q->ask->until);
        if (q->ask->since > INT32_MIN && out->last == DAY_NONE) *there = false;
    }
    sqlite3_reset(s);
    return rc == SQLITE_ROW || rc == SQLITE_DONE || db_fail(q->x, q->err);
}

typedef struct Placed { /* a job in the order of the answer */
    int64_t id;
    double fits;
    int64_t newness; /* the greatest is the newest */
    Str name;
} Placed;

typedef ROWS(Placed) PlacedRows;

/* What fits the words best, and of what fits equally well, or was asked without words, the newest.
 */
static int best_first(const void *a, const void *b) {
    const Placed *x = a, *y = b;
    if (x->fits != y->fits) return x->fits < y->fits ? -1 : 1;
    if (x->newness != y->newness) return x->newness < y->newness ? 1 : -1;
    return str_cmp(y->name, x->name);
}

static void place(Query *q, PlacedRows *rows, Placed job) {
    if (q->fits) job.fits = q->fits[job.id];
    row_add(q->arena, rows, job);
}

/* A few are looked up one by one. */
static bool place_few(Query *q, PlacedRows *rows) {
    for (int64_t id = 1; id < q->x->next_job; id++) {
        FoundJob job;
        bool there;
        if (q->hits[id] != q->wanted) continue;
        if (!job_of(q, id, &job, &there)) return false;
        if (there) place(q, rows, (Placed){.id = id, .newness = job.last, .name = job.name});
    }
    return true;
}

typedef struct Gathering { /* of the jobs that are shown */
    Query *q;
    Found *out;
    uint32_t limit;
    bool full;
} Gathering;

/* Adds the job when all parts of the question really hold in it. */
static bool gather_one(Gathering *g, int64_t id) {
    Query *q = g->q;
    FoundJob job;
    bool there, holds = true;
    if (!job_of(q, id, &job, &there)) return false;
    if (!there) return true;
    if (!add_matches(q, id, &job, &holds)) return false;
    if (!holds) return true;
    g->full = g->out->more = g->out->count == g->limit;
    if (!g->full) g->out->jobs[g->out->count++] = job;
    return true;
}

/* Many are met on the way through all jobs by date: those without a better order at once. */
static bool meet_newest(Gathering *g, PlacedRows *rows) {
    Query *q = g->q;
    sqlite3_stmt *s = db_statement(q->x, S_JOB_NEWEST, q->err);
    if (!s) return false;
    int rc = SQLITE_DONE;
    int64_t newness = 0;
    while (!g->full && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t id = sqlite3_column_int64(s, 0);
        if (id <= 0 || id >= q->x->next_job || q->hits[id] != q->wanted) continue;
        newness--;
        if (q->fits)
            place(q, rows, (Placed){.id = id, .newness = newness});
        else if (!gather_one(g, id))
            return false;
    }
    sqlite3_reset(s);
    return g->full || rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool few_are_meant(const Query *q) {
    uint32_t count = 0;
    for (int64_t id = 1; id < q->x->next_job && count <= FEW; id++)
        count += q->hits[id] == q->wanted;
    return count <= FEW;
}

/* Ends as soon as enough are found: the others are not looked into. */
static bool gather(Query *q, Found *out) {
    Gathering g = {.q = q, .out = out, .limit = q->ask->limit ? q->ask->limit : 1};
    PlacedRows rows = {0};
    out->jobs = arena_array(q->arena, g.limit, sizeof *out->jobs);
    out->by_words = q->fits != NULL;
    if (!(few_are_meant(q) ? place_few(q, &rows) : meet_newest(&g, &rows))) return false;
    if (rows.count) qsort(rows.items, rows.count, sizeof *rows.items, best_first);
    for (uint32_t i = 0; i < rows.count && !g.full; i++) {
        if (!gather_one(&g, rows.items[i].id)) return false;
    }
    return true;
}

bool index_find(Index *x, const Ask *ask, Arena *a, Found *out, Err *err) {
    if (ask->same_engine && (ask->word_count || ask->condition_count))
        return find_engines(x, ask, a, out, err);
    Query q = {.x = x, .ask = ask, .arena = a, .scratch = arena_new(), .err = err};
    Found found = {0};
    q.hits = arena_alloc(a, (size_t)x->next_job + 1);
    bool ok = db_exec(x, "BEGIN", err) && find_words(&q) && find_items(&q) && find_conditions(&q) &&
              find_filters(&q) && gather(&q, &found);
    tokenizer_free(q.tokenizer);
    arena_free(q.scratch);
    sqlite3_exec(x->db, "ROLLBACK", NULL, NULL, NULL);
    if (ok) *out = found;
    return ok;
}
