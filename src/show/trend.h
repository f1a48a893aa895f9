/*
 * Trends: what series of readings come to, worked out once and shown as text, rows or a chart.
 * Numbers are in the units shown: `y` in the quantity's, `x` in that of what it runs over (days
 * since a series' first reading where nothing else is known).
 */
#ifndef THOU_SHOW_TREND_H
#define THOU_SHOW_TREND_H

#include "base/buf.h"
#include "compute/series.h"
#include "compute/verdict.h"
#include "stats/changekind.h"
#include "stats/control.h"
#include "stats/mixed.h"
#include "stats/outlier.h"
#include "stats/repeats.h"
#include "stats/verdict.h"

typedef struct TrendHow {
    const Vocab *v;
    SeriesAsk ask;
    bool over_days;      /* nothing to run over is known, or days were asked for */
    bool over_asked;     /* not chosen by the program */
    const Repeats *book; /* of the quantity in the whole book; NULL: only the logs read are known */
    System system;       /* SYSTEM_NONE: as the logs show it */
    TrendMethod method;
    double level;     /* of the intervals: 0.95 */
    double until;     /* readings beyond so much run do not count; INFINITY: all do */
    bool rows_wanted; /* all of every series is shown, in rows or a chart, however many there are */
    int width;
    bool colour;
} TrendHow;

typedef struct TrendLeft { /* until a limit is reached, counted from the last reading */
    const SeriesLimit *limit;
    bool past;      /* the last reading is beyond it */
    double nearest; /* SI: its end that is nearer to the last reading */
    bool unknown; /* what stood behind the last reading is not known, so neither is what is left */
    bool heading; /* the trend goes towards it: then the rest */
    double value;
    bool has_interval;
    double low, high; /* may be infinite: perhaps never */
} TrendLeft;

typedef struct TrendRow {
    const Series *s;
    bool is_item; /* followed wherever it sat */
    double *x, *y;
    uint32_t n;      /* with a known x */
    uint32_t no_run; /* without */
    double first, last, change, percent;
    double last_si;     /* as limits are */
    int last_places;    /* as many as it takes to see on which side of a limit it is */
    StatsStatus status; /* of the fit */
    Trend fit;
    Judged judged;
    TrendLeft *left;
    uint32_t left_count;
    bool has_kind; /* of change, told apart at two conditions or more */
    Change kind;
    bool odd; /* its set contradicts its rate */
} TrendRow;

typedef struct TrendGroup { /* the series of one set, one engine, one fact's words */
    Str engine, name;       /* either may be empty */
    TrendRow *rows;
    uint32_t count;
    uint32_t with_rate;
    bool has_mean; /* two series or more with a rate */
    PooledSlope pool;
    double percent; /* mean change */
    uint32_t odd;
    bool unusual; /* among all builds */
} TrendGroup;

typedef struct TrendAll { /* over groups: each counts once */
    bool has_mean;
    uint32_t groups;
    double mean, sd;
    Interval mean_interval, next; /* of the mean; of a build not seen yet */
    bool has_next;
    uint32_t unusual;
    const char *unusual_by; /* the test */
} TrendAll;

typedef struct TrendReport {
    const TrendHow *how;
    const Tag *tag, *over; /* over NULL: days */
    Shown y;
    const char *x_unit; /* "h", "days" */
    double per;         /* rates are told for so much of it */
    Str per_text;       /* "10 h", "year" */
    double slack;       /* values that differ by less are equal */
    Spread instrument;
    uint64_t repeats; /* things read again that it rests on; 0: as the vocabulary states it */
    TrendRow *rows;
    uint32_t count;
    TrendGroup *groups;
    uint32_t group_count;
    TrendAll all;
    uint32_t no_run; /* readings without what they should run over */
    bool brief;      /* many groups, a line each: the series themselves are not told */
    bool fell_back;  /* days, because nothing to run over is written */
    Arena *arena;
} TrendReport;

/* Everything in `a`; the list must outlive the report. */
void trend_report(const SeriesList *list, const TrendHow *how, Arena *a, TrendReport *out);

void trend_text(Buf *out, const TrendReport *r);
void trend_json(Buf *out, const TrendReport *r);
void trend_csv(Buf *out, const TrendReport *r);
/* A chart to be printed: axes, units, limits by author, a line a series. */
void trend_svg(Buf *out, const TrendReport *r);

/* Of a series: the reading that stands furthest above an earlier one of it (or below). */
typedef struct Rise {
    const Series *s;
    const SeriesPoint *from, *to;
} Rise;

typedef struct RiseReport {
    const TrendHow *how;
    const Tag *tag;
    Shown y;
    double least; /* that is told, in the unit shown; below 0: of falls */
    Rise *items;
    uint32_t count;
    Arena *arena;
} RiseReport;

void rise_report(const SeriesList *list, const TrendHow *how, double least, Arena *a,
                 RiseReport *out);
void rise_text(Buf *out, const RiseReport *r);
void rise_json(Buf *out, const RiseReport *r);
void rise_csv(Buf *out, const RiseReport *r);

/* A quantity of the shop over time: its readings in the order of days, over all logs. Of places the
 * mean of an entry counts as one. */
typedef struct ControlPoint {
    int32_t day;
    double y;
    Str job, engine;
    uint32_t of; /* readings it is the mean of */
    unsigned char signals;
} ControlPoint;

typedef struct ControlReport {
    const TrendHow *how;
    const Tag *tag;
    Shown y;
    ControlPoint *points;
    uint32_t count, signals;
    double slack; /* values that differ by less are equal */
    StatsStatus status;
    Individuals limits;
    Arena *arena;
} ControlReport;

void control_report(const SeriesList *list, const TrendHow *how, Arena *a, ControlReport *out);
void control_text(Buf *out, const ControlReport *r);
void control_json(Buf *out, const ControlReport *r);
void control_csv(Buf *out, const ControlReport *r);
void control_svg(Buf *out, const ControlReport *r);

#endif
