/* The rows of the table, for the files of this room; others call unit_rows(). */
#ifndef THOU_UNITS_TABLE_H
#define THOU_UNITS_TABLE_H

#include "units/units.h"

extern const Unit units_table[];
extern const size_t units_table_count;

#endif
