/* One job, read and played forward: what sheet, why, diff and their like begin with. */
#ifndef THOU_CLI_OPEN_JOB_H
#define THOU_CLI_OPEN_JOB_H

#include "cli/log_state.h"
#include "compute/eval.h"

typedef struct OpenJob {
    Target target;
    Job *job;
    Eval *eval;        /* of the day asked for */
    int32_t until;     /* that day; INT32_MAX for the end of the log */
    Findings findings; /* of the reading alone; sorted */
    BookDoor door;
    LogState asked;
    HistoryVersion *version; /* where it is from; NULL: the file as it stands */
    uint32_t before;         /* of a stage: the last entry before it; UINT32_MAX: none */
    Str said;                /* "26-014 at the end of 2026-03-05" */
} OpenJob;

/* Everything is in the run's arena. What cannot be shown is said: EXIT_FINE to go on, else the code
 * to end with. A log with errors is shown all the same, with a word about it on stderr. `o` must
 * stay where it is. The argument may name a state of the log (cli/log_state.h); `at` is --at. */
ExitCode open_job(Run *run, const char *argument, const OptionValue *at, OpenJob *o);
/* The same for a state that was read already. kept: its date is the day by which it was kept. */
ExitCode open_job_state(Run *run, const LogState *asked, bool kept, OpenJob *o);
/* Another state of the same text: `o` is a copy of the first. */
ExitCode open_job_again(Run *run, const LogState *asked, OpenJob *o);
/* Makes the places of a class that the layout has and no line names, and the state with them. */
bool open_job_places(Run *run, OpenJob *o, ClassId cls);
/* What a command ends with that showed the job: EXIT_FINDINGS when lines of it could not be read.
 */
ExitCode open_job_exit(const OpenJob *o);

/* Rows of the options that such commands share, and what --units asks for. */
#define AT_ROW \
    { "at", 0, OPTION_DATE, "DATE", "as the engine stood at the end of that day" }
#define UNITS_ROW \
    { "units", 0, OPTION_CHOICE, "metric|us", "in these units, whatever was written" }
System units_asked(const OptionValue *units); /* SYSTEM_NONE when not given */

#endif
