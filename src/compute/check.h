/*
 * The checks on what a whole log says: limits, doubtful readings, gaps. Each is one function and
 * one row of check_kinds; they run after the job has been read, and add to its findings.
 */
#ifndef THOU_COMPUTE_CHECK_H
#define THOU_COMPUTE_CHECK_H

#include "compute/verdict.h"

/* Runs every check on the state of the log's end. */
void check_job(Eval *e, Findings *findings);
/* The same for one of many: a broken limit does not say whether the same parts placed otherwise
 * would hold it, which takes longer than all the rest. */
void check_job_briefly(Eval *e, Findings *findings);

extern const FindingKind check_kinds[];
extern const size_t check_kinds_count;

#endif
