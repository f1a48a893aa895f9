/* What the plan*.c files share. Nobody else includes this. */
#ifndef THOU_BOOK_PLAN_PARTS_H
#define THOU_BOOK_PLAN_PARTS_H

#include "base/buf.h"
#include "book/plan.h"
#include "compute/say.h"

typedef struct Planner {
    const Vocab *v;
    const PlanAsk *ask;
    Job *job;
    Eval *e;
    const State *s;
    Arena *a;
    Plan *plan;
    Err *err;
} Planner;

/* plan_what.c */
/* The next entry of `what`, parted by commas with a blank behind, or false at the end. */
bool what_next(Str *rest, Str *entry);
/* A line for the end of the log that names what the entry asks for and reads nothing; empty for a
 * form. It makes the places and items that nothing in the log has named yet. */
Str what_probe(const Vocab *v, Str entry, Arena *a);
const Form *what_form(const Vocab *v, Str entry);
bool plan_what(Planner *p, Str entry); /* adds a grid, or columns to the last one */

/* plan_rows.c */
void plan_rows(Planner *p, PlanGrid *g); /* all of the class, in the order a person works */
/* The condition of the nth point of a curve, from the log's last such readings or a card. */
bool plan_condition(const Planner *p, TagId tag, uint32_t nth, double *at, Str *text);
bool plan_lacks(const Planner *p, const PlanGrid *g, uint32_t row, const PlanColumn *c);

/* plan.c */
PlanGrid *plan_grid(Planner *p, ClassId rows, const Form *form);
PlanColumn *plan_column(Planner *p, PlanGrid *g, TagId tag, uint8_t spot, double at, Str at_text);
void plan_form(Planner *p, const Form *form, bool all);
void plan_want(Planner *p, PlanGrid *g, bool all);

#endif
