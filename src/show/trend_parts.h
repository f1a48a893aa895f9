/* What the trend_*.c files share. Nobody else includes this. */
#ifndef THOU_SHOW_TREND_PARTS_H
#define THOU_SHOW_TREND_PARTS_H

#include "show/table.h"
#include "show/trend.h"

Str trend_value(const TrendReport *r, double y);              /* with the places of the quantity */
Str trend_last(const TrendReport *r, const TrendRow *row);    /* on its side of every limit */
Str trend_rate(const TrendReport *r, double rate, double by); /* so much of it; a place more */
Str trend_run(const TrendReport *r, double x);                /* of what it runs over */
Str trend_date(Arena *a, int32_t day);
/* "S31#7"; with a ' behind where it is a new series of the same thing. */
Str trend_name(const TrendReport *r, const TrendRow *row);
/* The vocabulary's words for a kind of change; empty when there are none. */
Str trend_kind(const TrendReport *r, const TrendRow *row);
const char *trend_kind_word(ChangeKind kind); /* for programs: "shift", "tilt", "both" */

Str trend_interval(const TrendReport *r, Interval i, double by);
uint32_t trend_column(Table *t, const char *key, Str heading, Str unit, Align align);
/* Names of the rows that a test picks, with where they sit; empty when there are none. */
typedef bool TrendTest(const TrendRow *row, const void *what);
Str trend_names(const TrendReport *r, const TrendGroup *g, TrendTest *test, const void *what);
/* trend_plot.c: each series on the scale of its set, a line each; nothing where time stands still.
 */
void trend_plots(Buf *out, const TrendReport *r, const TrendGroup *g);
bool trend_is_odd(const TrendRow *row, const void *what);
/* Whether all series were read at one condition; else a group's is told with it. */
bool trend_one_condition(const TrendReport *r);
Str trend_group_at(const TrendGroup *g);
void trend_groups_text(Buf *out, const TrendReport *r); /* trend_many.c */
void trend_all_text(Buf *out, const TrendReport *r);

#endif
