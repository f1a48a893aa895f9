#include "base/file.h"
#include "unit/rows.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <pthread.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* Each test has an empty folder of its own, and stands in it. */
typedef struct Place {
    char folder[64];
    Arena *arena;
    int back; /* to where it came from */
} Place;

static int enter(void **state) {
    Place *p = calloc(1, sizeof *p);
    assert_non_null(p);
    memcpy(p->folder, "/tmp/thou-file-XXXXXX", sizeof "/tmp/thou-file-XXXXXX");
    assert_non_null(mkdtemp(p->folder));
    p->back = open(".", O_RDONLY | O_DIRECTORY);
    assert_int_equal(chdir(p->folder), 0);
    p->arena = arena_new();
    *state = p;
    return 0;
}

static unsigned entries(const char *folder) {
    unsigned count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d));) {
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0) continue;
        count++;
    }
    closedir(d);
    return count;
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *at) {
    (void)st, (void)type, (void)at;
    return remove(path);
}

static int leave(void **state) {
    Place *p = *state;
    assert_int_equal(fchdir(p->back), 0);
    close(p->back);
    nftw(p->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    arena_free(p->arena);
    free(p);
    return 0;
}

static Str read_back(void **state, const char *path, FileStamp *stamp) {
    Place *p = *state;
    Err err = {0};
    Str text;
    if (!file_read(p->arena, path, &text, stamp, &err)) fail_msg("%s", err.text);
    assert_int_equal(text.p[text.n], '\0');
    return text;
}

static void put(const char *path, const char *text) {
    Err err = {0};
    if (!file_write(path, str_from(text), NULL, &err)) fail_msg("%s", err.text);
}

static void writes_and_reads(void **state) {
    static const char *const texts[] = {"", "a\n", "no end of line", "\xEF\xBB\xBFmark\r\n"};
    char path[] = "0.job";
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++, path[0]++) {
        FileStamp stamp, now;
        put(path, texts[i]);
        assert_true(str_eq(read_back(state, path, &stamp), str_from(texts[i])));
        assert_true(file_stamp(path, &now, &(Err){0}));
        assert_true(file_stamp_eq(&stamp, &now));
    }
    assert_int_equal(entries("."), 4);
}

static void writes_large_ones_whole(void **state) {
    Buf b = {0};
    for (int i = 0; i < 300000; i++)
        buf_printf(&b, "chamber %d = 44.8 cc\n", i);
    Err err = {0};
    assert_true(file_write("large", buf_str(&b), NULL, &err));
    assert_true(str_eq(read_back(state, "large", NULL), buf_str(&b)));
    buf_release(&b);
}

static void replaces(void **state) {
    FileStamp was;
    Err err = {0};
    put("a", "old");
    read_back(state, "a", &was);
    assert_true(file_write("a", STR("new"), &was, &err));
    assert_true(str_eq(read_back(state, "a", NULL), STR("new")));
    assert_int_equal(entries("."), 1);
}

static void keeps_permissions(void **state) {
    static const mode_t modes[] = {0600, 0640, 0644, 0660, 0755};
    put("a", "old");
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        FileStamp was;
        struct stat st;
        assert_int_equal(chmod("a", modes[i]), 0);
        read_back(state, "a", &was);
        Err err = {0};
        assert_true(file_write("a", STR("new"), &was, &err));
        assert_int_equal(stat("a", &st), 0);
        assert_int_equal(st.st_mode & 07777, modes[i]);
    }
}

static void gives_new_files_what_the_umask_says(void **state) {
    (void)state;
    struct stat st;
    mode_t was = umask(0027);
    put("a", "x");
    umask(was);
    assert_int_equal(stat("a", &st), 0);
    assert_int_equal(st.st_mode & 07777, 0640);
}

static void follows_links(void **state) {
    FileStamp was;
    Err err = {0};
    struct stat st;
    assert_int_equal(mkdir("there", 0777), 0);
    put("there/a", "old");
    assert_int_equal(symlink("there/a", "first"), 0);
    assert_int_equal(symlink("first", "second"), 0);
    read_back(state, "second", &was);
    assert_true(file_write("second", STR("new"), &was, &err));
    assert_int_equal(lstat("second", &st), 0);
    assert_true(S_ISLNK(st.st_mode));
    assert_int_equal(lstat("first", &st), 0);
    assert_true(S_ISLNK(st.st_mode));
    assert_true(str_eq(read_back(state, "there/a", NULL), STR("new")));
    assert_int_equal(entries("there"), 1);
}

/* Refused: the text stays, the kind is right, nothing is left beside it. */
static void refuses(void **state, const char *path, const FileStamp *was, ErrKind kind) {
    (void)state;
    Err err = {0};
    unsigned before = entries(".");
    assert_false(file_write(path, STR("new"), was, &err));
    assert_int_equal(err.kind, kind);
    assert_non_null(strstr(err.text, path));
    assert_int_equal(entries("."), before);
}

static void sees_a_change_under_us(void **state) {
    FileStamp was;
    put("a", "old");
    read_back(state, "a", &was);
    int fd = open("a", O_WRONLY | O_APPEND);
    assert_int_equal(write(fd, "more", 4), 4);
    close(fd);
    refuses(state, "a", &was, ERR_CHANGED);
    assert_true(str_eq(read_back(state, "a", NULL), STR("oldmore")));
}

/* Same size, same name, another file: as an editor saves it. */
static void sees_another_file_in_its_place(void **state) {
    FileStamp was;
    put("a", "old");
    put("b", "OLD");
    read_back(state, "a", &was);
    assert_int_equal(rename("b", "a"), 0);
    refuses(state, "a", &was, ERR_CHANGED);
    assert_true(str_eq(read_back(state, "a", NULL), STR("OLD")));
}

static void sees_that_it_is_gone(void **state) {
    FileStamp was;
    put("a", "old");
    read_back(state, "a", &was);
    assert_int_equal(unlink("a"), 0);
    refuses(state, "a", &was, ERR_CHANGED);
}

static void makes_no_new_file_over_an_old_one(void **state) {
    put("a", "old");
    refuses(state, "a", NULL, ERR_CHANGED);
    assert_true(str_eq(read_back(state, "a", NULL), STR("old")));
}

static void refuses_a_link_to_nothing(void **state) {
    assert_int_equal(symlink("nowhere", "a"), 0);
    refuses(state, "a", NULL, ERR_IO);
}

static void refuses_a_folder(void **state) {
    FileStamp was;
    assert_int_equal(mkdir("a", 0777), 0);
    assert_true(file_stamp("a", &was, &(Err){0}));
    refuses(state, "a", &was, ERR_IO);
    Err err = {0};
    Str text;
    assert_false(file_read(((Place *)*state)->arena, "a", &text, NULL, &err));
    assert_int_equal(err.kind, ERR_IO);
}

static void refuses_a_folder_that_is_not_there(void **state) {
    Err err = {0};
    (void)state;
    assert_false(file_write("none/a", STR("new"), NULL, &err));
    assert_int_equal(err.kind, ERR_IO);
    assert_int_equal(entries("."), 0);
}

/* The write breaks off half way, as on a full disk: a limit on the size of files gives that. */
static void leaves_nothing_when_the_disk_is_full(void **state) {
    static char much[4096];
    struct rlimit was_limit, small = {.rlim_cur = 1024};
    FileStamp was;
    Err err = {0};
    put("a", "old");
    read_back(state, "a", &was);
    memset(much, 'x', sizeof much);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &was_limit), 0);
    small.rlim_max = was_limit.rlim_max;
    signal(SIGXFSZ, SIG_IGN); /* else the limit ends the program */
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    bool written = file_write("a", (Str){much, sizeof much}, &was, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &was_limit), 0);
    assert_false(written);
    assert_int_equal(err.kind, ERR_IO);
    assert_true(str_eq(read_back(state, "a", NULL), STR("old")));
    assert_int_equal(entries("."), 1);
}

static void refuses_a_protected_file(void **state) {
    if (geteuid() == 0) {
        print_message("root may write anything: not checked\n");
        skip();
    }
    FileStamp was;
    put("a", "old");
    assert_int_equal(chmod("a", 0444), 0);
    read_back(state, "a", &was);
    refuses(state, "a", &was, ERR_IO);
}

static void refuses_names_too_long(void **state) {
    (void)state;
    char path[5000];
    memset(path, 'a', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    Err err = {0};
    assert_false(file_write(path, STR("x"), NULL, &err));
    assert_int_equal(err.kind, ERR_IO);
    err = (Err){0};
    assert_false(file_mkdirs(path, &err));
    assert_int_equal(err.kind, ERR_IO);
    /* the longest name a folder takes works: the temporary one is not longer */
    path[255] = '\0';
    put(path, "x");
}

static void *feed(void *path) {
    int fd = open(path, O_WRONLY);
    for (int i = 0; i < 5000; i++)
        if (write(fd, "chamber 1 = 44.8 cc\n", 20) != 20) break;
    close(fd);
    return NULL;
}

static void reads_a_pipe(void **state) {
    pthread_t thread;
    char name[] = "pipe";
    assert_int_equal(mkfifo(name, 0600), 0);
    assert_int_equal(pthread_create(&thread, NULL, feed, name), 0);
    Str text = read_back(state, name, NULL);
    pthread_join(thread, NULL);
    assert_int_equal(text.n, 100000);
}

static void refuses_more_than_file_max(void **state) {
    int fd = open("a", O_CREAT | O_WRONLY, 0600);
    Err err = {0};
    Str text = STR("untouched");
    assert_true(fd >= 0);
    if (ftruncate(fd, (off_t)FILE_MAX + 1) != 0) skip(); /* holes take no room */
    close(fd);
    assert_false(file_read(((Place *)*state)->arena, "a", &text, NULL, &err));
    assert_int_equal(err.kind, ERR_LIMIT);
    assert_true(str_eq(text, STR("untouched")));
}

static void says_what_is_not_there(void **state) {
    Err err = {0};
    Str text;
    FileStamp stamp;
    assert_false(file_exists("a"));
    assert_false(file_read(((Place *)*state)->arena, "a", &text, &stamp, &err));
    assert_int_equal(err.kind, ERR_IO);
    assert_non_null(strstr(err.text, "'a'"));
    err = (Err){0};
    assert_false(file_stamp("a", &stamp, &err));
    assert_int_equal(err.kind, ERR_IO);
}

static void makes_folders(void **state) {
    (void)state;
    Err err = {0};
    assert_true(file_mkdirs("a/b/c", &err));
    assert_true(file_mkdirs("a/b/c/", &err));
    assert_true(file_exists("a/b/c"));
    put("a/file", "x");
    assert_false(file_mkdirs("a/file", &err));
    assert_int_equal(err.kind, ERR_IO);
    err = (Err){0};
    assert_false(file_mkdirs("a/file/d", &err));
    assert_int_equal(err.kind, ERR_IO);
    err = (Err){0};
    assert_false(file_mkdirs("", &err));
}

/* A finished write leaves no temporary file of an earlier crash in its way. */
static void passes_by_a_leftover(void **state) {
    FileStamp was;
    char left[64];
    snprintf(left, sizeof left, ".thou-%ld-0.new", (long)getpid());
    put("kept", "left by a crash");
    assert_int_equal(rename("kept", left), 0);
    put("a", "old");
    read_back(state, "a", &was);
    Err err = {0};
    assert_true(file_write("a", STR("new"), &was, &err));
    assert_true(str_eq(read_back(state, "a", NULL), STR("new")));
    assert_true(str_eq(read_back(state, left, NULL), STR("left by a crash")));
}

static void left(const char *name, const char *text) {
    int fd = open(name, O_WRONLY | O_CREAT | O_EXCL, 0600);
    assert_true(fd >= 0 && file_write_all(fd, str_from(text)));
    close(fd);
}

static void made_days_ago(const char *name, int days) {
    struct timespec then[2] = {{.tv_sec = time(NULL) - days * 86400L}};
    then[1] = then[0];
    assert_int_equal(utimensat(AT_FDCWD, name, then, 0), 0);
}

/* The number of a process that ran and runs no more. */
static long an_ended_process(void) {
    pid_t child = fork();
    if (child == 0) _exit(0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    return child;
}

/* The next write takes away what one that was killed left, and nothing else. */
static void sweeps_what_was_left(void **state) {
    static const char *const others[] = {".thou-1x-0.new",        ".thou-0-0.new",
                                         ".thou-7777777-0.newer", ".thou-7777777-007.new",
                                         "thou-7777777-0.new",    ".thou-7777777-100.new",
                                         ".thou-7777777.new",     "a.new"};
    char ended[64], ended_too[64], own[64], old[64], written[64], folder[64], linked[64];
    long pid = an_ended_process();
    (void)state;
    (void)snprintf(ended, sizeof ended, FILE_TEMP, pid, 0U);
    (void)snprintf(ended_too, sizeof ended_too, FILE_TEMP, pid, 99U);
    (void)snprintf(written, sizeof written, FILE_TEMP, pid, 1U);
    (void)snprintf(folder, sizeof folder, FILE_TEMP, pid, 2U);
    (void)snprintf(linked, sizeof linked, FILE_TEMP, pid, 3U);
    (void)snprintf(own, sizeof own, FILE_TEMP, (long)getpid(), 7U);
    (void)snprintf(old, sizeof old, FILE_TEMP, (long)getpid(), 8U);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        left(others[i], "mine");
        made_days_ago(others[i], 30);
    }
    left(ended, "half a l");
    left(ended_too, "");
    left(own, "on its way");
    left(old, "of one that had this number before");
    made_days_ago(old, 2);
    left(written, "by another machine");
    made_days_ago(written, 2);
    int held = open(written, O_RDONLY);
    assert_int_equal(flock(held, LOCK_EX), 0);
    assert_int_equal(mkdir(folder, 0700), 0);
    assert_int_equal(symlink("a.new", linked), 0);
    put("a", "text");
    assert_false(file_exists(ended));
    assert_false(file_exists(ended_too));
    assert_false(file_exists(old));
    assert_true(file_exists(own));
    assert_true(file_exists(written));
    assert_true(file_exists(folder));
    assert_true(file_exists(linked));
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        assert_true(file_exists(others[i]));
    close(held);
    file_sweep(".", (int64_t)time(NULL) * 1000000000);
    assert_false(file_exists(written));
    file_sweep("nowhere", 0);
}

/* What file_write is made of, for files that are written in place. */
static void steps_by_themselves(void **state) {
    (void)state;
    static char longer[8192];
    Err err = {0};
    assert_true(file_mkdirs("d", &err));
    put("d/a", "");
    int fd = open("d/a", O_WRONLY | O_CLOEXEC);
    assert_true(file_write_all(fd, STR("one\ntwo\n")) && file_write_all(fd, (Str){0}));
    close(fd);
    assert_true(str_eq(read_back(state, "d/a", NULL), STR("one\ntwo\n")));
    fd = open("d/a", O_RDONLY | O_CLOEXEC);
    assert_false(file_write_all(fd, STR("x")));
    close(fd);
    static const char *const there[] = {"d/a", "d", "d/not-yet", "/a"};
    for (size_t i = 0; i < sizeof there / sizeof *there; i++)
        assert_true(file_sync_folder(there[i]));
    assert_false(file_sync_folder("nowhere/a"));
    assert_int_equal(errno, ENOENT);
    memset(longer, 'x', sizeof longer - 1);
    longer[sizeof longer - 2] = '/';
    assert_false(file_sync_folder(longer));
    assert_int_equal(errno, ENAMETOOLONG);
}

#define IN_PLACE(test) cmocka_unit_test_setup_teardown(test, enter, leave)

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_PLACE(writes_and_reads),
        IN_PLACE(writes_large_ones_whole),
        IN_PLACE(replaces),
        IN_PLACE(keeps_permissions),
        IN_PLACE(gives_new_files_what_the_umask_says),
        IN_PLACE(follows_links),
        IN_PLACE(sees_a_change_under_us),
        IN_PLACE(sees_another_file_in_its_place),
        IN_PLACE(sees_that_it_is_gone),
        IN_PLACE(makes_no_new_file_over_an_old_one),
        IN_PLACE(refuses_a_link_to_nothing),
        IN_PLACE(refuses_a_folder),
        IN_PLACE(refuses_a_folder_that_is_not_there),
        IN_PLACE(leaves_nothing_when_the_disk_is_full),
        IN_PLACE(refuses_a_protected_file),
        IN_PLACE(refuses_names_too_long),
        IN_PLACE(reads_a_pipe),
        IN_PLACE(refuses_more_than_file_max),
        IN_PLACE(says_what_is_not_there),
        IN_PLACE(makes_folders),
        IN_PLACE(passes_by_a_leftover),
        IN_PLACE(sweeps_what_was_left),
        IN_PLACE(steps_by_themselves),
    };
    return cmocka_run_group_tests_name("base_file", tests, NULL, NULL);
}
