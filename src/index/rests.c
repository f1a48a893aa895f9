/*
 * The line of a computed value. It stands on none itself; what is given is the line of the last
 * good reading, fact or part it may rest on: of a quantity its formula leads to, at the same place
 * (or its cylinder), at an item that sits there, or of what is above all places. format/index.md
 * says so to who reads it. Where nothing in this log does, it is the part whose card may say it,
 * and last of all the log that this one goes on from.
 */
#include "index/query.h"

#include "vocab/formula.h"

static void lead_to(const Vocab *v, TagId tag, bool *leads);

static void follow(const Vocab *v, const Formula *f, bool *leads) {
    if (!f) return;
    switch (f->kind) {
    case F_LOST:
    case F_WHEN: lead_to(v, f->tag2, leads); /* fall through */
    case F_TAG:
    case F_FIRST:
    case F_PREVIOUS:
    case F_READ:
    case F_FITTED:
    case F_SPOT: lead_to(v, f->tag, leads); break;
    default: break; /* the others name nothing themselves */
    }
    follow(v, f->a, leads);
    follow(v, f->b, leads);
}

static void lead_to(const Vocab *v, TagId tag, bool *leads) {
    if (tag == TAG_NONE || leads[tag]) return;
    leads[tag] = true;
    follow(v, v->tags[tag].is, leads);
}

static bool gather_runs(Query *q, Rests *rests) {
    const Vocab *v = book_vocab(q->x->book);
    sqlite3_stmt *s = db_statement(q->x, S_RUN_ALL, q->err);
    if (!s) return false;
    bind_job(s, rests->job);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t tag = sqlite3_column_int64(s, 12);
        RunRead r;
        Names names;
        if (tag < 0 || tag >= v->tag_count || !rests->leads[tag]) continue;
        read_run(q, s, &v->tags[tag], &r);
        if (!names_of(q, r.places, &names)) return false;
        for (uint32_t i = 0; i < names.count; i++) {
            Str text;
            char mark;
            run_value(q, &r, i, &text, &mark);
            if (mark) continue;
            Rest rest = {.subject = full_name(q, arena_str(q->arena, r.of), names.items[i]),
                         .line = (uint32_t)(r.line + (int64_t)i * r.step),
                         .entry = r.entry};
            row_add(q->arena, &rests->items, rest);
        }
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool gather_facts(Query *q, Rests *rests) {
    const Vocab *v = book_vocab(q->x->book);
    sqlite3_stmt *s = db_statement(q->x, S_FACT_ALL, q->err);
    if (!s) return false;
    bind_job(s, rests->job);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t tag = sqlite3_column_int64(s, 3);
        if (tag < 0 || tag >= v->tag_count) continue;
        bool card = v->tags[tag].kind == TAG_PART, log = tag == v->roles[ROLE_CONTINUES];
        if (!card && !log && !rests->leads[tag]) continue;
        Rest rest = {.subject = arena_str(q->arena, column_str(s, 1)),
                     .line = (uint32_t)sqlite3_column_int64(s, 2),
                     .entry = sqlite3_column_int64(s, 0),
                     .behind = log    ? 2
                               : card ? 1
                                      : 0};
        row_add(q->arena, &rests->items, rest);
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

static bool gather_seats(Query *q, Rests *rests) {
    sqlite3_stmt *s = db_statement(q->x, S_SITS_ALL, q->err);
    if (!s) return false;
    bind_job(s, rests->job);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        Str of = arena_str(q->arena, column_str(s, 0)), on = arena_str(q->arena, column_str(s, 2));
        Str now = arena_str(q->arena, column_str(s, 4));
        Names items, places;
        if (!names_of(q, sqlite3_column_int64(s, 1), &items) ||
            !names_of(q, sqlite3_column_int64(s, 3), &places))
            return false;
        for (uint32_t i = 0; i < items.count && i < places.count; i++) {
            if (i < now.n && now.p[i] == '0') continue;
            Seat seat = {full_name(q, of, items.items[i]), full_name(q, on, places.items[i])};
            row_add(q->arena, &rests->seats, seat);
        }
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

/* Once a job: its values of one condition mostly come one behind the other. */
static bool gather_rests(Query *q, Rests *rests, int64_t id, TagId tag) {
    const Vocab *v = book_vocab(q->x->book);
    if (!rests->leads) {
        rests->leads = arena_alloc(q->arena, v->tag_count);
        lead_to(v, tag, rests->leads);
    }
    if (rests->job == id) return true;
    rests->job = id;
    rests->items.count = rests->seats.count = 0;
    return gather_runs(q, rests) && gather_facts(q, rests) && gather_seats(q, rests);
}

static size_t first_digit(Str s) {
    size_t i = 0;
    while (i < s.n && !is_digit(s.p[i]))
        i++;
    return i;
}

/* I3 and I3, I3 and cylinder 3; not I3 and E3. */
static bool same_spot(Str a, Str b) {
    size_t i = first_digit(a), k = first_digit(b);
    if (str_eq(a, b)) return true;
    return (!i || !k) && i < a.n && k < b.n && str_eq(str_skip(a, i), str_skip(b, k));
}

/* At the value's own place, at what sits there, or at what has no places beside it. */
static bool bears_on(const Rests *rests, Str subject, Str read) {
    if (first_digit(subject) == subject.n || first_digit(read) == read.n) return true;
    if (same_spot(subject, read)) return true;
    for (uint32_t i = 0; i < rests->seats.count; i++) {
        const Seat *seat = &rests->seats.items[i];
        if (str_eq(seat->item, read) && same_spot(subject, seat->place)) return true;
    }
    return false;
}

bool rest_line(Query *q, int64_t id, uint32_t condition, Str subject, Match *m) {
    Rests *rests = &q->rests[condition];
    if (!gather_rests(q, rests, id, q->ask->conditions[condition].tag)) return false;
    const Rest *best = NULL;
    for (uint32_t i = 0; i < rests->items.count; i++) {
        const Rest *r = &rests->items.items[i];
        bool later = !best || r->behind < best->behind ||
                     (r->behind == best->behind && r->line > best->line);
        if (later && bears_on(rests, subject, r->subject)) best = r;
    }
    if (!best) return true;
    m->line = best->line;
    return day_of_entry(q, id, best->entry, &m->day);
}
