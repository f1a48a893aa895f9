/*
 * How much a quantity of the engine (its hours) has grown while each item was fitted: an item's
 * times at a place, added up. A time with an end that nobody wrote down, or whose reading is
 * doubted, is not known, nor is one in which the quantity went backwards (another meter, or a
 * slip): what holds such a time is not known either (NAN), for any number made of it would be too
 * small and look like a good one.
 */
#ifndef THOU_COMPUTE_FITTED_H
#define THOU_COMPUTE_FITTED_H

#include "compute/state.h"
#include "vocab/formula.h"

typedef struct Fitted Fitted;

typedef enum FittedWhy { /* why it is not known */
                         FITTED_KNOWN,
                         FITTED_UNSAID,
                         FITTED_DOUBTED,
                         FITTED_BACKWARDS,
} FittedWhy;

/* Before the first entry. Only entries that count in `s` are looked at. */
Fitted *fitted_start(const State *s, TagId tag, Arena *a);
/* Plays what was fitted and taken out, up to and with an entry; entries only go on. */
void fitted_to(Fitted *f, uint32_t entry);
/* At the entry played to: what an item has run; NAN when a part of it is not known. */
double fitted_time(const Fitted *f, SubjectId item);
/* Why it is not, and the entry that says so. */
FittedWhy fitted_why(const Fitted *f, SubjectId item, uint32_t *entry);
const char *fitted_text(FittedWhy why); /* a literal: "went backwards: ..." */
bool fitted_now(const Fitted *f, SubjectId item);
/* What the engine had run at the end of an entry; NAN before the first that says so. */
double fitted_engine(const Fitted *f, uint32_t entry);
/* How often that had gone backwards by then: between two entries of one count it only grew. */
uint32_t fitted_falls(const Fitted *f, uint32_t entry);
/* Whether a reading after another went backwards, by more than readings repeat to. */
bool fitted_fell(const Tag *tag, double from, double to);
/* Whether a formula asks for the quantity `while fitted`. */
bool fitted_asked(const Formula *f, TagId tag);
/* The first quantity that it asks for so; TAG_NONE. */
TagId fitted_tag(const Formula *f);

#endif
