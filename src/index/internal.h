/* What the files of this room share. */
#ifndef THOU_INDEX_INTERNAL_H
#define THOU_INDEX_INTERNAL_H

#include "compute/eval.h"
#include "index/index.h"
#include "index/survey.h"
#include "log/line.h"
#include "stats/repeats.h"
#include <sqlite3.h>

#define INDEX_FILE "index.db"
enum { INDEX_FORMAT = 6, INDEX_MARK = 0x74686f75 /* "thou" */ };

/* Ids of rows: those of a job lie together. */
enum { ROW_BITS = 20 };
#define ROW_MOST (((int64_t)1 << ROW_BITS) - 1)
static inline int64_t row_id(int64_t job, uint32_t n) {
    return (job << ROW_BITS) | n;
}

/* ---- statements: db.c ---------------------------------------------------------------------- */

typedef enum StatementId { /* statements.def is the table; a test prepares each */
#define STATEMENT(id, sql) id,
#include "index/statements.def"
#undef STATEMENT
                           STATEMENT_COUNT
} StatementId;

extern const char *const statement_sql[STATEMENT_COUNT];

struct Index {
    Book *book;
    Arena *arena;
    sqlite3 *db;
    const char *path; /* of the file; in memory all the same NULL-free */
    bool in_memory;
    sqlite3_stmt *statements[STATEMENT_COUNT]; /* prepared on first use */
    struct Interned *interned;                 /* units and lists of places: intern.c */
    int64_t next_job;
    bool again_changed;      /* t_again has, and t_again_all does not know it yet */
    struct Opening *opening; /* index.c: until it is known whether the files changed */
};

/* A failure of SQLite in words: always false. */
bool db_fail(Index *x, Err *err);
/* A statement, reset and without bindings; NULL and *err set when it cannot be prepared. */
sqlite3_stmt *db_statement(Index *x, StatementId id, Err *err);
/* Runs a statement that returns no row, and resets it. */
bool db_run(Index *x, sqlite3_stmt *s, Err *err) __attribute__((warn_unused_result));
bool db_exec(Index *x, const char *sql, Err *err) __attribute__((warn_unused_result));
void bind_str(sqlite3_stmt *s, int at, Str text); /* kept by the caller; empty is NULL */
void bind_some(sqlite3_stmt *s, int at, int64_t v, bool there); /* NULL when it is not there */
Str column_str(sqlite3_stmt *s, int at);

typedef enum DbState { DB_SOUND, DB_MISSING, DB_OTHER, DB_DAMAGED, DB_LOST } DbState;
/* Opens the file as it is. DB_OTHER: of another version or vocabulary. *err is set only for what
 * cannot be helped by making it anew. */
DbState db_open(Index *x, const char *path, Err *err);
/* A new database with the schema, at a path that must not exist (NULL: in memory). */
bool db_create(Index *x, const char *path, Err *err) __attribute__((warn_unused_result));
void db_close(Index *x);
/* A copy in memory of what is open, which takes its place. */
bool db_to_memory(Index *x, Err *err) __attribute__((warn_unused_result));

/* ---- what reached the disk: trust.c ---------------------------------------------------------- */

#define TRUST_SUFFIX ".unsynced"
typedef enum Trust {
    TRUST_SYNCED,  /* all of it is on the disk */
    TRUST_RUNNING, /* some may not be, but the machine has not stopped since */
    TRUST_LOST     /* the machine stopped: what the index says may be wrong */
} Trust;
Trust trust_read(const Index *x, Arena *a);
/* Before a change that is not synced. False: the change must be synced. */
bool trust_mark(const Index *x, Arena *a);
/* Syncs what was changed and takes the mark away. Only under the lock. */
void trust_settle(const Index *x, const char *folder, Arena *a);
/* Whether there is a mark that nobody has needed for a while. */
bool trust_is_old(const Index *x, int64_t now_ns, Arena *a);

/* ---- what changed: look.c ------------------------------------------------------------------ */

typedef struct Change {
    FileKind kind;
    Str name;
    int64_t old_job; /* 0: not in the index */
    uint32_t stamp;  /* in the new stamps; UINT32_MAX: the file is gone */
} Change;

typedef struct Look {
    Stamps stamps; /* as the folder is now */
    Change *changes;
    uint32_t count, room;
    int64_t was_renewed_ns; /* clock of the stored stamps that these were compared with */
    bool stale;             /* it is older than what is stored: a file it does not know is there */
    bool refresh; /* nothing changed, but stamps should be stored again: some were too young */
} Look;

/* Whether next_job can be: room is asked for by it before anything else of the index is looked at.
 */
bool look_bounds(Index *x, Err *err) __attribute__((warn_unused_result));
bool look_load(Index *x, Stamps *out, Arena *a, Err *err) __attribute__((warn_unused_result));
/* Compares every file of the book with the stored stamps. The look lives as long as the survey. */
bool look_at(Index *x, Survey *survey, int64_t now_ns, Arena *a, Look *out, Err *err)
    __attribute__((warn_unused_result));
/* The clock of the stored stamps; 0 when there are none. */
bool look_renewed_at(Index *x, int64_t *ns, Err *err) __attribute__((warn_unused_result));
/* Whether the index is still the one that was compared with. */
bool look_holds(Index *x, const Look *l, bool *holds, Err *err) __attribute__((warn_unused_result));
bool look_store(Index *x, const Stamps *s, Err *err) __attribute__((warn_unused_result));
const char *look_path(const Index *x, FileKind kind, Str name, Arena *a);

/* ---- a job as rows: digest.c, digest_last.c ------------------------------------------------- */

typedef struct RunRow {
    TagId tag;
    uint32_t entry, line, step, count;
    const Unit *unit, *at_unit;
    Str at, of, places, stem, texts;
    int width;     /* of each in texts; -1: commas between them */
    double number; /* in the tag's unit, where the text alone does not tell it; else NAN */
} RunRow;

typedef struct FactRow {
    TagId tag;
    uint32_t entry, line;
    Str subject, text;
    const char *state; /* NULL: it counts */
} FactRow;

typedef struct CarriedRow { /* a fact that only a log it continues says */
    TagId tag;
    uint32_t line; /* of `continues` */
    Str subject, text, told;
} CarriedRow;

typedef struct EntryRow {
    Date date;
    int64_t corrects; /* -1 */
    Str title;
    uint32_t line;
} EntryRow;

#define LAST_MISSING INT64_MAX
enum { /* what is to be known of a value: a letter behind HOW_LETTER */
       HOW_MEASURED = 1,
       HOW_NOMINAL = 2,
       HOW_PARTIAL = 4,
       HOW_CARRIED = 8,
       HOW_EXTENDED = 16,
       HOW_LETTER = '@',
       HOW_BITS_LEAST = 8 /* values from which on two kinds are told by a bit each */
};
enum { DELTA_BASE = 90, DELTA_ZERO = '#', DELTA_WIDTH = 4 }; /* wider ones are decimal */
typedef struct LastRow {
    TagId tag;
    int64_t job, least, spread, ever_least, ever_greatest;
    int64_t places_id;               /* of places, once it is numbered */
    uint32_t form;                   /* of deltas: their width * 10 + tens they count in */
    Str at, of, places, how, deltas; /* places empty: no value as the log leaves it */
} LastRow;

typedef struct WordRow {
    TagId tag;
    bool now;
    int64_t job;
    Str squeezed;
} WordRow;

typedef struct SitsRow { /* items that came to sit at places, a line apart */
    TagId tag;           /* of the placement */
    uint32_t entry, line, step;
    Str of, items, place_of, places;
    Str now; /* of each: 1 when it sits there still, else 0; empty: all do */
} SitsRow;

typedef struct AgainRow { /* what the log read again at once */
    TagId tag;
    Repeats repeats;
} AgainRow;

typedef struct NeedRow {
    FileKind kind;
    Str name;
} NeedRow;

#define ROWS(Type)            \
    struct {                  \
        Type *items;          \
        uint32_t count, room; \
    }

typedef struct Digest {
    Str name, file, title, engine, owner;
    int32_t first, last; /* days; DAY_NONE */
    ROWS(RunRow) runs;
    ROWS(FactRow) facts;
    ROWS(CarriedRow) carried;
    ROWS(EntryRow) entries;
    ROWS(LastRow) lasts;
    ROWS(WordRow) words;
    ROWS(NeedRow) needs;
    ROWS(SitsRow) sits;
    ROWS(AgainRow) again;
    Buf said;
    uint64_t hash; /* of the text that was read */
    FileStamp stamp;
    bool gone; /* the file went away meanwhile */
    Err err;
} Digest;

#define row_add(a, rows, row)                                      \
    do {                                                           \
        arena_grow(a, (rows)->items, (rows)->count, (rows)->room); \
        (rows)->items[(rows)->count++] = (row);                    \
    } while (0)

/* Reads, computes and digests a job; faults in it are passed over, a failure is in d->err. */
void digest_job(Book *b, Str name, const char *path, Arena *a, Digest *d);
/* Lists of subjects as texts: a job asks for the same few again and again. */
typedef struct Naming Naming;
Naming *naming_new(const Job *j, Arena *a);
/* Names as one text: `of` gets what all begin with, up to # or a colon; places the rest, as a JSON
 * array. */
void digest_names(Naming *n, const SubjectId *ids, uint32_t count, Str *of, Str *places);
void digest_last(Eval *e, Naming *naming, Arena *a, Digest *d);
/* A condition in the unit of the curve, as the index writes it; a spot's name. */
Str digest_at(const Tag *tag, double at, bool spot, Arena *a);
int64_t thousandths(const Tag *tag, double si); /* of the last shown place; INT64_MAX for NAN */

/* ---- rows into tables: insert.c ------------------------------------------------------------- */

typedef struct Later { /* rows that are put in sorted, at the end: the file stays small */
    Arena *arena;
    ROWS(struct LaterValue *) lasts;
    ROWS(WordRow) words;
} Later;

bool insert_names(Index *x, Err *err) __attribute__((warn_unused_result)); /* of the vocabulary */
bool insert_job(Index *x, int64_t id, const Digest *d, Later *later, Err *err)
    __attribute__((warn_unused_result));
bool insert_later(Index *x, Later *later, Err *err) __attribute__((warn_unused_result));
/* The same for most of a book: the tables become as small as they can be. */
bool insert_later_packed(Index *x, Later *l, Err *err);
bool remove_job(Index *x, int64_t id, Err *err) __attribute__((warn_unused_result));

/* ---- what was read again: again.c --------------------------------------------------------------
 */

void digest_again(const Job *j, const uint32_t *entry_row, Arena *a, Digest *d);
bool again_put(Index *x, int64_t id, const Digest *d, Err *err) __attribute__((warn_unused_result));
bool again_drop(Index *x, int64_t id, Err *err) __attribute__((warn_unused_result));
/* Sums up anew when a job's part of it changed. */
bool again_settle(Index *x, Err *err) __attribute__((warn_unused_result));

/* ---- items: items.c ---------------------------------------------------------------------------
 */

/* As tag of a WordRow: a set that only its items name. */
#define WORD_SET ((TagId)(TAG_NONE - 1))
/* Whether facts or placements of the tag name a set. */
bool names_set(const Tag *tag);
/* `S31#7`: *set is what stands before the #, perhaps nothing. */
bool item_word(Str word, Str *set);

/* ---- words: said.c, words.c ----------------------------------------------------------------- */

typedef enum SaidKind { SAID_NOTE, SAID_TITLE, SAID_REMARK, SAID_FACT } SaidKind;
typedef struct Said { /* a piece of a log that is searched by words */
    SaidKind kind;
    Str text;     /* in the source */
    Str shown;    /* with its name, of a fact */
    Str name;     /* of a fact */
    bool numbers; /* a fact that begins with a number: perhaps a reading's values */
    bool goes_on; /* the note's next line belongs to the same paragraph */
} Said;
typedef struct SaidReader {
    LineReader lines;
    Line line, next;
    bool looked_ahead; /* next has been read */
    uint8_t stage;
} SaidReader;
void said_start(SaidReader *r, const Source *s);
bool said_next(SaidReader *r, Said *out);
/* Whether they are values, which are found as such and not by words; the tag decides, and not how
 * they begin: `title = 14 foot` is a fact. */
bool said_is_value(const Vocab *v, const Said *said);

/* A part number as it is looked up: letters and digits only, ASCII folded; empty when the word has
 * no separator within (then it is found as it is). */
void squeeze_add(Buf *out, Str word);
/* Whether what squeeze_add makes of the word can start with the byte: most words end here. */
bool squeezed_starts(Str word, char first);
enum { SQUEEZED_MOST = 64 }; /* as much of a fact is compared */
/* All letters and digits of a text, ASCII folded: how facts are compared. */
void squeeze_all(Buf *out, Str text);

/* ---- renewal: renew.c, pool.c ---------------------------------------------------------------- */

bool renew(Index *x, const IndexPlan *plan, Look *look, IndexNews *news, Err *err)
    __attribute__((warn_unused_result));

typedef struct Pool Pool;
typedef struct PoolTask {
    Str name;
    const char *path;
} PoolTask;
/* Digests the tasks on some threads; pool_next gives them in order. The last one given is valid
 * until the next call. */
Pool *pool_start(Book *b, const PoolTask *tasks, uint32_t count, unsigned threads);
Digest *pool_next(Pool *p);
void pool_stop(Pool *p); /* also when not all were taken */

#endif
