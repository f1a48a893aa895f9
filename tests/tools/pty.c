/*
 * Runs a program on a terminal of its own and talks to it by a script on standard input:
 *   expect TEXT   waits until TEXT has come (five seconds), behind what was expected before
 *   send TEXT     types TEXT and Enter
 *   run COMMAND   runs it with sh
 *   kill          kill -9
 *   end           types Ctrl-D
 *   gauge TEXT    sends TEXT and a carriage return down a serial line; an argument GAUGE of the
 *                 program's is replaced by the name of that line's other end
 * What the program wrote goes to standard output, without carriage returns. Ends with the program's
 * code, 137 after a kill, 99 when what was expected did not come.
 *   pty COLUMNS PROGRAM [ARGUMENTS]
 */
#include <errno.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdbool.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

static char seen[1 << 20];
static size_t length, used;
static int terminal, gauge = -1;
static char gauge_name[256];

/* False when nothing more can come, or nothing came in time. */
static bool read_some(int wait) {
    struct pollfd p = {terminal, POLLIN, 0};
    if (poll(&p, 1, wait) <= 0) return false;
    ssize_t n = read(terminal, seen + length, sizeof seen - 1 - length);
    if (n <= 0) return false;
    length += (size_t)n;
    seen[length] = '\0';
    return true;
}

static bool expect(const char *text) {
    for (;;) {
        char *at = strstr(seen + used, text);
        if (at) {
            used = (size_t)(at - seen) + strlen(text);
            return true;
        }
        if (!read_some(5000)) return false;
    }
}

static void send(int fd, const char *text) {
    size_t n = strlen(text);
    while (n) {
        ssize_t done = write(fd, text, n);
        if (done <= 0) return;
        text += done;
        n -= (size_t)done;
    }
}

static int finish(pid_t child) {
    int status;
    while (read_some(5000))
        continue;
    if (waitpid(child, &status, 0) < 0) return 99;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

static bool step(char *line, pid_t child) {
    line[strcspn(line, "\n")] = '\0';
    char *text = line + strcspn(line, " ");
    if (*text) *text++ = '\0';
    if (strcmp(line, "expect") == 0) return expect(text);
    if (strcmp(line, "send") == 0) {
        send(terminal, text);
        send(terminal, "\n");
    } else if (strcmp(line, "run") == 0) {
        return system(text) == 0;
    } else if (strcmp(line, "gauge") == 0) {
        send(gauge, text);
        send(gauge, "\r");
    } else if (strcmp(line, "kill") == 0) {
        kill(child, SIGKILL);
    } else if (strcmp(line, "end") == 0) {
        send(terminal, "\004");
    } else {
        return *line == '\0';
    }
    return true;
}

int main(int argc, char **argv) {
    char line[512];
    if (argc < 3) return 99;
    for (int i = 2; i < argc; i++) {
        int other;
        if (strcmp(argv[i], "GAUGE") != 0) continue;
        if (openpty(&gauge, &other, gauge_name, NULL, NULL) != 0) return 99;
        argv[i] = gauge_name;
    }
    struct winsize size = {.ws_col = (unsigned short)strtoul(argv[1], NULL, 10), .ws_row = 24};
    pid_t child = forkpty(&terminal, NULL, NULL, &size);
    if (child < 0) return 99;
    if (child == 0) {
        execvp(argv[2], argv + 2);
        _exit(99);
    }
    int code = 0;
    while (code == 0 && fgets(line, sizeof line, stdin)) {
        char shown[512];
        snprintf(shown, sizeof shown, "%s", line);
        if (step(line, child)) continue;
        fprintf(stderr, "pty: failed at: %s", shown);
        kill(child, SIGKILL);
        code = 99;
    }
    int ended = finish(child);
    for (size_t i = 0; i < length; i++) {
        if (seen[i] != '\r') putchar(seen[i]);
    }
    return code ? code : ended;
}
