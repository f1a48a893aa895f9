/* thou fit: what its files share. */
#ifndef THOU_CLI_FIT_H
#define THOU_CLI_FIT_H

#include "cli/open_job.h"
#include "compute/fit.h"

enum {
    FIT_AT,
    FIT_UNITS,
    FIT_HOLD,
    FIT_ONLY,
    FIT_SET,
    FIT_SLOT,
    FIT_APPEND,
    FIT_JSON,
    FIT_OPTIONS
};

/* Puts the lines at the end of the log, after reading the whole again and making sure that it then
 * says what was chosen. Nothing is written on any doubt: run->err says which. */
bool fit_append(Run *run, OpenJob *o, const FitAnswer *f, Str lines)
    __attribute__((warn_unused_result));

#endif
