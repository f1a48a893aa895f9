/* A bare item, as S31#7, among the words of a question: what was read on it, where it sat, and what
 * a log says of it. The notes that name it are found as words. */
#include "index/query.h"

bool item_word(Str word, Str *set) {
    size_t mark = str_find_char(word, '#', 0);
    if (mark == SIZE_MAX || mark + 1 == word.n) return false;
    for (size_t i = mark + 1; i < word.n; i++) {
        if (!is_digit(word.p[i])) return false;
    }
    char last = mark ? word.p[mark - 1] : '#';
    *set = (Str){word.p, mark};
    return last == '#' || is_alpha(last) || is_digit(last) || last & 0x80;
}

/* ---- which jobs -------------------------------------------------------------------------------
 */

bool names_set(const Tag *tag) {
    return tag->kind == TAG_SET || tag->kind == TAG_PLACEMENT;
}

/* Jobs that have items of the set: it is in use there, one of them was placed, or only its items
 * are named. Which item it is, is seen when they are shown. */
static bool hit_set(Query *q, Str set) {
    const Vocab *v = book_vocab(q->x->book);
    if (!hit_facts(q, S_WORD_IS, WORD_SET, set, true)) return false;
    for (TagId id = 0; id < v->tag_count; id++) {
        if (names_set(&v->tags[id]) && !hit_facts(q, S_WORD_IS, id, set, true)) return false;
    }
    return true;
}

bool find_items(Query *q) {
    uint32_t met;
    for (uint32_t i = 0; i < q->ask->word_count; i++) {
        Str set;
        if (!q->words[i].item || !item_word(q->ask->words[i].text, &set)) continue;
        if (!hit_set(q, set) || !hit_words(q, phrase_expression(&q->words[i], q->arena), &met))
            return false;
        q->wanted++;
    }
    return true;
}

/* ---- what in them -----------------------------------------------------------------------------
 */

/* A line that was found by its words, `spring I3 = S31#7`, is not shown twice. */
static bool is_shown(const FoundJob *job, uint32_t line) {
    for (uint32_t i = 0; i < job->match_count; i++) {
        const Match *m = &job->matches[i];
        if (m->line == line && m->kind == MATCH_FACT && m->text.n) return true;
    }
    return false;
}

static Str said_of(char mark) {
    switch (mark) {
    case 'x': return STR("struck");
    case '?': return STR("suspect");
    case '~': return STR("replaced");
    default: return str_none;
    }
}

static bool show_run(Query *q, int64_t id, const RunRead *r, const ShownValue *shown, Str item,
                     FoundJob *job) {
    Names names;
    if (!names_of(q, r->places, &names)) return false;
    for (uint32_t i = 0; i < names.count; i++) {
        Str text;
        char mark;
        if (!subject_matches(item, r->of, names.items[i])) continue;
        run_value(q, r, i, &text, &mark);
        ShownValue v = *shown;
        v.count = run_count(r, v.tag, text);
        Match m = {.kind = MATCH_READING,
                   .tag = v.tag->name,
                   .subject = full_name(q, arena_str(q->arena, r->of), names.items[i]),
                   .at = arena_str(q->arena, r->at),
                   .how = said_of(mark)};
        fill_reading(q, &m, r, &v, i, text);
        if (!day_of_entry(q, id, r->entry, &m.day)) return false;
        add_match(q, job, m);
    }
    return true;
}

static bool show_readings(Query *q, int64_t id, Str item, FoundJob *job) {
    static const Condition any = {.low = INT64_MIN, .high = INT64_MAX - 1};
    const Vocab *v = book_vocab(q->x->book);
    sqlite3_stmt *s = db_statement(q->x, S_RUN_ALL, q->err);
    if (!s) return false;
    bind_job(s, id);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t tag = sqlite3_column_int64(s, 12);
        RunRead r;
        if (tag < 0 || tag >= v->tag_count) continue;
        ShownValue shown = {.c = &any, .tag = &v->tags[tag], .id = id};
        read_run(q, s, shown.tag, &r);
        if (!show_run(q, id, &r, &shown, item, job)) return false;
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

/* Where it sits and where it sat. */
static bool show_seats(Query *q, int64_t id, Str item, FoundJob *job) {
    const Vocab *v = book_vocab(q->x->book);
    for (TagId tag = 0; tag < v->tag_count; tag++) {
        if (v->tags[tag].kind != TAG_PLACEMENT) continue;
        Condition c = {.tag = tag, .text = item, .ever = true};
        Places at = {0};
        if (!show_placed(q, id, &c, job, &at)) return false;
    }
    return true;
}

static bool show_facts(Query *q, int64_t id, Str item, FoundJob *job) {
    const Vocab *v = book_vocab(q->x->book);
    sqlite3_stmt *s = db_statement(q->x, S_FACT_ON, q->err);
    if (!s) return false;
    bind_job(s, id);
    bind_str(s, 3, item);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        int64_t tag = sqlite3_column_int64(s, 4);
        if (tag < 0 || tag >= v->tag_count) continue;
        Match m = {.kind = MATCH_FACT,
                   .line = (uint32_t)sqlite3_column_int64(s, 3),
                   .tag = v->tags[tag].name,
                   .subject = arena_str(q->arena, column_str(s, 1)),
                   .value = arena_str(q->arena, column_str(s, 2))};
        if (!day_of_entry(q, id, sqlite3_column_int64(s, 0), &m.day)) return false;
        add_match(q, job, m);
    }
    sqlite3_reset(s);
    return rc == SQLITE_DONE || db_fail(q->x, q->err);
}

bool show_item(Query *q, int64_t id, Str item, FoundJob *job, bool *there) {
    FoundJob found = {0};
    if (!show_readings(q, id, item, &found) || !show_seats(q, id, item, &found) ||
        !show_facts(q, id, item, &found))
        return false;
    *there = *there || found.match_count;
    for (uint32_t i = 0; i < found.match_count; i++) {
        if (!is_shown(job, found.matches[i].line)) add_match(q, job, found.matches[i]);
    }
    return true;
}
