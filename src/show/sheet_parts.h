/* What the sheet_*.c files share. Nobody else includes this. */
#ifndef THOU_SHOW_SHEET_PARTS_H
#define THOU_SHOW_SHEET_PARTS_H

#include "compute/fit.h"
#include "compute/say.h"
#include "show/sheet.h"
#include "show/table.h"

enum {
    MARK_SUSPECT,
    MARK_NOMINAL,
    MARK_CARRIED,
    MARK_PARTIAL,
    MARK_BROKEN, /* these two only on a page */
    MARK_ACCEPTED,
    MARKS
};

typedef struct Sheet Sheet;

/* A line outside of tables. */
typedef struct SheetLine {
    int indent, hang; /* blanks before the first line and before those it folds onto */
    Str lead;         /* in `tone`, before the text; may be empty */
    Tone tone;
    const char *state; /* how a limit stands, as a page says it in front; NULL */
    Str text;
} SheetLine;

/* What a sheet is put down on: the parts say what, a paper how. */
typedef struct Paper {
    void (*section)(Sheet *s, Str title);
    void (*line)(Sheet *s, const SheetLine *line);
    void (*table)(Sheet *s, const Table *t, int indent);
    void (*facts)(Sheet *s, Str lead, const Table *t); /* a name and a value a row, run together */
    size_t joined; /* groups of one class share a table up to this width; 0: each has its own */
} Paper;

typedef struct Page Page; /* sheet_page.c: what a page is in the middle of */

typedef struct Ref { /* what a cell shows: a value of a tag, or one reading (else NO_READING) */
    TagId tag;
    uint32_t i; /* position in the tag's class */
    uint32_t reading;
} Ref;

/* A value as it is shown. Its unit stands once: in the heading, or behind the value. */
typedef struct Value {
    Str text; /* its digits (or words) and its marks */
    Tone tone;
    const Unit *unit; /* what its digits are in; NULL of words and of what is not there */
    uint32_t ref;     /* 0 without */
} Value;

typedef struct SheetGroups { /* in the order of the vocabulary */
    const uint16_t *of;      /* per tag: its group */
    Str *names;
    uint16_t count;
} SheetGroups;

struct Sheet {
    Buf *out;
    const Paper *paper;
    Eval *e;
    const Job *j;
    const State *s;
    const Vocab *v;
    Arena *a; /* the sheet's own */
    const SheetOptions *how;
    SheetGroups groups;
    Verdicts verdicts;
    FitHints hints;
    bool marked[MARKS];         /* used, so the legend has it */
    Source mapped[SOURCE_MOST]; /* with their line maps, made when asked for */
    uint32_t mapped_count;
    Page *page; /* NULL on a terminal */
    Ref *refs;  /* a cell's ref is its position from 1 */
    uint32_t ref_count, ref_room;
};

SheetGroups sheet_groups(const Vocab *v, Arena *a); /* sheet_groups.c */

/* sheet_value.c: one value as a cell shows it */
Value sheet_value(Sheet *s, TagId tag, uint32_t i); /* i: position in the tag's class */
Str sheet_words(Sheet *s, TagId tag, SubjectId id);
/* A reading's digits, corrected when its gauge was off, in its own unit or its counterpart. */
Value sheet_reading(Sheet *s, const Job *j, const Reading *r);
/* The unit that a heading over these says: that of them all, else the tag's. */
const Unit *sheet_unit(const Sheet *s, TagId tag, const Value *values, uint32_t n);
/* As it stands under a heading that says `unit` (NULL: none): with its own unit where it has
 * another. */
Cell sheet_under(Sheet *s, const Value *v, const Unit *unit);
Str sheet_mark(Sheet *s, Str text, uint8_t st);
bool sheet_counts(const Sheet *s, const Reading *r); /* at the day asked for */
uint32_t sheet_line(Sheet *s, const Source *source, uint32_t off);
Str sheet_place(Sheet *s, const Source *source, uint32_t off); /* "26-014.job:31" */
Str sheet_at(Sheet *s, const Job *j, const Reading *r);        /* the place of a reading */
Str sheet_number(Sheet *s, TagId tag, SubjectId id, double si, bool with_unit);
/* The job's card whose reading this nominal value is; NULL. */
const CardUse *sheet_card(const Sheet *s, TagId tag, SubjectId id, uint32_t reading, double value);
/* "3.1 of 6": of an aggregate's value, members there and members in all; false for another formula.
 */
bool sheet_members(Sheet *s, TagId tag, uint32_t i, uint32_t *there, uint32_t *all);
Str sheet_date(Sheet *s, int32_t day);
SubjectId sheet_set(const Sheet *s, SubjectId id); /* an item's; SUBJECT_NONE: of none */
void sheet_section(Sheet *s, Str title);
void sheet_say(Sheet *s, int indent, int hang, Str text);
uint32_t sheet_ref(Sheet *s, TagId tag, uint32_t i, uint32_t reading);
Sheet sheet_start(Buf *out, const Paper *paper, Eval *e, const SheetOptions *how);
Str sheet_legend(Sheet *s); /* of the marks that were used; empty */
/* Whether the tag is one of the head, or tells what a reading was taken with and not the engine. */
bool sheet_skips(const Sheet *s, const Tag *tag);

void sheet_head(Sheet *s);     /* sheet_head.c */
void sheet_lists(Sheet *s);    /* sheet_places.c: what holds for the engine as a whole */
void sheet_places(Sheet *s);   /* sheet_places.c */
void sheet_curves(Sheet *s);   /* sheet_curves.c: curves and spots */
void sheet_limits(Sheet *s);   /* sheet_limits.c */
void sheet_missing(Sheet *s);  /* sheet_missing.c */
void sheet_doubts(Sheet *s);   /* sheet_doubts.c: suspect, struck, replaced, corrected readings */
void sheet_notes(Sheet *s);    /* sheet_head.c: those for the owner */
void sheet_cautions(Sheet *s); /* sheet_cautions.c */
void sheet_plan(Sheet *s);     /* sheet_plan.c: places as they stand on the engine; a page's */
void sheet_charts(Sheet *s);   /* sheet_charts.c; a page's */
void sheet_log(Sheet *s);      /* sheet_log.c: the notes of every entry; for the shop */
Table *sheet_rows(Sheet *s);   /* sheet_rows.c */
/* sheet_columns.c: sections in columns */
enum { COLUMNS_MOST = 4, COLUMNS_SECTIONS = 64 };
typedef struct Columns {
    Buf html; /* of all the sections, one behind the other */
    size_t end[COLUMNS_SECTIONS];
    uint32_t lines[COLUMNS_SECTIONS]; /* about how long each is */
    uint32_t count;
} Columns;
void columns_add(Columns *c, Str html, uint32_t lines); /* room for one more is the caller's care */
/* Into `columns` of them at most, as even as their order lets it; empties c. */
void columns_write(Buf *out, Columns *c, const char *class, uint32_t columns);
/* sheet_page.c: a figure in the section that holds them all */
void page_figure(Sheet *s);
/* sheet_working.c: a value on a page, and behind it how it came about */
void page_cell(void *sheet, Buf *out, const Cell *cell);
/* The worst that a limit says of it; NULL when none does. */
const Verdict *sheet_verdict(const Sheet *s, TagId tag, SubjectId id);

#endif
