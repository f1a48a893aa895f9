/*
 * Times commands side by side: run ROUNDS 'COMMAND' 'COMMAND'... Each is run in turn, ROUNDS times,
 * its output thrown away: one that begins with `exec ` directly, its words split at blanks, any
 * other by sh. Prints a line each: best wall seconds, processor seconds of that
 * run, the most memory any run took in kB, the exit status.
 */
#include <fcntl.h>
#include <spawn.h>
#include <stdbool.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

typedef struct Figure {
    double wall, cpu;
    long kilobytes;
    int status;
} Figure;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static double seconds(struct timeval t) {
    return (double)t.tv_sec + (double)t.tv_usec / 1e6;
}

/* posix_spawn: a copy of this process made by fork would count as the command's time. */
static pid_t start_command(const char *command) {
    enum { WORDS = 64 };
    static char sh[] = "sh", flag[] = "-c";
    char *text = strdup(command), *rest = text, *word, *words[WORDS + 1] = {sh, flag, text};
    if (strncmp(command, "exec ", 5) == 0) {
        int n = 0;
        strsep(&rest, " ");
        while (n < WORDS && (word = strsep(&rest, " ")))
            words[n++] = word;
        words[n] = NULL;
    }
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    for (int fd = 0; fd < 3; fd++)
        posix_spawn_file_actions_addopen(&files, fd, "/dev/null", O_RDWR, 0);
    pid_t child;
    int failed = posix_spawnp(&child, words[0], &files, NULL, words, environ);
    posix_spawn_file_actions_destroy(&files);
    free(text);
    return failed ? -1 : child;
}

static void run_once(const char *command, Figure *best) {
    double start = now();
    pid_t child = start_command(command);
    int status;
    struct rusage used;
    if (child < 0 || wait4(child, &status, 0, &used) != child) {
        perror("run");
        exit(2);
    }
    double wall = now() - start;
    if (used.ru_maxrss > best->kilobytes) best->kilobytes = used.ru_maxrss;
    best->status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    if (wall >= best->wall) return;
    best->wall = wall;
    best->cpu = seconds(used.ru_utime) + seconds(used.ru_stime);
}

int main(int argc, char **argv) {
    enum { MOST = 16 };
    Figure figures[MOST];
    int rounds = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 0, count = argc - 2;
    if (rounds < 1 || count < 1 || count > MOST) {
        fprintf(stderr, "usage: run ROUNDS COMMAND...\n");
        return 2;
    }
    for (int i = 0; i < count; i++)
        figures[i] = (Figure){.wall = 1e9};
    for (int r = 0; r < rounds; r++) {
        for (int i = 0; i < count; i++)
            run_once(argv[i + 2], &figures[i]);
    }
    for (int i = 0; i < count; i++)
        printf("%.4f %.4f %ld %d\n", figures[i].wall, figures[i].cpu, figures[i].kilobytes,
               figures[i].status);
    return 0;
}
