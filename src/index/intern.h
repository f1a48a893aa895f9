/* What many rows say alike (units, lists of places, how a run stands) is stored once and numbered.
 */
#ifndef THOU_INDEX_INTERN_H
#define THOU_INDEX_INTERN_H

#include "index/internal.h"

/* Reads what is numbered already, once an index: before any of the others. */
bool need_interned(Index *x, Err *err) __attribute__((warn_unused_result));
/* At the start of a job: texts of the one before may be gone. */
void forget_recent(Index *x);
/* Numbers, new ones for what is new; 0 on failure. */
int64_t places_number(Index *x, Str places, Err *err);
int64_t shape_number(Index *x, const RunRow *r, Err *err);
/* Binds the number of a unit, NULL for none. */
bool bind_unit(Index *x, sqlite3_stmt *s, int at, const Unit *u, Err *err)
    __attribute__((warn_unused_result));

#endif
