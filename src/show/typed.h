/*
 * What a value that has just been typed does: how far its like lie apart by now, every limit whose
 * verdict it changed, and what the checks doubt since.
 */
#ifndef THOU_SHOW_TYPED_H
#define THOU_SHOW_TYPED_H

#include "compute/look_over.h"
#include "show/table.h"

/* `span`: where the value stands in the text of `now`; `from`: where the new entry begins in it.
 * Two looks at the log, without the value and with it. */
void typed_text(Buf *out, const Look *before, const Look *now, Span span, uint32_t from,
                TextStyle style);

#endif
