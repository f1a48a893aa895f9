/* thou help: the commands, or one of them. */
#include "cli/command.h"

static ExitCode run_help(Run *run) {
    if (run->args.count == 0) {
        help_all(&run->out);
        return EXIT_FINE;
    }
    const Command *c = command_named(run->args.words[0]);
    if (c) {
        help_command(&run->out, c);
        return EXIT_FINE;
    }
    err_set(&run->err, ERR_USAGE, "thou has no command '%s'%.*s (thou help lists them)",
            run->args.words[0], STR_ARG(command_near(run->args.words[0], run->arena)));
    return EXIT_TROUBLE;
}

const Command command_help = {
    .name = "help",
    .arguments = "[COMMAND]",
    .summary = "lists the commands, or explains one",
    .help = "With the name of a command: what it does, and its options.\n",
    .least = 0,
    .most = 1,
    .run = run_help,
};
