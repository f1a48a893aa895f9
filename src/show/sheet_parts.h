/* What the sheet_*.c files share. Nobody else includes this. */
#ifndef THOU_SHOW_SHEET_PARTS_H
#define THOU_SHOW_SHEET_PARTS_H

#include "compute/say.h"
#include "show/sheet.h"
#include "show/table.h"

enum { MARK_SUSPECT, MARK_NOMINAL, MARK_CARRIED, MARK_PARTIAL, MARKS };

typedef struct Sheet {
    Buf *out;
    Eval *e;
    const Job *j;
    const State *s;
    const Vocab *v;
    Arena *a; /* the sheet's own */
    const SheetOptions *how;
    Verdicts verdicts;
    bool marked[MARKS];         /* used, so the legend has it */
    Source mapped[SOURCE_MOST]; /* with their line maps, made when asked for */
    uint32_t mapped_count;
} Sheet;

/* sheet_value.c: one value as a cell shows it */
Str sheet_cell(Sheet *s, TagId tag, uint32_t i, Tone *tone); /* i: position in the tag's class */
Str sheet_words(Sheet *s, TagId tag, SubjectId id);
/* A reading's digits, corrected when its gauge was off; in the unit of the column, else with its
 * own. */
Str sheet_reading(Sheet *s, const Job *j, const Reading *r, const Unit *column, bool with_unit);
Str sheet_mark(Sheet *s, Str text, uint8_t st);
bool sheet_counts(const Sheet *s, const Reading *r); /* at the day asked for */
uint32_t sheet_line(Sheet *s, const Source *source, uint32_t off);
Str sheet_at(Sheet *s, const Job *j, const Reading *r); /* "26-014.job:31" */
Str sheet_number(Sheet *s, TagId tag, SubjectId id, double si, bool with_unit);
/* The job's card whose reading this nominal value is; NULL. */
const CardUse *sheet_card(const Sheet *s, TagId tag, SubjectId id, uint32_t reading, double value);
/* "3.1 of 6": of an aggregate's value, members there and members in all; false for another formula.
 */
bool sheet_members(Sheet *s, TagId tag, uint32_t i, uint32_t *there, uint32_t *all);
Str sheet_date(Sheet *s, int32_t day);
void sheet_section(Sheet *s, const char *title);
TextStyle sheet_style(const Sheet *s, int indent);
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
Table *sheet_rows(Sheet *s);   /* sheet_rows.c */

#endif
