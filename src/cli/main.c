/* From argv to a command and back to an exit code. */
#include "cli/indexed.h"
#include "cli/shelf.h"

#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

/* A file opened later must never become stdout or stderr because those were closed. Opened the
 * wrong way round, so that writing to a closed stdout is still an error. */
static void fill_standard_files(void) {
    for (int fd = 0; fd <= 2; fd++) {
        if (fcntl(fd, F_GETFD) >= 0) continue;
        int got = open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY);
        if (got < 0) _exit(EXIT_TROUBLE);
    }
}

static ExitCode run_command(Run *run, int argc, char **argv) {
    if (!options_read(run->command, argc, argv, &run->args, run->arena, &run->err))
        return EXIT_TROUBLE;
    if (run->args.help) {
        help_command(&run->out, run->command);
        return EXIT_FINE;
    }
    return run->command->run(run);
}

static ExitCode run_word(Run *run, int argc, char **argv) {
    const char *word = argc > 1 ? argv[1] : "--help";
    if (strcmp(word, "-h") == 0 || strcmp(word, "--help") == 0) {
        help_all(&run->out);
        return argc > 1 ? EXIT_FINE : EXIT_TROUBLE;
    }
    if (strcmp(word, "--version") == 0) {
        out_add(&run->out, STR("thou " THOU_VERSION "\n"));
        return EXIT_FINE;
    }
    run->command = command_named(word);
    if (run->command) return run_command(run, argc - 2, argv + 2);
    err_set(&run->err, ERR_USAGE, "thou has no command '%s'%.*s (thou help lists them)", word,
            STR_ARG(command_near(word, run->arena)));
    return EXIT_TROUBLE;
}

int main(int argc, char **argv) {
    fill_standard_files();
    (void)signal(SIGPIPE, SIG_IGN); /* a reader that went away shows as EPIPE */
    Run run = {.arena = arena_new()};
    out_init(&run.out, STDOUT_FILENO);
    ExitCode code = run_word(&run, argc, argv);
    if (!out_finish(&run.out, &run.err)) code = EXIT_TROUBLE;
    if (run.err.kind != ERR_NONE) {
        complain("%s", run.err.text);
        code = EXIT_TROUBLE;
    }
    indexed_end(&run);
    shelf_close(&run);
    out_release(&run.out);
    arena_free(run.arena);
    return code;
}
