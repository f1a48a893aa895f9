/* What query.c (which jobs), matches.c (what in them) and stored.c (what the tables hold) share. */
#ifndef THOU_INDEX_QUERY_H
#define THOU_INDEX_QUERY_H

#include "index/words.h"

typedef struct LastHit { /* a row of t_last that holds a value a condition asks for */
    int64_t job, least;
    Str at;
    uint32_t next; /* of the job, in order, + 1 */
} LastHit;

typedef struct LastValues { /* a row of t_last, read */
    int64_t least, job;
    Str at, of, how, deltas;
    int64_t places, form;
} LastValues;

typedef struct Names { /* of a list of places */
    Str *items;
    uint32_t count;
} Names;

typedef struct RunRead {
    int64_t entry, line, step, places;
    int width; /* -1: commas between the texts */
    Str at, of, stem, texts;
    Str unit, at_unit;
    const Unit *in;
    bool has_number;
    double number;
} RunRead;

typedef struct Rest { /* a line that values of a job may rest on */
    Str subject;
    uint32_t line;
    int64_t entry;
    uint8_t behind; /* 0 what was read; 1 names a part, whose card may say it; 2 another log */
} Rest;

typedef struct Seat { /* an item, and where it sits */
    Str item, place;
} Seat;

typedef struct Rests { /* of one condition in one job */
    int64_t job;
    bool *leads; /* by tag: the condition's formula leads to it */
    ROWS(Rest) items;
    ROWS(Seat) seats;
} Rests;

typedef struct ShownValue { /* a value that answers a condition */
    const Condition *c;
    const Tag *tag;
    int64_t id, count;
    Str of, name, at;
    uint8_t how;
} ShownValue;

typedef struct Query {
    Index *x;
    const Ask *ask;
    Arena *arena;
    Arena *scratch; /* for the log that is looked through */
    Err *err;
    Tokenizer *tokenizer;
    WordQuery *words;
    uint8_t *hits; /* by job: how many parts of the question hold */
    uint8_t wanted;
    double *fits; /* by job, of a question with words: how well, the least is the best (bm25) */
    ROWS(LastHit) lasts[ASK_MOST]; /* by condition */
    struct {                       /* by condition and job: its hits, + 1 */
        uint32_t first, last;
    } * of_job[ASK_MOST];
    Rests rests[ASK_MOST];
    struct { /* lists of places that were read, by their number */
        int64_t places;
        Names names;
    } named[64];
} Query;

/* The names of a list of places; false on failure. */
bool names_of(Query *q, int64_t places, Names *out) __attribute__((warn_unused_result));
/* `of` and name together. */
Str full_name(Query *q, Str of, Str name);
/* Whether a subject as typed (I3, I, 1..4, #7, S31#7) means this one. */
bool subject_matches(Str typed, Str of, Str name);

void last_values(sqlite3_stmt *s, LastValues *out); /* slices live until the next step */
/* The value at one of a row's places, and what is to be known of it. */
int64_t value_at(const LastValues *row, uint32_t i);
uint8_t how_at(const LastValues *row, uint32_t i); /* bits of HOW_ */
static inline bool in_range(const Condition *c, int64_t v) {
    return v >= c->low && v <= c->high;
}
/* Adds a match to the job. */
Match *add_match(Query *q, FoundJob *job, Match m);
/* The day of an entry of a job; DAY_NONE. */
bool day_of_entry(Query *q, int64_t id, int64_t entry, int32_t *day)
    __attribute__((warn_unused_result));
void bind_job(sqlite3_stmt *s, int64_t id); /* the first and last id of its rows */
void bind_job_tag(sqlite3_stmt *s, int64_t id, TagId tag);

void read_run(Query *q, sqlite3_stmt *s, const Tag *tag, RunRead *out);
/* One value of a run: its text without the mark behind it, and the mark. */
void run_value(Query *q, const RunRead *r, uint32_t i, Str *text, char *mark);
/* In thousandths of the tag's last shown place; LAST_MISSING. */
int64_t run_count(const RunRead *r, const Tag *tag, Str text);
/* What a match says of such a value. */
void fill_reading(Query *q, Match *m, const RunRead *r, const ShownValue *v, uint32_t i, Str text);
/* The line of a value that stands nowhere itself: of what it was last worked out from. */
bool rest_line(Query *q, int64_t id, uint32_t condition, Str subject, Match *m)
    __attribute__((warn_unused_result));

typedef struct Places { /* subjects on which every condition so far holds */
    Str *items;
    uint32_t count, room;
} Places;

/* Adds the places at which the item of a condition sits, or sat, with the line that says so; their
 * names to `out`. */
bool show_placed(Query *q, int64_t id, const Condition *c, FoundJob *job, Places *out)
    __attribute__((warn_unused_result));
/* Jobs in which a fact of the tag is, begins with, or holds a text; ever: not only as the log
 * leaves it. The part of the question is not ended: several tags may be asked one after another. */
bool hit_facts(Query *q, StatementId how, TagId tag, Str text, bool ever)
    __attribute__((warn_unused_result));
/* Jobs that hold the words, and how many; neither does this end the part. */
bool hit_words(Query *q, Str expression, uint32_t *met) __attribute__((warn_unused_result));
/* Each item among the words is a part of the question: items.c. */
bool find_items(Query *q) __attribute__((warn_unused_result));
/* Adds what was read on an item and where it sat; *there: something of it. */
bool show_item(Query *q, int64_t id, Str item, FoundJob *job, bool *there)
    __attribute__((warn_unused_result));
/* In the order of the file, computed values behind. */
void matches_sort(FoundJob *job);
/* What is asked may hold in different jobs of one engine: engines.c. */
bool find_engines(Index *x, const Ask *ask, Arena *a, Found *out, Err *err)
    __attribute__((warn_unused_result));
/* Adds what matches in one job; *holds: all parts of the question really do. */
bool add_matches(Query *q, int64_t id, FoundJob *job, bool *holds)
    __attribute__((warn_unused_result));

#endif
