/* thou start: a book, or what is still missing of one. Nothing that is there is touched. */
#include "cli/shelf.h"
#include "history/history.h"
#include "vocab/texts.h"

static bool make_folder(Run *run, const char *path) {
    if (file_exists(path)) return true;
    if (!file_mkdirs(path, &run->err)) return false;
    buf_printf(&run->out.buf, "%s/\n", path);
    return true;
}

static bool make_file(Run *run, const char *path, Str text) {
    if (file_exists(path)) return true;
    if (!file_write(path, text, NULL, &run->err)) return false;
    buf_printf(&run->out.buf, "%s\n", path);
    return true;
}

static const char *in(Run *run, const char *folder, const char *part) {
    if (strcmp(folder, ".") == 0) return part;
    return arena_printf(run->arena, "%s/%s", folder, part).p;
}

static bool make_files(Run *run, const char *folder) {
    Str vocab = {(const char *)text_start_vocab, text_start_vocab_size};
    Str job = {(const char *)text_start_job, text_start_job_size};
    bool had_jobs = file_exists(in(run, folder, BOOK_JOBS));
    if (!make_folder(run, folder) || !make_folder(run, in(run, folder, BOOK_JOBS)) ||
        !make_folder(run, in(run, folder, BOOK_PARTS)) ||
        !make_file(run, in(run, folder, BOOK_SHOP), vocab) ||
        !make_file(run, in(run, folder, ".gitignore"), STR(BOOK_STORE "/\n" FILE_TEMP_GLOB "\n")))
        return false;
    return had_jobs || make_file(run, in(run, folder, BOOK_JOBS "/first.job"), job);
}

static ExitCode run_start(Run *run) {
    const char *folder = run->args.count ? run->args.words[0] : ".";
    const HistorySettings settings = {.use = HISTORY_READ};
    bool made = false;
    if (!make_files(run, folder)) return EXIT_TROUBLE;
    /* The book can be used without its history, so that is made last. */
    if (!history_init(folder, &settings, &made, &run->err)) return EXIT_TROUBLE;
    if (made) buf_printf(&run->out.buf, "%s/\n", in(run, folder, ".git"));
    if (run->out.buf.n == 0) complain("'%s' is a book already: nothing was missing", folder);
    return EXIT_FINE;
}

const Command command_start = {
    .name = "start",
    .arguments = "[DIR]",
    .summary = "makes a book: its folders, a shop.vocab to fill, a first log to read",
    .help = "Makes DIR (else the folder you are in) a book: jobs/ and parts/, an empty shop.vocab\n"
            "with remarks, a git repository that ignores .thou/ and what a write that was killed\n"
            "leaves, and jobs/first.job to read. It says what it made. What is there already is\n"
            "left as it is.\n",
    .least = 0,
    .most = 1,
    .run = run_start,
};
