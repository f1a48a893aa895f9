/*
 * A chart as inline SVG: axes with round ticks, lines that differ by dashes and markers (they are
 * told apart without colour), bands of what is allowed, and aims. It knows nothing of the trade.
 * Texts are escaped here. Colours are the classes of page.css; without a style sheet everything is
 * black on white.
 */
#ifndef THOU_SHOW_CHART_H
#define THOU_SHOW_CHART_H

#include "base/arena.h"
#include "base/buf.h"

typedef struct ChartPoint {
    double x, y; /* in the units the axes say */
} ChartPoint;

typedef struct ChartLine {
    Str name; /* at its end or in the key; empty: one of many, drawn thin and not named */
    const ChartPoint *points; /* by rising x */
    uint32_t count;
    bool only_points; /* markers without a line between */
} ChartLine;

/* What a limit allows between two x: the ends lines, the bars towards what is not allowed. An aim
 * has low == high. An open end is infinite. */
typedef struct ChartBand {
    double x0, x1, low, high;
    Str name;
} ChartBand;

typedef struct Chart {
    Str title;          /* said to those who can't see it */
    Str x_name, y_name; /* with their units */
    bool x_days;        /* x is a day (base/date.h): ticks are dates */
    const ChartLine *lines;
    uint32_t line_count;
    const ChartBand *bands;
    uint32_t band_count;
} Chart;

/* Nothing is written for a chart without a point. */
void chart_svg(Buf *out, const Chart *c);
typedef struct ChartTicks {
    double first, step; /* tick i stands at first + i * step */
    int count, places;  /* places: the decimals they need */
} ChartTicks;

/* The round ticks from `low` to `high`, about `most` of them: steps of 1, 2 or 5 times a power of
 * ten. */
ChartTicks chart_ticks(double low, double high, int most);

#endif
