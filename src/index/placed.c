/* Where an item sits, or sat: a condition such as 'spring = S31#7' or 'spring I3 = S31#7'. */
#include "index/query.h"

typedef struct SitsRead { /* a row of t_sits */
    int64_t entry, items, places, line, step;
    Str of, place_of, now;
} SitsRead;

/* Slices live until the next step: what is kept of them is copied. */
static void read_sits(Query *q, sqlite3_stmt *s, SitsRead *out) {
    *out = (SitsRead){.entry = sqlite3_column_int64(s, 0),
                      .of = arena_str(q->arena, column_str(s, 1)),
                      .items = sqlite3_column_int64(s, 2),
                      .place_of = arena_str(q->arena, column_str(s, 3)),
                      .places = sqlite3_column_int64(s, 4),
                      .now = arena_str(q->arena, column_str(s, 5)),
                      .line = sqlite3_column_int64(s, 6),
                      .step = sqlite3_column_int64(s, 7)};
}

static bool show_row(Query *q, int64_t id, const Condition *c, const SitsRead *r, FoundJob *job,
                     Places *out) {
    Names items, places;
    if (!names_of(q, r->items, &items) || !names_of(q, r->places, &places)) return false;
    for (uint32_t i = 0; i < items.count && i < places.count; i++) {
        bool still = i >= r->now.n || r->now.p[i] != '0';
        if (!(still || q->ask->ever || c->ever) ||
            !subject_matches(c->text, r->of, items.items[i]) ||
            !subject_matches(c->subject, r->place_of, places.items[i]))
            continue;
        Match m = {.kind = MATCH_PLACEMENT,
                   .line = (uint32_t)(r->line + (int64_t)i * r->step),
                   .tag = book_vocab(q->x->book)->tags[c->tag].name,
                   .subject = full_name(q, r->place_of, places.items[i]),
                   .value = full_name(q, r->of, items.items[i])};
        if (!day_of_entry(q, id, r->entry, &m.day)) return false;
        row_add(q->arena, out, m.subject);
        add_match(q, job, m);
    }
    return true;
}

bool show_placed(Query *q, int64_t id, const Condition *c, FoundJob *job, Places *out) {
    sqlite3_stmt *s = db_statement(q->x, S_SITS_OF, q->err);
    if (!s) return false;
    bind_job_tag(s, id, c->tag);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        SitsRead r;
        read_sits(q, s, &r);
        if (!show_row(q, id, c, &r, job, out)) return false;
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}
