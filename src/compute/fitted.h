/*
 * How much a quantity of the engine (its hours) has grown while each item was fitted: an item's
 * times at a place, added up. A time with an end that nobody wrote down is not known, and what
 * holds it is not known either (NAN).
 */
#ifndef THOU_COMPUTE_FITTED_H
#define THOU_COMPUTE_FITTED_H

#include "compute/state.h"

typedef struct Fitted Fitted;

/* Before the first entry. Only entries that count in `s` are looked at. */
Fitted *fitted_start(const State *s, TagId tag, Arena *a);
/* Plays what was fitted and taken out, up to and with an entry; entries only go on. */
void fitted_to(Fitted *f, uint32_t entry);
/* At the entry played to: what an item has run; NAN when a part of it is not known. */
double fitted_time(const Fitted *f, SubjectId item);
bool fitted_now(const Fitted *f, SubjectId item);
/* What the engine had run at the end of an entry; NAN before the first that says so. */
double fitted_engine(const Fitted *f, uint32_t entry);

#endif
