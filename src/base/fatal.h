/* The end of the road: memory is gone, or the program contradicts itself. Not for user faults. */
#ifndef THOU_BASE_FATAL_H
#define THOU_BASE_FATAL_H

/* Writes "thou: WHAT" as one line on stderr, without allocating, and aborts. */
void fatal(const char *what) __attribute__((noreturn, cold));

#endif
