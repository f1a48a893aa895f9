/*
 * Completions for shells: what can stand where, worked out from the table of commands, and one file
 * a shell that writes it down in that shell's way. The parts that are the same for all commands are
 * texts of their own, in the shell's language (complete.bash and its like), compiled in.
 */
#ifndef THOU_CLI_COMPLETION_H
#define THOU_CLI_COMPLETION_H

#include "cli/command.h"

typedef enum ArgKind {
    ARG_NONE, /* whatever a person types */
    ARG_JOBS,
    ARG_TAGS, /* one name, word by word, to the end of the line */
    ARG_COMMANDS,
    ARG_FILES,
    ARG_FOLDERS,
    ARG_CHOICE, /* one of the words of `words`, with bars between */
} ArgKind;

typedef struct Argument {
    ArgKind kind;
    Str words;
    bool repeated; /* stands there any number of times */
} Argument;

enum { ARGUMENT_MOST = 8 };
/* What the arguments of a command are, in their order; returns how many. */
unsigned arguments_of(const Command *c, Argument list[ARGUMENT_MOST]);
/* What an option's value is; ARG_NONE for a flag too. */
Argument option_argument(const Option *o);
/* "jobs", "folders"; of a choice its words: "metric|us". */
Str argument_word(const Argument *s);

/* Options of a command that are shown, behind its own those of all; from 0 until NULL. */
const Option *command_option(const Command *c, int i);

void completion_bash(Buf *out);
void completion_zsh(Buf *out);
void completion_fish(Buf *out);

#endif
