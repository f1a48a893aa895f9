/* The end of the road: memory is gone, or the program contradicts itself. Not for user faults. */
#ifndef THOU_BASE_FATAL_H
#define THOU_BASE_FATAL_H

/* Writes "thou: WHAT" as one line on stderr, without allocating, and aborts. */
_Noreturn void fatal(const char *what);

#endif
