#include "base/arena.h"
#include "base/buf.h"
#include "unit/rows.h"
#include <float.h>
#include <math.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

static bool all_zero(const unsigned char *p, size_t n) {
    while (n && *p == 0)
        p++, n--;
    return n == 0;
}

/* Sizes of every kind, twice with a reset between: aligned, zeroed, apart. */
static void arena_gives_zeroed_memory(void **state) {
    (void)state;
    Arena *a = arena_new();
    for (int round = 0; round < 3; round++) {
        for (size_t i = 0; i < 4000; i++) {
            size_t size = i % 500 == 499 ? 300000 : i * 7 % 900;
            unsigned char *p = arena_alloc(a, size);
            assert_int_equal((uintptr_t)p % _Alignof(max_align_t), 0);
            assert_true(all_zero(p, size));
            memset(p, 0xAA, size);
        }
        arena_reset(a);
    }
    arena_free(a);
    arena_free(NULL);
}

#ifndef THOU_ARENA_DEBUG
static void arena_reset_keeps_its_blocks(void **state) {
    (void)state;
    Arena *a = arena_new();
    assert_int_equal(arena_bytes(a), 0);
    for (int i = 0; i < 1000; i++)
        arena_alloc(a, 5000);
    size_t held = arena_bytes(a);
    assert_true(held >= 5000000);
    for (int round = 0; round < 5; round++) {
        arena_reset(a);
        for (int i = 0; i < 1000; i++)
            arena_alloc(a, 5000);
    }
    assert_int_equal(arena_bytes(a), held);
    arena_free(a);
}
#endif

static void arena_copies_and_formats(void **state) {
    (void)state;
    Arena *a = arena_new();
    Str s = arena_str(a, STR("44.8 cc"));
    assert_string_equal(s.p, "44.8 cc");
    assert_int_equal(arena_str(a, (Str){NULL, 0}).n, 0);
    s = arena_printf(a, "%s %d", "chamber", 3);
    assert_string_equal(s.p, "chamber 3");
    assert_int_equal(s.n, 9);
    s = arena_printf(a, "%*d", 100000, 7);
    assert_int_equal(s.n, 100000);
    arena_free(a);
}

static void arena_grows_arrays(void **state) {
    (void)state;
    Arena *a = arena_new();
    int *items = NULL;
    uint32_t count = 0, room = 0;
    for (int i = 0; i < 10000; i++) {
        arena_grow(a, items, count, room);
        items[count++] = i;
    }
    for (int i = 0; i < 10000; i++)
        assert_int_equal(items[i], i);
    arena_free(a);
}

/* Runs it in a child and gives what the child said on stderr; fails if it did not abort. */
static void aborts(void (*act)(Arena *a), const char *said) {
    int ends[2];
    char text[200] = "";
    int status;
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        signal(SIGABRT, SIG_DFL); /* cmocka catches it */
        dup2(ends[1], STDERR_FILENO);
        act(arena_new());
        _exit(0);
    }
    close(ends[1]);
    ssize_t n = read(ends[0], text, sizeof text - 1);
    assert_true(n >= 0);
    close(ends[0]);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT);
    assert_string_equal(text, said);
}

static volatile size_t huge = SIZE_MAX; /* volatile: the compiler would see it coming */

static void ask_overflow(Arena *a) {
    arena_array(a, huge / 2, 3);
}
static void ask_huge(Arena *a) {
    arena_alloc(a, huge);
}
static void ask_too_much(Arena *a) {
    arena_alloc(a, huge / 4);
}

static void arena_aborts_without_memory(void **state) {
    (void)state;
    aborts(ask_overflow, "thou: out of memory\n");
    aborts(ask_huge, "thou: out of memory\n");
#ifndef __SANITIZE_ADDRESS__
    aborts(ask_too_much, "thou: out of memory\n");
#else
    (void)ask_too_much; /* the sanitizer ends the program in its own way */
#endif
}

static void buf_builds(void **state) {
    (void)state;
    Buf b = {0};
    assert_int_equal(buf_str(&b).n, 0);
    buf_add(&b, (Str){NULL, 0});
    buf_puts(&b, "chamber");
    buf_putc(&b, ' ');
    buf_printf(&b, "%d", 3);
    buf_fill(&b, '.', 3);
    assert_string_equal(b.p, "chamber 3...");
    buf_clear(&b);
    assert_int_equal(b.n, 0);
    buf_printf(&b, "%*d", 100000, 1); /* more than there was room for */
    assert_int_equal(b.n, 100000);
    assert_int_equal(strlen(b.p), 100000);
    buf_release(&b);
    buf_release(&b);
    assert_null(b.p);
}

/* After a failure every function does nothing, and says so to the end. */
static void buf_failure_sticks(void **state) {
    (void)state;
    Buf b = {0};
    buf_puts(&b, "kept");
    buf_fill(&b, 'x', BUF_MAX);
    assert_true(b.failed);
    buf_add(&b, STR("a"));
    buf_puts(&b, "a");
    buf_putc(&b, 'a');
    buf_fill(&b, 'a', 1);
    buf_printf(&b, "a");
    buf_fixed(&b, 1, 1);
    buf_double(&b, 1);
    buf_json(&b, STR("a"));
    buf_html(&b, STR("a<"));
    buf_csv(&b, STR("a,"));
    assert_true(b.failed);
    assert_string_equal(b.p, "kept");
    buf_clear(&b);
    assert_false(b.failed);
    buf_puts(&b, "again");
    assert_string_equal(b.p, "again");
    buf_release(&b);
}

typedef struct FixedRow {
    const char *name; /* what is written */
    double value;
    int places;
} FixedRow;

static const FixedRow fixed_rows[] = {
    {"1.720", 1.72, 3},
    {"2.050", 2.05, 3},
    {"44.8", 44.8, 1},
    {"0.00", -0.001, 2},
    {"0", -0.4, 0},
    {"0.00", -0.0, 2},
    {"-0.01", -0.006, 2},
    {"-1", -0.6, 0},
    {"183", 183, 0},
    {"183", 183, -1},
    {"-10.0", -10, 1},
    {"0.500", 0.5, 3},
    {"1000000.0", 1e6, 1},
    {"113.5", 113.45, 1},
    {"113.5", 113.45 - 1e-12, 1},
    {"113.4", 113.4494, 1},
    {"-0.063", -0.0625, 3},
    {"3", 2.5, 0},
    {"123456789012345680", 123456789012345678, 0},
};

static void fixed_row(void **state) {
    const FixedRow *row = *state;
    Buf b = {0};
    buf_puts(&b, "<");
    buf_fixed(&b, row->value, row->places);
    assert_string_equal(b.p + 1, row->name);
    buf_release(&b);
}

static void double_reads_back(void **state) {
    (void)state;
    static const double values[] = {0.1, 1.0 / 3, 44.8, 5e-324, DBL_MAX, DBL_MIN, 1e22, -0.5, 0};
    Buf b = {0};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        buf_clear(&b);
        buf_double(&b, values[i]);
        double back;
        assert_int_equal(sscanf(b.p, "%lf", &back), 1);
        assert_true(back == values[i]);
    }
    buf_clear(&b);
    buf_double(&b, 44.8);
    assert_string_equal(b.p, "44.8");
    buf_clear(&b);
    buf_double(&b, NAN);
    assert_non_null(strstr(b.p, "nan"));
    buf_release(&b);
}

typedef struct EscapeRow {
    const char *name;
    void (*escape)(Buf *b, Str s);
    Str in;
    const char *out;
} EscapeRow;

#define S(x) \
    { "" x, sizeof(x) - 1 }
static const EscapeRow escape_rows[] = {
    {"json plain", buf_json, S("44.8 \u00B5m"), "\"44.8 \u00B5m\""},
    {"json empty", buf_json, S(""), "\"\""},
    {"json marks", buf_json, S("1.5\" \\ \n\r\t"), "\"1.5\\\" \\\\ \\n\\r\\t\""},
    {"json controls", buf_json, S("\0\x1F\x7F"), "\"\\u0000\\u001f\x7F\""},
    {"json no text", buf_json, S("a\xFFz\xC3"), "\"a\uFFFDz\uFFFD\""},
    {"json a real U+FFFD", buf_json, S("\uFFFD"), "\"\uFFFD\""},
    {"html", buf_html, S("<a href=\"x\">'&'"), "&lt;a href=&quot;x&quot;&gt;&#39;&amp;&#39;"},
    {"csv plain", buf_csv, S("spring load"), "spring load"},
    {"csv comma", buf_csv, S("a,b"), "\"a,b\""},
    {"csv quote", buf_csv, S("1.5\""), "\"1.5\"\"\""},
    {"csv line", buf_csv, S("a\nb"), "\"a\nb\""},
    {"csv empty", buf_csv, S(""), ""},
};

static void escape_row(void **state) {
    const EscapeRow *row = *state;
    Buf b = {0};
    row->escape(&b, row->in);
    assert_true(str_eq(buf_str(&b), str_from(row->out)));
    buf_release(&b);
}

int main(void) {
    static Rows all;
    rows_add(&all, "arena: zeroed", arena_gives_zeroed_memory, NULL);
#ifndef THOU_ARENA_DEBUG
    rows_add(&all, "arena: reset", arena_reset_keeps_its_blocks, NULL);
#endif
    rows_add(&all, "arena: texts", arena_copies_and_formats, NULL);
    rows_add(&all, "arena: arrays", arena_grows_arrays, NULL);
    rows_add(&all, "arena: no memory", arena_aborts_without_memory, NULL);
    rows_add(&all, "buf: builds", buf_builds, NULL);
    rows_add(&all, "buf: failure sticks", buf_failure_sticks, NULL);
    ROWS(&all, fixed_rows, fixed_row);
    rows_add(&all, "buf: doubles read back", double_reads_back, NULL);
    ROWS(&all, escape_rows, escape_row);
    return rows_run(&all, "base_memory");
}
