/*
 * A job: one log (and, through `continues`, the logs it goes on from) bound to the vocabulary.
 * Everything a person wrote is here in the order of the file, with its position; nothing is
 * resolved yet. compute/state.h plays it forward to a day, compute/eval.h works out values from
 * that. A part card is read as a job too, with no places.
 */
#ifndef THOU_COMPUTE_JOB_H
#define THOU_COMPUTE_JOB_H

#include "base/date.h"
#include "base/near.h"
#include "vocab/vocab.h"

typedef uint32_t SubjectId;
#define SUBJECT_ENGINE ((SubjectId)0)
#define SUBJECT_NONE ((SubjectId)0xffffffff)
enum { SOURCE_MOST = 32, CARD_MOST = 64 };
#define SUBJECT_MOST ((uint32_t)1 << 20)

typedef enum SubjectKind {
    SUBJECT_PLACE,
    SUBJECT_CARRIED, /* a place on a head: B:2; kept apart from the cylinder it comes to sit at */
    SUBJECT_BANK,
    SUBJECT_CARRIER, /* a head */
    SUBJECT_ITEM,
    SUBJECT_SET,
} SubjectKind;

typedef struct Subject {
    ClassId cls;
    SubjectKind kind;
    char letter;     /* of a place with letters: 'I'; 0 without */
    uint8_t suffix;  /* 1 is a, 2 is b; 0 without */
    uint32_t number; /* of a place or item, from 1; an unnamed item has 0 */
    SubjectId up;   /* place: what it is on (a cylinder: its bank when it has one, else the engine);
                       carried: its head, or the carried place it is on; item: its set */
    SubjectId home; /* unnamed item: the place it was read at; else SUBJECT_NONE */
    Str name;       /* bank, carrier, set: as written; else empty, see subject_name */
} Subject;

/* How a reading's unit was settled, and what is known of it. */
enum {
    READ_SUSPECT = 1 << 0,
    READ_STRUCK = 1 << 1,
    READ_REPEATED = 1 << 2, /* a later reading of the same entry counts */
    READ_REPLACED = 1 << 3, /* a later entry corrects it */
    READ_WORDS = 1 << 4,    /* its value is text */
    READ_SPOT = 1 << 5,     /* `at` is a spot's index */
    READ_EACH = 1 << 6,     /* one value said for many places */
    READ_GAUGED = 1 << 7,   /* value is corrected for a gauge found off; the text is raw */
    READ_UNIT_WRITTEN = 1 << 8,
    READ_UNIT_JOB = 1 << 9, /* from `units =` of the job */
    READ_UNIT_SHOP = 1 << 10,
    READ_FRACTION = 1 << 11,
    READ_BAD = READ_SUSPECT | READ_STRUCK | READ_REPLACED, /* does not count */
};

typedef struct Reading {
    double value; /* SI; a choice's number, a date's day; a stock: index into job->stocks; words:
                     NAN */
    double at;    /* condition in SI, or a spot's index; NAN without */
    const Unit *unit; /* as understood; NULL for words */
    const Unit *at_unit;
    uint32_t off, len;       /* the value as written, without its unit */
    uint32_t at_off, at_len; /* the condition as written */
    SubjectId subject;
    uint32_t entry;
    TagId tag;
    uint16_t flags;
    uint8_t source; /* index into job->sources: 0 is the log itself */
    uint8_t places; /* decimals as written */
} Reading;

typedef enum EventKind {
    EVENT_PLACE, /* item `subject` comes to sit at place `subject2` in `slot` */
    EVENT_EMPTY, /* the slot at place `subject2` is emptied */
    EVENT_SCRAP, /* item `subject`; text is the reason */
    EVENT_CARRY, /* carried place `subject` sits at place `subject2` (SUBJECT_NONE: nowhere) */
    EVENT_LIMIT,
    EVENT_AIM,
    EVENT_NO_LIMIT, /* `= none` */
    EVENT_ACCEPT,
    EVENT_GAUGE, /* text is the gauge's name, `value` (SI or part) how much it reads high */
} EventKind;

typedef struct Event {
    EventKind kind;
    uint8_t slot, source;
    uint32_t entry;
    uint32_t before; /* number of readings that stand before it */
    SubjectId subject, subject2;
    TagId tag;
    bool has_at, relative; /* gauge: relative to the reading (percent) */
    double at, value;
    Range range;      /* limit; an aim has low == high */
    const Unit *unit; /* a limit's or aim's unit as written */
    Date from, until; /* gauge */
    TagId only[4];    /* gauge: the tags it is off on; TAG_NONE first: all of its dimension */
    Str by, text;     /* text: range or reason as written */
    Span span;        /* of the whole line, without its remark */
} Event;

typedef struct Entry {
    Date date; /* day INT32_MIN for what stands before the first heading */
    Str title;
    Span span;
    uint8_t source;
    bool corrects;
    Date asked;                          /* the day that it corrects */
    uint32_t first_corrected, corrected; /* indexes of the first and the last entry of that day */
    uint32_t first_reading;
} Entry;
#define DAY_NONE INT32_MIN

typedef struct StockSize {
    double size;    /* SI */
    uint32_t count; /* STOCK_MANY */
} StockSize;
#define STOCK_MANY UINT32_MAX

typedef struct Stock {
    const StockSize *sizes;
    uint32_t count;
} Stock;

typedef struct Unread { /* a line of a stock that could not be read: what there is, is not known */
    TagId tag;
    uint8_t source;
    uint32_t entry;
    uint32_t off;
    uint32_t before; /* the next reading's index */
} Unread;

enum { HERE_MOST = 8 }; /* things that can sit at one place: slots of all item classes */

typedef struct Dash { /* a `-`: a value left out, said so */
    TagId tag;
    SubjectId subject;
    uint32_t off;
} Dash;

typedef struct SubjectList {
    SubjectId *ids;
    uint32_t count, room;
    bool unordered; /* `all` valves, a bank's: in no order that a list of values could follow */
} SubjectList;

typedef struct Job Job;

typedef struct CardUse { /* a part card in force for a subject */
    TagId tag;           /* `spring part` */
    Str name;
    const Job *card;
} CardUse;

struct Job {
    const Vocab *vocab;
    Arena *arena;
    const Source *sources[SOURCE_MOST]; /* [0] the log; then those it continues, nearest first */
    uint8_t source_count;
    bool is_card;
    Str name; /* from `job = ` or the file's name */
    System units;
    Entry *entries;
    uint32_t entry_count, entry_room;
    Reading *readings;
    uint32_t reading_count, reading_room;
    Event *events;
    uint32_t event_count, event_room;
    Subject *subjects;
    uint32_t subject_count, subject_room;
    SubjectList
        classes[CLASS_MOST]; /* subjects of each class: real places first, then carried ones */
    uint8_t slot_base[CLASS_MOST];    /* item classes: number of their first slot at a place (they
                                         share it) */
    uint32_t place_count[CLASS_MOST]; /* how many of those are real places */
    Dash *dashes;                     /* of the log itself */
    uint32_t dash_count, dash_room;
    Stock *stocks;
    uint32_t stock_count, stock_room;
    Unread *unread;
    uint32_t unread_count, unread_room;
    CardUse cards[CARD_MOST]; /* every card the log names, once each */
    uint8_t card_count;
    bool has_corrections; /* an entry corrects another: readings are not in the order of the file */
    /* Per reading of a correcting entry, the entry whose state it belongs to; NULL when each
     * corrects one entry only. */
    uint32_t *homes;
    /* Made when all is read (compute/chain.h): the readings of one tag on one subject as a chain.
     */
    struct Chain *chain;
    Span continues; /* of that line; len 0 without */
    Findings *findings;
    uint32_t errors_beside; /* of these, while the lines were read: errors that stand for no line
                               that could not be read; see job_unread */
    uint32_t cards_missing; /* among them: parts without their card */
    struct Binder *binder;  /* for subjects asked for later; see job_subjects */
};

/* The one narrow door to the book. Any may be NULL; the first two return NULL when there is none.
 */
typedef struct Door {
    void *ctx;
    const Source *(*log)(void *ctx, Str job_name);
    const Job *(*card)(void *ctx, Str part_name);
    void (*offer_cards)(void *ctx, Near *near); /* every card's name, for one that is not there */
    NamesSeen *seen;                            /* the caller's, for one log after another */
} Door;

/* Binds a log (or card) to the vocabulary. Never fails: faults are findings. Everything is in
 * `arena`, including the findings' texts; source, vocab and what the door gave must outlive the
 * job. */
Job *job_read(const Vocab *v, const Source *source, bool is_card, const Door *door, Arena *arena,
              Findings *findings);

/* How many lines could not be read, of a job whose findings were made by job_read alone. */
uint32_t job_unread(const Job *j);

/* "I3", "I3a", "S31#7", "B:2", "left", "engine"; an unnamed item as "spring at I3". */
Str subject_name(const Job *j, SubjectId id, Arena *a);
/* The subjects a text names for a tag (or CLASS_NONE-free class); false when it names none that is
 * there already. Nothing is made. For command lines: `thou why JOB TAG SUBJECT`. */
bool job_subjects(Job *j, ClassId cls, Str text, SubjectList *out);
/* Makes the places of a class that no line of the log asked for, so that place_count and classes
 * hold them; false when the log does not say how many there are. A state made before does not know
 * them. */
bool job_places(Job *j, ClassId cls);
/* The last good reading of an engine-level tag, or NULL: title, owner, layout. */
const Reading *job_fact(const Job *j, TagId tag);
Str reading_text(const Job *j, const Reading *r); /* the value as written */
/* One of its last digit as written, in SI; 0 of a fraction. It has a unit. */
double reading_step(const Reading *r);
/* Per reading, what its entry says of a circumstance (a fact) up to it: that holds to the end of
 * the entry, and no further. */
Str *circumstances(const Job *j, TagId tag, Arena *a);
/* Its remark (after the `;` of its line), or empty. */
Str reading_remark(const Job *j, const Reading *r);

extern const FindingKind bind_kinds[];
extern const size_t bind_kinds_count;

#endif
