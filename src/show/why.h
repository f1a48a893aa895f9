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

#endif
