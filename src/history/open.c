/* Finding the repository, what can't be worked with, and the folder's first repository. */
#include "history/internal.h"

#include "base/file.h"
#include "history/gate.h"
#include <errno.h>
#include <limits.h>
#include <unistd.h>

const char *repo_path(const History *h, Arena *a, const char *path) {
    return arena_printf(a, "%s%s", h->prefix, path).p;
}

const char *disk_path(const History *h, Arena *a, const char *path) {
    return arena_printf(a, "%s/%s", h->book, path).p;
}

/* Why libgit2 would not open the repository `found` (its .git folder) around `dir`. */
static bool not_opened(const Git *git, int code, const char *found, const char *dir, Err *err) {
    /* libgit2 1.5 says "not found" of a foreign repository when no safe.directory is set at all */
    if (code != GIT_EOWNER && code != GIT_ENOTFOUND) {
        const git_error *last = git->error_last();
        bool form = last && last->klass == GIT_ERROR_REPOSITORY && code == GIT_ERROR;
        return git_fail(git, code, err, "the git repository around %s can't be opened%s", dir,
                        form ? " (thou knows SHA-1 repositories of git's plain format only)" : "");
    }
    size_t n = strlen(found);
    while (n > 0 && found[n - 1] == '/')
        n--;
    if (n > 5 && strncmp(found + n - 5, "/.git", 5) == 0) n -= 5;
    return err_set(err, ERR_HISTORY,
                   "the git repository around %s belongs to another user: if you trust it, run "
                   "`git config --global --add safe.directory %.*s`",
                   dir, (int)n, found);
}

static const char *const under_way[] = {
    [GIT_REPOSITORY_STATE_MERGE] = "a merge",
    [GIT_REPOSITORY_STATE_REVERT] = "a revert",
    [GIT_REPOSITORY_STATE_REVERT_SEQUENCE] = "a revert",
    [GIT_REPOSITORY_STATE_CHERRYPICK] = "a cherry-pick",
    [GIT_REPOSITORY_STATE_CHERRYPICK_SEQUENCE] = "a cherry-pick",
    [GIT_REPOSITORY_STATE_BISECT] = "a bisection",
    [GIT_REPOSITORY_STATE_REBASE] = "a rebase",
    [GIT_REPOSITORY_STATE_REBASE_INTERACTIVE] = "a rebase",
    [GIT_REPOSITORY_STATE_REBASE_MERGE] = "a rebase",
    [GIT_REPOSITORY_STATE_APPLY_MAILBOX] = "applying mailed patches",
    [GIT_REPOSITORY_STATE_APPLY_MAILBOX_OR_REBASE] = "applying mailed patches",
};

static bool branch_is_plain(History *h, Err *err) {
    if (!h->branch) {
        return err_set(err, ERR_HISTORY,
                       "no branch is checked out in %s (detached head), so a record would get "
                       "lost: run `git switch BRANCH` first",
                       h->book);
    }
    git_reference *ref = NULL;
    bool plain = strncmp(h->branch, "refs/heads/", 11) == 0;
    if (plain && h->git.reference_lookup(&ref, h->repo, h->branch) == 0) {
        plain = h->git.reference_type(ref) == GIT_REFERENCE_DIRECT;
    }
    h->git.reference_free(ref);
    return plain ||
           err_set(err, ERR_HISTORY,
                   "HEAD leads to %s, which is no plain branch: run `git switch BRANCH` first",
                   h->branch);
}

bool may_record(History *h, Err *err) {
    int state = h->git.repository_state(h->repo);
    if (state != GIT_REPOSITORY_STATE_NONE) {
        bool known = state > 0 && (size_t)state < sizeof under_way / sizeof *under_way;
        return err_set(err, ERR_HISTORY,
                       "%s is under way in %s: finish it, or give it up, with git first",
                       known ? under_way[state] : "something", h->book);
    }
    if (!branch_is_plain(h, err)) return false;
    if (h->name && h->mail) return true;
    return err_set(
        err, ERR_HISTORY,
        "git does not know who records: run `git config --global user.name \"YOUR NAME\"` "
        "and `git config --global user.email \"YOU@EXAMPLE.COM\"`");
}

/* Whether the repository around the book's folder wants nothing of it. */
static bool ignored(const Git *git, git_repository *repo, const char *prefix) {
    int yes = 0;
    return *prefix && git->ignore_path_is_ignored(&yes, repo, prefix) == 0 && yes;
}

/* Opens the repository around the folder. *takes is false when there is none, and when there is
 * one that ignores the folder. */
static bool look_around(History *h, const char *dir, bool *takes, Err *err) {
    const Git *git = &h->git;
    char book[PATH_MAX], work[PATH_MAX];
    if (!realpath(dir, book)) return err_errno(err, ERR_IO, "%s can't be opened", dir);
    h->book = arena_printf(h->arena, "%s", book).p;
    git_buf found = {0};
    int code = git->repository_discover(&found, book, 0, NULL);
    *takes = code == 0;
    if (code == GIT_ENOTFOUND) return true;
    if (code != 0) return git_fail(git, code, err, "%s can't be looked around", book);
    code = git->repository_open_ext(&h->repo, book, 0, NULL);
    if (code != 0) not_opened(git, code, found.ptr, book, err);
    git->buf_dispose(&found);
    if (code != 0) return false;
    if (git->repository_is_bare(h->repo)) {
        return err_set(err, ERR_HISTORY,
                       "the git repository %s has no working folder (it is bare): clone it, and "
                       "keep the book in the clone",
                       git->repository_path(h->repo));
    }
    const char *workdir = git->repository_workdir(h->repo);
    if (!realpath(workdir, work)) return err_errno(err, ERR_IO, "%s can't be opened", workdir);
    size_t n = strcmp(work, "/") == 0 ? 0 : strlen(work);
    if (strncmp(book, work, n) != 0 || (book[n] != '/' && book[n] != '\0')) {
        return err_set(err, ERR_HISTORY, "%s is not inside the working folder %s of its repository",
                       book, work);
    }
    h->prefix = book[n] ? arena_printf(h->arena, "%s/", book + n + 1).p : "";
    h->git_dir = git->repository_path(h->repo);
    h->common = git->repository_commondir(h->repo);
    *takes = !ignored(git, h->repo, h->prefix);
    return true;
}

static bool repository_find(History *h, const char *dir, Err *err) {
    bool takes;
    if (!look_around(h, dir, &takes, err)) return false;
    if (takes) return true;
    return err_set(err, ERR_HISTORY, "%s %s: run `thou start` there to give the book its own",
                   h->repo ? "the git repository around it ignores" : "no git repository holds",
                   h->book);
}

static const char *configured(const History *h, const char *key, const char *otherwise) {
    const char *text = NULL;
    if (h->git.config_get_string(&text, h->config, key) != 0 || !*text) text = otherwise;
    return text && *text ? arena_printf(h->arena, "%s", text).p : NULL;
}

static bool settle(History *h, const HistorySettings *with, Err *err) {
    const Git *git = &h->git;
    int code = git->repository_config_snapshot(&h->config, h->repo);
    if (code != 0) return git_fail(git, code, err, "git's configuration can't be read");
    code = git->repository_odb(&h->odb, h->repo);
    if (code != 0) return git_fail(git, code, err, "the object store can't be opened");
    int modes = 1;
    git->config_get_bool(&modes, h->config, "core.filemode");
    h->modes = modes;
    if (with->store) h->store = arena_printf(h->arena, "%s", with->store).p;
    h->told = with->told;
    h->told_ctx = with->told_ctx;
    h->name = configured(h, "user.name", with->name);
    h->mail = configured(h, "user.email", with->mail);
    gate_clear(h);
    if (!head_read(h, &h->branch, &h->born, &h->head, err)) return false;
    return with->use == HISTORY_READ || (may_record(h, err) && gate_is_free(h, err));
}

bool history_open(const char *book_dir, const HistorySettings *with, History **out, Err *err) {
    History *h = calloc(1, sizeof *h);
    if (!h) return err_set(err, ERR_LIMIT, "out of memory");
    h->arena = arena_new();
    if (!git_start(&h->git, with->no_system_config, err) || !repository_find(h, book_dir, err) ||
        !settle(h, with, err)) {
        history_close(h);
        return false;
    }
    *out = h;
    return true;
}

void history_close(History *h) {
    if (!h) return;
    if (h->git.started) {
        head_forget(h);
        h->git.odb_free(h->odb);
        h->git.config_free(h->config);
        h->git.repository_free(h->repo);
    }
    git_stop(&h->git);
    arena_free(h->arena);
    free(h);
}

/* A folder may be written without its slash, and with one before it. */
static bool ignores(Str text, Str wanted) {
    bool folder = wanted.p[wanted.n - 1] == '/';
    Str bare = {wanted.p, wanted.n - folder};
    for (size_t at = 0; at < text.n;) {
        size_t end = str_find_char(text, '\n', at);
        if (end > text.n) end = text.n;
        Str line = str_trim((Str){text.p + at, end - at});
        if (folder && str_starts(line, STR("/"))) line = str_skip(line, 1);
        if (str_eq(line, wanted) || str_eq(line, bare)) return true;
        at = end + 1;
    }
    return false;
}

/* The text with the lines it lacks. */
static void with_lines(Buf *b, Str text) {
    static const Str lines[] = {{".thou/", 6}, {FILE_TEMP_GLOB, sizeof FILE_TEMP_GLOB - 1}};
    buf_add(b, text);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        if (ignores(text, lines[i])) continue;
        if (b->n && b->p[b->n - 1] != '\n') buf_putc(b, '\n');
        buf_add(b, lines[i]);
        buf_putc(b, '\n');
    }
}

static bool gitignore_write(const char *dir, Err *err) {
    Arena *a = arena_new();
    Buf b = {0};
    Str text = {0};
    FileStamp stamp;
    const char *path = arena_printf(a, "%s/.gitignore", dir).p;
    bool there = file_exists(path);
    bool ok = !there || file_read(a, path, &text, &stamp, err);
    if (ok) with_lines(&b, text);
    if (ok && b.n != text.n) {
        ok = b.failed ? err_set(err, ERR_LIMIT, "out of memory")
                      : file_write(path, buf_str(&b), there ? &stamp : NULL, err);
    }
    buf_release(&b);
    arena_free(a);
    return ok;
}

bool history_init(const char *book_dir, const HistorySettings *with, bool *made, Err *err) {
    History h = {.arena = arena_new()};
    bool takes = false;
    bool ok =
        git_start(&h.git, with->no_system_config, err) && look_around(&h, book_dir, &takes, err);
    if (ok && !takes) {
        h.git.repository_free(h.repo);
        h.repo = NULL;
        int code = h.git.repository_init(&h.repo, h.book, 0);
        ok = code == 0 ||
             git_fail(&h.git, code, err, "no git repository can be made in %s", book_dir);
    }
    ok = ok && gitignore_write(h.book, err);
    if (h.git.started) h.git.repository_free(h.repo);
    git_stop(&h.git);
    arena_free(h.arena);
    if (ok) *made = !takes;
    return ok;
}
