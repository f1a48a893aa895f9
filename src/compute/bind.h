/*
 * What the binder's files share: from lines to a Job. Nobody outside the bind_*.c files includes
 * this.
 */
#ifndef THOU_COMPUTE_BIND_H
#define THOU_COMPUTE_BIND_H

#include "base/number.h"
#include "compute/job.h"
#include "log/line.h"

/* Rows of bind_kinds. */
typedef enum BindCode {
    UNKNOWN_TAG,
    UNKNOWN_SUBJECT,
    NO_SUCH_PLACE,
    SUBJECT_NEEDED,
    LAYOUT_MISSING,
    LAYOUT_CHANGED,
    BANK_FORM,
    HEAD_FORM,
    VALUE_MISSING,
    NUMBER_FORM,
    UNKNOWN_UNIT,
    WRONG_DIMENSION,
    WRONG_COUNT,
    EACH_NEEDED,
    CONDITION_MISSING,
    CONDITION_UNWANTED,
    NOT_A_CHOICE,
    VALUE_FORM,
    GRID_HEAD,
    GRID_CELLS,
    BARS_UNSPACED,
    EQUALS_UNSPACED,
    LOOKS_LIKE_READING,
    REMARK_UNSPACED,
    EQUALS_IN_WORDS,
    CORRECTS_NOTHING,
    CORRECTS_UNSURE,
    DATES_BACKWARDS,
    DATES_FAR,
    NOT_TEXT,
    RANGE_FORM,
    LIMIT_AUTHOR,
    JOB_NEAR,
    AUTHOR_NEAR,
    LIMIT_IMPLAUSIBLE,
    SET_UNSAID,
    SET_NEAR,
    ITEM_TWICE,
    SLOT_MIXED,
    ITEM_SCRAPPED,
    PART_MISSING,
    CONTINUES_MISSING,
    CONTINUES_OTHER,
    GAUGE_FORM,
    GAUGE_UNUSED,
    GAUGE_LATE,
    TOO_MANY,
    BIND_CODES
} BindCode;

enum {
    GRID_COLUMNS = CELLS_MOST - 2, /* beside the first cell, and one too many to point at */
    GAUGES_MOST = 64,
    GRIDS_KEPT = 4, /* a log's grids mostly take turns with a few heads */
};

typedef struct Column {
    bool usable;
    bool numbers; /* each a reading of the row's own subject: no placement, no point of a curve */
    ClassId of;   /* what its values are measured on */
    ClassId item; /* of a placement: what sits down, and in which slot; else CLASS_NONE */
    uint8_t slot;
    Reading as;           /* what each of its numbers begins as: its tag, unit, condition or spot */
    SubjectList subjects; /* of a column of a corner grid */
} Column;

typedef struct Grid {
    Str head;       /* the text it was read from; empty when that has to be read anew each time */
    uint32_t off;   /* where that stands */
    System units;   /* the job's, when it was read */
    uint32_t named; /* how many subjects had a name then: a head's first cell must not be one */
    bool on;
    bool broken; /* the head could not be read: its rows are not read either */
    bool corner; /* `@ lift in`: rows are the points of curves */
    const Unit *corner_unit;
    Str corner_name; /* `lift`, as the corner says it; may be empty */
    ClassId rows;    /* what the rows are, when it is no corner grid */
    ClassId about;   /* what all columns are about, each numbers or a placement; else CLASS_NONE */
    uint32_t places; /* the first column that says what sits at the row's place */
    Column *columns;
    uint32_t count, room;
} Grid;

/* One value as it stands in the text, before it is a reading. */
typedef struct Value {
    bool missing, suspect, struck, fraction;
    double number; /* as written, in its unit */
    uint8_t places;
    Str text; /* the number's digits */
    const Unit *unit;
    uint16_t unit_flags;
    bool has_at;
    double at; /* SI */
    Str at_text;
    const Unit *at_unit;
} Value;

typedef struct Values {
    Value *items;
    uint32_t count, room;
    bool each;
} Values;

/* Where each item sits while the log is read. */
typedef struct Sitting {
    SubjectId at; /* of an item: its place */
    uint8_t slot;
    uint32_t entry; /* in which it was put there */
    bool scrapped;
    SubjectId renamed;         /* of an unnamed item: the one that took its place under its name */
    SubjectId here[HERE_MOST]; /* of a place: what sits there */
} Sitting;

typedef struct SubjectKey { /* what a subject is found by */
    uint64_t what;          /* its class, letter, number and suffix; see subject_key */
    SubjectId under;        /* its set or head, or SUBJECT_NONE */
} SubjectKey;

/* What became of the logs that go on from each other. */
typedef enum Row {
    ROW_WHOLE,
    ROW_RING, /* one of them is read already */
    ROW_LONG, /* there are more than a job holds */
} Row;

typedef struct Binder Binder;
struct Binder {
    Job *job;
    const Vocab *v;
    const Source *source;
    uint8_t source_index;
    Findings *findings; /* NULL while a continued log is read: its faults are its own job's */
    const Door *door;
    LineReader lines;
    Line line;
    const char *faulty; /* where the last line that could not be read begins */
    uint32_t entry;
    bool laid_out;           /* some places were made: the layout may not change any more */
    bool made[CLASS_MOST];   /* per class of place */
    bool unmade[CLASS_MOST]; /* could not be made, and that was said */
    bool continued;          /* the job it goes on from has been read */
    Row row;                 /* of the jobs it goes on from, where it has not been said */
    const Source *restart;   /* `continues` was met: read this first, then the log again */
    bool look_only;          /* nothing is made: what is not there already is not found */
    System units;
    char letter[128]; /* of a character: the letter of a class of places that it is, in any case */
    ClassId letter_class[128];        /* of such a letter: that class; CLASS_NONE */
    const Unit **default_units;       /* per tag; NULL until asked for */
    SubjectId set_in_use[CLASS_MOST]; /* per item class */
    uint32_t set_entry[CLASS_MOST];   /* entry in which it was named */
    bool set_said[CLASS_MOST];
    bool set_doubtful[CLASS_MOST]; /* a second set was named in that entry */
    Sitting *sitting;
    uint32_t sitting_room;
    uint32_t name_lengths; /* of sets, banks and heads: see length_bit */
    uint32_t named;        /* how many of those there are */
    SubjectKey *keys;      /* per subject */
    uint32_t keys_room;
    uint32_t *table; /* open addressing: subject id + 1 by its key */
    uint32_t table_room, table_used;
    SubjectId *behind; /* per class: the subject behind the one found last, mostly asked for next */
    Grid grids[GRIDS_KEPT];
    uint32_t grid_next;    /* the one to be given up for the next head */
    Grid *grid;            /* the one that rows are read for */
    struct DayTable *days; /* bind_correct.c; NULL until an entry corrects another */
    SubjectList *fitted;   /* per head: the places it sits at, front to rear */
    uint32_t fitted_room;
    SubjectList bank_order; /* places of banks in the order the job declared them */
    Values values;
    SubjectList list;
};

/* job.c */
void readings_grow(Binder *b); /* twice the room */

/* Room for as many more readings, to be filled and then counted. */
static inline Reading *room_for_readings(Binder *b, uint32_t more) {
    Job *j = b->job;
    while (j->reading_room - j->reading_count < more)
        readings_grow(b);
    return j->readings + j->reading_count;
}

/* Room for one more reading, to be filled. */
static inline Reading *next_reading(Binder *b) {
    Reading *r = room_for_readings(b, 1);
    b->job->reading_count++;
    return r;
}

Finding *fault(Binder *b, BindCode code, Str part, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
Reading *add_reading(Binder *b, TagId tag, SubjectId subject); /* in the present entry; at is NAN */
Event *add_event(Binder *b, EventKind kind);
void bind_continues(Binder *b, Str name);

/* bind_reading.c: `left = right` */
void bind_reading(Binder *b);
void put_dash(Binder *b, TagId tag, SubjectId subject, Str text);
void put_value(Binder *b, TagId tag, SubjectId subject, const Value *value);
void unknown_tag(Binder *b, Str left);
/* The line was meant for this tag and has a fault: a stock is not known from here on. */
void note_unread(Binder *b, TagId tag);

/* bind_value.c */
const Unit *default_unit(Binder *b, TagId tag, uint16_t *flags);
const Unit *default_condition_unit(const Binder *b, const Tag *tag);
/* Reads all of text as values of the tag; false after a finding. */
bool read_values(Binder *b, const Tag *tag, TagId id, Str text, Values *out);
/* One number with an optional unit, for limits, aims, conditions; *si is its SI value. */
bool number_fault(Binder *b, Str text, const Number *n, NumberFault fault_kind);
Reading *put_words(Binder *b, TagId id, SubjectId subject, Str text);
bool read_quantity(Binder *b, Str text, Dim dim, const Unit *fallback, double *si,
                   const Unit **unit);
/* The unit a text names, with findings for an unknown or wrong one. */
/* of_what: words before the name in a finding, or NULL. */
const Unit *read_unit(Binder *b, Str text, Dim dim, const char *of_what, Str of);

/* bind_table.c */
void subject_table_grow(Binder *b);               /* twice the room; every subject is put in anew */
void subjects_grow(Binder *b, SubjectList *list); /* a full one */
SubjectId subject_add(Binder *b, const Subject *s); /* SUBJECT_NONE: it may only be looked for */
/* By its key alone; the next of the class is then expected behind it. */
SubjectId subject_look_up(const Binder *b, ClassId cls, SubjectKey key);
SubjectId item_subject(Binder *b, ClassId item_class, SubjectId set, uint32_t number);
SubjectId set_subject(Binder *b, ClassId set_class, Str name);
void doubt_new_set(Binder *b, ClassId set_class, SubjectId made, Str text); /* bind_take.c */
SubjectId named_subject(const Binder *b, ClassKind kind, Str name);

/* bind_subject.c */
/* The subjects that text names for a tag of class `cls`; false after a finding. Empty text: the
 * engine. */
bool read_subjects(Binder *b, ClassId cls, Str text, SubjectList *out);
/* The one that `I3` or `#7` means, as nearly every row says, where it is there already and nothing
 * is in doubt; SUBJECT_NONE leaves it to read_subjects. */
SubjectId known_subject(const Binder *b, ClassId cls, Str text);
/* The same of a mark (`#`, a letter or 0) and a number that were read already. */
SubjectId known_numbered(const Binder *b, ClassId cls, char mark, uint32_t number);
/* Whether text has the form of a subject, known or not: tells a grid's rows from its head. */
bool looks_like_subject(const Binder *b, Str text);
/* The first subject that a list holds twice; SUBJECT_NONE when there is none. */
SubjectId named_twice(const SubjectList *list);
/* What sits at a place, an unnamed item made for it when nothing does; SUBJECT_NONE after a
 * finding, or when it may only be looked for. */
SubjectId item_at(Binder *b, ClassId item_class, SubjectId place, Str text);

/* bind_layout.c */
/* What is read without a subject counts for every place of its class: they are made, though no line
 * names one. Called when all lines are read. */
void lay_out_rest(Binder *b);
bool lay_out(Binder *b, ClassId c,
             Str asked_for); /* makes the class's places; false after a finding */
void bind_bank(Binder *b, Str name, Str right);
void bind_carrier(Binder *b, Str name, Str right);
SubjectId carrier_subject(Binder *b, Str name);
/* One made after its head was fitted; text names it. */
void carry_new_place(Binder *b, SubjectId carried, Str text);

/* bind_item.c */
/* The class of item that a placement, set or part tag is about; CLASS_NONE. */
ClassId item_class_of(const Binder *b, TagId tag, uint8_t *slot);
void bind_placement(Binder *b, TagId tag, Str subject, Str right);
void place_item(Binder *b, ClassId item_class, uint8_t slot, SubjectId place, Str right);
void sit_down(Binder *b, ClassId item_class, uint8_t slot, SubjectId place, SubjectId item,
              Str text);
void bind_set(Binder *b, TagId tag, Str right);
void bind_part(Binder *b, TagId tag, Str subject, Str right);
void bind_scrap(Binder *b, Str subject, Str right);
/* An unnamed item at every place that can take one, there since that reading, which was said of all
 * of them; when the log names none. */
void fit_unnamed(Binder *b, ClassId item_class, uint32_t reading);
void rename_items(Binder *b); /* at the end: readings of unnamed items that got a name */
bool read_items(Binder *b, ClassId item_class, Str text, SubjectList *out);

/* bind_limit.c */
bool bind_limit_line(Binder *b); /* true when the line is a limit, aim or accept (read or faulty) */

/* bind_gauge.c */
void bind_gauge(Binder *b, Str name, Str right);
void correct_gauges(Binder *b); /* when all is bound */

/* bind_correct.c */
void correct_entry(Binder *b, Entry *e); /* of `DATE corrects DATE` */
void place_corrections(Binder *b);       /* when all is bound: settles Job.homes */

/* near_miss.c */
void bind_note(Binder *b);    /* finds what was meant as a reading, a limit or a grid */
void doubt_remark(Binder *b); /* the line's remark may hold a reading */
void doubt_title(Binder *b);  /* the heading's title may */

bool has_hash(Str text);   /* in its first word */
bool cell_value(Str word); /* what a cell may hold: a number, an item or a dash */

/* near_grid.c */
bool grid_unbarred(Binder *b, Str note); /* true after a finding */

/* near_marks.c */
/* The note with what may stand for ` = ` written as a colon; empty when it holds no such mark. */
Str note_unmarked(Arena *a, Str note);

/* bind_head.c */
bool is_head(const Binder *b, const GridRow *row);
void read_head(Binder *b, const GridRow *row); /* makes it the grid at hand */
/* Whether the line is a head that was kept; then it is that of the grid at hand. */
bool take_kept_head(Binder *b);

/* bind_grid.c */
void bind_grid(Binder *b);

static inline void subjects_push(Binder *b, SubjectList *list, SubjectId id) {
    if (list->count == list->room) subjects_grow(b, list);
    list->ids[list->count++] = id;
}

static inline SubjectKey subject_key(ClassId cls, SubjectId under, char letter, uint32_t number,
                                     uint8_t suffix) {
    return (SubjectKey){(uint64_t)cls << 48 | (uint64_t)(uint8_t)letter << 40 |
                            (uint64_t)suffix << 32 | number,
                        under};
}

static inline bool same_key(const SubjectKey *a, const SubjectKey *b) {
    return a->what == b->what && a->under == b->under;
}

/* SUBJECT_NONE when there is none. Places are mostly asked for in the order they were made in. */
static inline SubjectId subject_find(const Binder *b, ClassId cls, SubjectId under, char letter,
                                     uint32_t number, uint8_t suffix) {
    const SubjectKey key = subject_key(cls, under, letter, number, suffix);
    SubjectId id = b->behind[cls];
    if (id >= b->job->subject_count || !same_key(&b->keys[id], &key))
        return subject_look_up(b, cls, key);
    b->behind[cls] = id + 1;
    return id;
}

/* The name that a line's left side or a cell of a head begins with. */
static inline TagId match_name(const Binder *b, Str left, Str *rest) {
    return vocab_match_again(b->v, b->door ? b->door->seen : NULL, left, rest);
}

static inline Span span_of(const Binder *b, Str part) {
    return line_span(b->source, part);
}

#endif
