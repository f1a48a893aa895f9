/*
 * What a command is: one file, which defines one row, and its name in COMMANDS. Parsing, `-h`,
 * `thou help`, completions and manual pages are all made from the rows; no text about a command
 * stands anywhere else.
 */
#ifndef THOU_CLI_COMMAND_H
#define THOU_CLI_COMMAND_H

#include "base/arena.h"
#include "base/date.h"
#include "cli/out.h"

typedef enum ExitCode {
    EXIT_FINE = 0,
    EXIT_FINDINGS = 1, /* errors in what was written, or nothing found */
    EXIT_TROUBLE = 2,  /* the command line, a file, the repository, the index */
} ExitCode;

typedef enum OptionKind {
    OPTION_FLAG,
    OPTION_WORD,
    OPTION_COUNT,  /* a whole number, 1 to 1000 */
    OPTION_DATE,   /* a day, YYYY-MM-DD */
    OPTION_CHOICE, /* one of the words of `value`, with bars between */
} OptionKind;

typedef struct Option {
    const char *name; /* "at", typed --at */
    char letter;      /* 'm' for -m; 0 without */
    OptionKind kind;
    const char *value; /* what stands for the value in help: "DATE", "metric|us"; NULL for a flag */
    const char *help;  /* NULL: for the program's own files, shown nowhere */
} Option;

enum { OPTION_MOST = 16 };

typedef struct OptionValue {
    bool given;
    const char *text; /* as typed; NULL for a flag */
    unsigned number;  /* OPTION_COUNT; of OPTION_CHOICE which, from 0 */
    Date date;
} OptionValue;

typedef struct Args {
    OptionValue options[OPTION_MOST]; /* by the row in the command's table */
    const char *book;                 /* --book; NULL */
    const char *book_default;         /* THOU_BOOK; NULL */
    bool help;
    char **words; /* the other arguments */
    int count;
} Args;

typedef struct Command Command;

typedef struct Run { /* one run of a command */
    const Command *command;
    Args args;
    Arena *arena;            /* for all that lives as long as the run */
    Out out;                 /* stdout */
    struct Shelf *shelf;     /* the books that were opened: cli/shelf.h */
    struct EarlyLook *early; /* at a book's files: cli/indexed.h */
    Err err;                 /* set: it is said on stderr, and the run ends with EXIT_TROUBLE */
} Run;

struct Command {
    const char *name;
    const char *arguments; /* "JOB TAG [SUBJECT]" */
    const char *summary;   /* one line */
    const char *help;      /* paragraphs, wrapped by hand at 76 columns */
    const Option *options;
    int option_count;
    int least, most; /* how many words; most -1: any number */
    ExitCode (*run)(Run *run);
};

/* clang-format off: one a line, so that two new ones can meet */
#define COMMANDS(ROW) \
    ROW(start)        \
    ROW(new)          \
    ROW(check)        \
    ROW(sheet)        \
    ROW(fill)         \
    ROW(why)          \
    ROW(fit)          \
    ROW(find)         \
    ROW(trend)        \
    ROW(diff)         \
    ROW(keep)         \
    ROW(list)         \
    ROW(tag)          \
    ROW(past)         \
    ROW(completion)   \
    ROW(help)
/* clang-format on */
#define COMMAND_DECLARE(name) extern const Command command_##name;
COMMANDS(COMMAND_DECLARE)

extern const Command *const commands[];
extern const int command_count;
const Command *command_named(const char *name);
/* "; did you mean 'sheet'?" or empty. */
Str command_near(const char *typed, Arena *a);

/* Options that every command has, behind its own. */
extern const Option common_options[];
extern const int common_option_count;

/* Reads argv (without program and command). ERR_USAGE names the option and the nearest one. */
bool options_read(const Command *c, int argc, char **argv, Args *args, Arena *a, Err *err)
    __attribute__((warn_unused_result));
/* `thou COMMAND -h`, from the row. */
void help_command(Out *out, const Command *c);
void help_all(Out *out);

/* One line on stderr: "thou: TEXT". */
void complain(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
