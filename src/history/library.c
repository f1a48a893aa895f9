#include "history/library.h"

#include "base/buf.h"
#include <dlfcn.h>
#include <malloc.h>
#include <stddef.h>

typedef struct Call {
    const char *symbol;
    size_t field; /* offset of its pointer in Git */
} Call;

#define GIT_ROW(name) {"git_" #name, offsetof(Git, name)},
static const Call calls[] = {GIT_CALLS(GIT_ROW)};
#undef GIT_ROW

static bool load(Git *git, Err *err) {
    const char *file = "libgit2.so." LIBGIT2_SOVERSION;
    /* never unloaded: the libraries it brings along leave work for the end of the process */
    git->library = dlopen(file, RTLD_LAZY | RTLD_LOCAL | RTLD_NODELETE);
    if (!git->library) {
        return err_set(err, ERR_HISTORY,
                       "history needs the library libgit2 %s, which can't be loaded (%s): "
                       "install the package libgit2-%s",
                       LIBGIT2_SOVERSION, dlerror(), LIBGIT2_SOVERSION);
    }
    for (size_t i = 0; i < sizeof calls / sizeof *calls; i++) {
        void *entry = dlsym(git->library, calls[i].symbol);
        if (!entry) {
            return err_set(err, ERR_HISTORY,
                           "%s lacks %s: it is not the libgit2 this program was built for", file,
                           calls[i].symbol);
        }
        memcpy((char *)git + calls[i].field, &entry, sizeof entry);
    }
    return true;
}

bool git_start(Git *git, bool no_system_config, Err *err) {
    enum { KEPT = 16 << 20 };
    if (!load(git, err)) return false;
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
    if (git->library) dlclose(git->library);
    git->library = NULL;
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

bool git_fail(const Git *git, int code, Err *err, const char *what, ...) {
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
    return false;
}
