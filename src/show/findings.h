/*
 * Findings as people and programs read them. Only the Buf is written to: worker threads may each
 * format their own. Findings must be sorted (findings_sort); the sources need no line map.
 */
#ifndef THOU_SHOW_FINDINGS_H
#define THOU_SHOW_FINDINGS_H

#include "base/buf.h"
#include "base/finding.h"
#include "show/table.h"

/* `file:line:col: error: message [code]`, the line itself and a caret under what it is about. A
 * message folds at the style's width; without one it is one line, as other programs want it. */
void findings_text(Buf *out, const Findings *f, TextStyle style);
/* One object a line; what does not apply is absent. Keys: file line col level code message job
 * subject tag value unit limit by margin. */
void findings_json(Buf *out, const Findings *f);

#endif
