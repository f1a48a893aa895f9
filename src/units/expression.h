/* Units that are no row of the table: `lbf/mm`, `in/in/degF`. Inside of this room. */
#ifndef THOU_UNITS_EXPRESSION_H
#define THOU_UNITS_EXPRESSION_H

#include "units/units.h"

/* One spelling, no expression: exact case first. NULL when the table has none such. A row of the
 * dimension `want` goes first. */
const Unit *unit_plain(Str text, Dim want);

/* Reads text as products, quotients and powers of plain units. NULL when it is none. The result is
 * a row of the table where one has its dimension and factor, else made and kept for the life of the
 * program. */
const Unit *unit_expression(Str text, Dim want);

/* Whether text multiplies behind a slash: `lb/ft s` can be read in two ways, and is refused. */
bool unit_is_ambiguous(Str text);

#endif
