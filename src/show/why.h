/*
 * The working of one value: its formula, each input down to the readings it rests on with file and
 * line, and every limit on it. It walks the same nodes that computed the value.
 */
#ifndef THOU_SHOW_WHY_H
#define THOU_SHOW_WHY_H

#include "base/buf.h"
#include "compute/verdict.h"

/* `id` is a subject of the tag's class. width: columns of the terminal. */
void why_text(Buf *out, Eval *e, TagId tag, SubjectId id, System system, int width);

/* In short, for a page that shows the inputs too, each with its own working: the formula, what
 * stands in it one step deep, and the limits. Lines are not folded. */
void why_short(Buf *out, Eval *e, const Verdicts *verdicts, TagId tag, SubjectId id, System system);
/* One reading: as written, corrected, and where it stands. */
void why_read(Buf *out, Eval *e, const Reading *r, System system);

#endif
