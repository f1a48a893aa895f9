#include "history/library.h"

#include "base/buf.h"
#include <malloc.h>

bool git_start(Git *git, bool no_system_config, Err *err) {
    enum { KEPT = 16 << 20 };
    if (!git_bind(git, err)) return false;
    /* Each object that is unpacked takes 50 kB and gives it back; handing that to the kernel and
     * fetching it again, page by page, would be a fifth of the work. */
    mallopt(M_MMAP_THRESHOLD, KEPT);
    mallopt(M_TRIM_THRESHOLD, KEPT);
    mallopt(M_TOP_PAD, KEPT / 16);
    int code = git->libgit2_init();
    if (code < 0) return git_fail(git, code, err, "libgit2 did not start");
    git->started = true;
    /* what is written outlives a power cut: objects, the index, each before what names it */
    code = git->libgit2_opts(GIT_OPT_ENABLE_FSYNC_GITDIR, 1);
    if (code == 0 && no_system_config) {
        code = git->libgit2_opts(GIT_OPT_SET_SEARCH_PATH, GIT_CONFIG_LEVEL_SYSTEM, "");
    }
    return code == 0 || git_fail(git, code, err, "libgit2 did not start");
}

void git_stop(Git *git) {
    if (git->started) git->libgit2_shutdown();
    git->started = false;
}

typedef struct Trouble {
    int code;
    const char *advice;
} Trouble;

static const Trouble troubles[] = {
    {GIT_EOWNER, "it belongs to another user; if you trust it, run "
                 "`git config --global --add safe.directory FOLDER` with its folder"},
    {GIT_ELOCKED, "another git process is at work there; wait for it to end"},
    {GIT_EMISMATCH, "the object store is damaged; run `git fsck` there"},
    {GIT_ENOTFOUND, "something is missing there; run `git fsck`"},
    {GIT_EEXISTS, NULL},
    {GIT_EAMBIGUOUS, "give more digits of the id"},
};

void git_err_fill(const Git *git, int code, Err *err, const char *what, ...) {
    Buf b = {0};
    va_list args;
    va_start(args, what);
    buf_vprintf(&b, what, args);
    va_end(args);
    const git_error *last = git->error_last();
    if (last && last->message && code != GIT_EOWNER) buf_printf(&b, ": %s", last->message);
    for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++) {
        if (troubles[i].code == code && troubles[i].advice) {
            buf_printf(&b, "; %s", troubles[i].advice);
        }
    }
    err_set(err, ERR_HISTORY, "%s", b.failed ? "out of memory in history" : b.p);
    git->error_clear();
    buf_release(&b);
}
