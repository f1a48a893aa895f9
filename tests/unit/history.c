/* src/history: ids that follow from what is handed in, what differs, versions, refusals. */
#include "history/history.h"
#include "base/file.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct Fixture {
    Arena *a;
    const char *root, *book;
    int64_t clock; /* ticks a minute at each record */
} Fixture;

static const HistorySettings recording = {HISTORY_RECORD,    true, NULL, "Ada Quill",
                                          "ada@example.org", NULL, NULL};
static const HistorySettings reading = {HISTORY_READ, true, NULL, NULL, NULL, NULL, NULL};
static const char *const everything[] = {"jobs/*.job", "parts/*.part", "shop.vocab"};

static int setup(void **state) {
    Fixture *f = calloc(1, sizeof *f);
    char root[] = "/tmp/thou-history-XXXXXX";
    bool made;
    Err err = {0};
    if (!f || !mkdtemp(root)) return -1;
    f->a = arena_new();
    f->root = arena_printf(f->a, "%s", root).p;
    f->book = arena_printf(f->a, "%s/book", root).p;
    f->clock = 1767225600; /* 2026-01-01 00:00 UTC */
    setenv("HOME", root, 1);
    setenv("XDG_CONFIG_HOME", root, 1);
    *state = f;
    return file_mkdirs(arena_printf(f->a, "%s/jobs", f->book).p, &err) &&
                   history_init(f->book, &reading, &made, &err) && made
               ? 0
               : -1;
}

static int teardown(void **state) {
    Fixture *f = *state;
    int rc = system(arena_printf(f->a, "rm -rf '%s'", f->root).p);
    arena_free(f->a);
    free(f);
    return rc;
}

static const char *in_book(Fixture *f, const char *path) {
    return arena_printf(f->a, "%s/%s", f->book, path).p;
}

static void put(Fixture *f, const char *path, const char *text) {
    FILE *out = fopen(in_book(f, path), "w");
    assert_non_null(out);
    fputs(text, out);
    fclose(out);
}

static History *open_book(Fixture *f, const HistorySettings *with) {
    History *h = NULL;
    Err err = {0};
    if (!history_open(f->book, with, &h, &err)) fail_msg("%s", err.text);
    return h;
}

/* Records one path as it stands (text NULL: deleted) and returns the id. */
static const char *record(Fixture *f, const char *path, const char *text, const char *message) {
    static char id[HISTORY_ID];
    Err err = {0};
    if (text) {
        put(f, path, text);
    } else {
        unlink(in_book(f, path));
    }
    HistoryFile file = {path, str_from(text), text == NULL};
    HistoryNote note = {message, f->clock += 60, 60};
    History *h = open_book(f, &recording);
    if (!history_record(h, &file, 1, &note, id, &err)) fail_msg("%s", err.text);
    history_close(h);
    return id;
}

/* "A jobs/a.job; D shop.vocab; " */
static const char *status(Fixture *f) {
    History *h = open_book(f, &reading);
    HistoryChanges found = {0};
    Err err = {0};
    Str text = STR("");
    if (!history_status(h, everything, 3, f->a, &found, &err)) fail_msg("%s", err.text);
    for (size_t i = 0; i < found.count; i++) {
        text = arena_printf(f->a, "%.*s%c %s; ", STR_ARG(text), "ACD!"[found.items[i].kind],
                            found.items[i].path);
    }
    history_close(h);
    return text.n ? text.p : "";
}

/* The ids are what git itself gives: made with git 2.39.5 by `git commit` under
 * GIT_AUTHOR_DATE and GIT_COMMITTER_DATE of the same times (tests/history_git.sh does that again
 * and compares). */
static void test_golden_ids(void **state) {
    Fixture *f = *state;
    assert_string_equal(record(f, "jobs/a.job", "bind height I3 = 1.412 in\n", "First"),
                        "00d5831359b4c5936639da04661f0c1de53079ef");
    assert_string_equal(record(f, "jobs/a.job", "bind height I3 = 1.142 in\n", "Second\n\nWhy.\n"),
                        "1ccbc84916697a49e1ef0bc1af32b8bad4774de8");
    assert_string_equal(record(f, "jobs/a.job", NULL, "Third"),
                        "1183b24da7c26637d77edfa649db07310665fa03");
}

static void test_status(void **state) {
    Fixture *f = *state;
    assert_string_equal(status(f), "");
    put(f, "jobs/b.job", "b");
    put(f, "jobs/a.job", "a");
    put(f, "jobs/.hidden.job", "no");
    put(f, "jobs/note.txt", "no");
    put(f, "shop.vocab", "v");
    assert_string_equal(status(f), "A jobs/a.job; A jobs/b.job; A shop.vocab; ");
    record(f, "jobs/a.job", "a", "a");
    record(f, "shop.vocab", "v", "v");
    assert_string_equal(status(f), "A jobs/b.job; ");
    put(f, "jobs/a.job", "A"); /* the same size, within the same second */
    unlink(in_book(f, "shop.vocab"));
    assert_string_equal(status(f), "C jobs/a.job; A jobs/b.job; D shop.vocab; ");
    put(f, "jobs/a.job", "a");
    assert_string_equal(status(f), "A jobs/b.job; D shop.vocab; ");
    assert_int_equal(chmod(in_book(f, "jobs/a.job"), 0755), 0);
    assert_string_equal(status(f), "C jobs/a.job; A jobs/b.job; D shop.vocab; ");
    unlink(in_book(f, "jobs/a.job"));
    assert_int_equal(symlink("b.job", in_book(f, "jobs/a.job")), 0);
    assert_string_equal(status(f), "! jobs/a.job; A jobs/b.job; D shop.vocab; ");
}

static void refuses(Fixture *f, const HistoryFile *files, size_t n, ErrKind kind,
                    const char *part) {
    HistoryNote note = {"No", f->clock, 0};
    char id[HISTORY_ID] = "untouched";
    Err err = {0};
    History *h = open_book(f, &recording);
    assert_false(history_record(h, files, n, &note, id, &err));
    if (!strstr(err.text, part)) fail_msg("%s", err.text);
    assert_int_equal(err.kind, kind);
    assert_string_equal(id, "untouched");
    history_close(h);
}

static void test_record_refuses(void **state) {
    Fixture *f = *state;
    record(f, "jobs/a.job", "a\n", "First");
    HistoryFile same = {"jobs/a.job", STR("a\n"), false};
    refuses(f, &same, 1, ERR_USAGE, "nothing has changed");
    refuses(f, NULL, 0, ERR_USAGE, "nothing has changed");
    HistoryFile other = {"jobs/a.job", STR("b\n"), false};
    refuses(f, &other, 1, ERR_CHANGED, "jobs/a.job changed");
    HistoryFile gone = {"jobs/none.job", STR("b\n"), false};
    refuses(f, &gone, 1, ERR_CHANGED, "jobs/none.job changed");
    HistoryFile there = {"jobs/a.job", STR(""), true};
    refuses(f, &there, 1, ERR_CHANGED, "jobs/a.job changed");
    HistoryFile never = {"jobs/none.job", STR(""), true};
    refuses(f, &never, 1, ERR_USAGE, "jobs/none.job is not in the last record");
    assert_int_equal(symlink("a.job", in_book(f, "jobs/l.job")), 0);
    HistoryFile linked = {"jobs/l.job", STR("a\n"), false};
    refuses(f, &linked, 1, ERR_HISTORY, "symbolic link");
    assert_string_equal(status(f), "! jobs/l.job; ");
}

/* Two open books: what the second records is seen by the first, which then refuses. */
static void test_record_behind_the_back(void **state) {
    Fixture *f = *state;
    record(f, "jobs/a.job", "a\n", "First");
    History *h = open_book(f, &recording);
    record(f, "jobs/a.job", "b\n", "Second");
    HistoryFile file = {"jobs/a.job", STR("c\n"), false};
    HistoryNote note = {"Third", f->clock, 0};
    char id[HISTORY_ID];
    Err err = {0};
    put(f, "jobs/a.job", "c\n");
    assert_false(history_record(h, &file, 1, &note, id, &err));
    assert_int_equal(err.kind, ERR_CHANGED);
    history_close(h);
    assert_string_equal(status(f), "C jobs/a.job; ");
}

/* One handle records again and again. */
static void test_record_goes_on(void **state) {
    Fixture *f = *state;
    History *h = open_book(f, &recording);
    Err err = {0};
    char id[HISTORY_ID];
    for (int i = 0; i < 3; i++) {
        Str text = arena_printf(f->a, "reading %d\n", i), back;
        bool found;
        put(f, "jobs/a.job", text.p);
        HistoryFile file = {"jobs/a.job", text, false};
        HistoryNote note = {"Again", f->clock += 60, 0};
        assert_true(history_record(h, &file, 1, &note, id, &err));
        assert_true(history_recorded(h, "jobs/a.job", f->a, &back, &found, &err));
        assert_true(found && str_eq(back, text));
    }
    HistoryVersions all;
    assert_true(history_versions(h, "jobs/a.job", 0, f->a, &all, &err));
    assert_int_equal(all.count, 3);
    assert_true(history_versions(h, "jobs/a.job", 2, f->a, &all, &err));
    assert_int_equal(all.count, 2);
    history_close(h);
}

static void count_call(void *ctx, uint32_t done, uint32_t all) {
    uint32_t *last = ctx;
    assert_true(done >= *last && all == 0);
    *last = done;
}

/* The first look goes through every record and says how far it is; the next has nothing to do. */
static void test_told_of_the_trail(void **state) {
    Fixture *f = *state;
    uint32_t last = 0;
    HistorySettings with = recording;
    with.store = in_book(f, ".thou");
    with.told = count_call;
    with.told_ctx = &last;
    History *h = open_book(f, &with);
    Err err = {0};
    char id[HISTORY_ID];
    for (int i = 0; i < 4; i++) {
        Str text = arena_printf(f->a, "reading %d\n", i);
        put(f, "jobs/a.job", text.p);
        HistoryFile file = {"jobs/a.job", text, false};
        HistoryNote note = {"Again", f->clock += 60, 0};
        assert_true(history_record(h, &file, 1, &note, id, &err));
    }
    HistoryVersions all;
    assert_true(history_versions(h, "jobs/a.job", 0, f->a, &all, &err));
    assert_int_equal(all.count, 4);
    assert_int_equal(last, 4);
    history_close(h);
}

/* The version in force, as "SUMMARY:BYTES"; the error's text when there is none. */
static const char *at(Fixture *f, History *h, const char *when) {
    HistoryVersion v;
    Str bytes;
    Err err = {0};
    if (!history_version_at(h, "jobs/a.job", str_from(when), f->a, &v, &err)) {
        return arena_printf(f->a, "%s", err.text).p;
    }
    assert_true(history_bytes(h, &v, f->a, &bytes, &err));
    return arena_printf(f->a, "%.*s:%.*s", STR_ARG(v.summary), STR_ARG(bytes)).p;
}

static void test_version_at(void **state) {
    Fixture *f = *state;
    char first[HISTORY_ID];
    f->clock = 1767311940 - 60; /* recorded at 2026-01-01 23:59 UTC: 2026-01-02 00:59 there */
    snprintf(first, sizeof first, "%s", record(f, "jobs/a.job", "1", "One"));
    f->clock += 86400;
    record(f, "jobs/other.job", "x", "Other");
    record(f, "jobs/a.job", "2", "Two");
    f->clock += 86400;
    record(f, "jobs/a.job", NULL, "Gone");
    History *h = open_book(f, &reading);
    assert_string_equal(at(f, h, "2026-01-01"), "jobs/a.job is in no record up to 2026-01-01");
    assert_string_equal(at(f, h, "2026-01-02"), "One:1");
    assert_string_equal(at(f, h, "2026-01-02 00:58"),
                        "jobs/a.job is in no record up to 2026-01-02 00:58");
    assert_string_equal(at(f, h, "2026-01-02 00:59"), "One:1");
    assert_string_equal(at(f, h, "2026-01-03"), "Two:2");
    assert_string_equal(at(f, h, "2030-01-01"), "Gone:");
    assert_string_equal(at(f, h, first), "One:1");
    first[4] = '\0';
    assert_string_equal(at(f, h, first), "One:1");
    assert_string_equal(at(f, h, "00000000"), "no record's id begins with 00000000");
    assert_non_null(strstr(at(f, h, "last week"), "neither a date"));
    assert_non_null(strstr(at(f, h, "2026-02-30"), "neither a date"));
    assert_non_null(strstr(at(f, h, ""), "neither a date"));
    history_close(h);
}

static void test_no_commit_yet(void **state) {
    Fixture *f = *state;
    History *h = open_book(f, &reading);
    HistoryVersions all = {.count = 9};
    Str bytes;
    bool found = true;
    Err err = {0};
    assert_true(history_versions(h, "jobs/a.job", 0, f->a, &all, &err));
    assert_int_equal(all.count, 0);
    assert_true(history_recorded(h, "jobs/a.job", f->a, &bytes, &found, &err));
    assert_false(found);
    assert_string_equal(at(f, h, "2026-01-01"), "jobs/a.job is in no record up to 2026-01-01");
    history_close(h);
}

static void test_nobody_named(void **state) {
    Fixture *f = *state;
    HistorySettings nobody = {HISTORY_RECORD, true, NULL, NULL, "ada@example.org", NULL, NULL};
    History *h = NULL;
    Err err = {0};
    assert_false(history_open(f->book, &nobody, &h, &err));
    assert_null(h);
    assert_non_null(strstr(err.text, "git config --global user.name"));
    history_close(open_book(f, &reading));
}

static void test_gitignore(void **state) {
    Fixture *f = *state;
    static const struct {
        const char *before, *after;
    } rows[] = {
        {"", ".thou/\n.thou-*.new\n"},
        {"*.bak", "*.bak\n.thou/\n.thou-*.new\n"},
        {"*.bak\n", "*.bak\n.thou/\n.thou-*.new\n"},
        {".thou\n*.bak\n", ".thou\n*.bak\n.thou-*.new\n"},
        {".thou-*.new\n.thou", ".thou-*.new\n.thou"},
        {"/.thou/\r\n.thou-*.new\r\n", "/.thou/\r\n.thou-*.new\r\n"},
        {"# .thou/\n", "# .thou/\n.thou/\n.thou-*.new\n"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool made = true;
        Err err = {0};
        Str text;
        put(f, ".gitignore", rows[i].before);
        assert_true(history_init(f->book, &reading, &made, &err));
        assert_false(made);
        assert_true(file_read(f->a, in_book(f, ".gitignore"), &text, NULL, &err));
        assert_string_equal(arena_str(f->a, text).p, rows[i].after);
    }
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(test_golden_ids),     TEST(test_status),
        TEST(test_record_refuses), TEST(test_record_behind_the_back),
        TEST(test_record_goes_on), TEST(test_version_at),
        TEST(test_no_commit_yet),  TEST(test_nobody_named),
        TEST(test_gitignore),      TEST(test_told_of_the_trail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
