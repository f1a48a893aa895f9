#include "base/err.h"
#include "base/finding.h"
#include "base/near.h"
#include "unit/rows.h"
#include <errno.h>

static const FindingKind bad = {"bad-number", LEVEL_ERROR, "a number that is none"};
static const FindingKind odd = {"odd-number", LEVEL_WARNING, "a number out of the way"};

static void err_is_set_once(void **state) {
    (void)state;
    Err err = {0};
    assert_false(err_set(&err, ERR_INDEX, "no %s", "index"));
    assert_false(err_set(&err, ERR_IO, "later"));
    errno = ENOENT;
    assert_false(err_errno(&err, ERR_IO, "later"));
    assert_int_equal(err.kind, ERR_INDEX);
    assert_string_equal(err.text, "no index");
    err = (Err){0};
    errno = ENOENT;
    err_errno(&err, ERR_IO, "cannot open '%s'", "a");
    assert_string_equal(err.text, "cannot open 'a': No such file or directory");
    err = (Err){0};
    err_errno(&err, ERR_IO, "%2000d", 1); /* cut off, never past the end */
    assert_int_equal(strlen(err.text), sizeof err.text - 1);
    assert_false(err_set(NULL, ERR_IO, "nobody asked"));
}

static void findings_sort_by_place(void **state) {
    (void)state;
    Findings f = {.arena = arena_new()};
    Source a = {.path = STR("a.job")}, b = {.path = STR("b.job")};
    finding_add(&f, &odd, &b, (Span){5, 1}, "6");
    finding_add(&f, &odd, &b, (Span){1, 1}, "4");
    finding_add(&f, &bad, &b, (Span){1, 1}, "3");
    finding_add(&f, &odd, &a, (Span){9, 1}, "2");
    finding_add(&f, &odd, &b, (Span){1, 1}, "5"); /* equal to 4, later */
    finding_add(&f, &bad, NULL, (Span){0, 0}, "1");
    findings_sort(&f);
    assert_int_equal(f.count, 6);
    assert_int_equal(f.errors, 2);
    assert_int_equal(f.warnings, 4);
    for (uint32_t i = 0; i < f.count; i++)
        assert_int_equal(f.items[i].message.p[0], (int)('1' + i));
    arena_free(f.arena);
}

/* Many in a mixed order come out in order, equal ones as they came in. */
static void findings_sort_is_stable(void **state) {
    (void)state;
    Findings f = {.arena = arena_new()};
    Source s[3] = {{.path = STR("a")}, {.path = STR("b")}, {.path = STR("c")}};
    for (uint32_t i = 0; i < 2500; i++)
        finding_add(&f, &bad, &s[i % 3], (Span){i * 7919 % 50, i}, "%u", i);
    findings_sort(&f);
    for (uint32_t i = 1; i < f.count; i++) {
        const Finding *x = &f.items[i - 1], *y = &f.items[i];
        int paths = str_cmp(x->source->path, y->source->path);
        assert_true(paths < 0 || (paths == 0 && x->span.off <= y->span.off));
        if (paths == 0 && x->span.off == y->span.off) assert_true(x->span.len < y->span.len);
    }
    arena_free(f.arena);
}

/* At the limit all are kept; one past it a last one says so; the counts go on. */
static void findings_have_a_limit_of_each_file(void **state) {
    (void)state;
    Findings f = {.arena = arena_new()};
    Source a = {.path = STR("a"), .text = STR("text")}, b = {.path = STR("b")};
    for (uint32_t i = 0; i < FINDINGS_MAX; i++) {
        finding_add(&f, &bad, &a, (Span){0, 0}, "a");
        if (i % 100 == 0) finding_add(&f, &odd, &b, (Span){0, 0}, "b");
    }
    assert_int_equal(f.count, FINDINGS_MAX + 10);
    Finding *past = finding_add(&f, &bad, &a, (Span){0, 0}, "a");
    assert_non_null(past);
    past->subject = STR("I1"); /* may be written to */
    assert_int_equal(f.count, FINDINGS_MAX + 11);
    for (int i = 0; i < 100000; i++)
        finding_add(&f, &bad, &a, (Span){0, 0}, "a");
    assert_int_equal(f.count, FINDINGS_MAX + 11);
    assert_true(arena_bytes(f.arena) < 4000000); /* the flood takes no memory */
    finding_add(&f, &odd, &b, (Span){0, 0}, "b");
    finding_add(&f, &bad, &a, (Span){0, 0}, "a");
    assert_int_equal(f.count, FINDINGS_MAX + 12);
    assert_int_equal(f.errors, FINDINGS_MAX + 100002);
    assert_int_equal(f.warnings, 11);
    findings_sort(&f);
    assert_ptr_equal(f.items[FINDINGS_MAX].kind, &finding_too_many);
    arena_free(f.arena);
}

static void finding_bears_long_messages(void **state) {
    (void)state;
    Findings f = {.arena = arena_new()};
    Finding *x = finding_add(&f, &bad, NULL, (Span){0, 0}, "%*d", 70000, 1);
    assert_int_equal(x->message.n, 70000);
    x = finding_add(&f, &bad, NULL, (Span){0, 0}, "%*d", 512, 1);
    assert_int_equal(strlen(x->message.p), 512);
    x = finding_add(&f, &bad, NULL, (Span){0, 0}, "%*d", 511, 1);
    assert_int_equal(strlen(x->message.p), 511);
    arena_free(f.arena);
}

typedef struct NearRow {
    const char *name, *other;
    unsigned most, distance;
} NearRow;

static const NearRow near_rows[] = {
    {"chamber", "chamber", 3, 0},
    {"chamber", "CHAMBER", 3, 0},
    {"chmber", "chamber", 3, 1},
    {"chammber", "chamber", 3, 1},
    {"chanber", "chamber", 3, 1},
    {"chabmer", "chamber", 3, 1},
    {"chmbr", "chamber", 3, 2},
    {"bind clearance", "clearance bind", 3, 1},
    {"bind clearence", "clearance bind", 3, 2},
    {"a b c", "c a b", 3, 1},
    {"spring load", "spring rate", 3, 4},
    {"", "", 3, 0},
    {"", "abc", 3, 3},
    {"", "abcd", 3, 4},
    {"abc", "", 0, 1},
    {"kitten", "sitting", 3, 3},
    {"kitten", "sitting", 2, 3},
};

static void near_row(void **state) {
    const NearRow *row = *state;
    Str a = str_from(row->name), b = str_from(row->other);
    assert_int_equal(near_distance(a, b, row->most), row->distance);
    assert_int_equal(near_distance(b, a, row->most), row->distance);
}

static void near_keeps_the_nearest(void **state) {
    (void)state;
    Arena *a = arena_new();
    Near n;
    near_start(&n, STR("chmber"));
    assert_int_equal(near_text(&n, a).n, 0);
    near_offer(&n, STR("spring load"));
    assert_int_equal(n.count, 0);
    near_offer(&n, STR("chambers"));
    assert_true(str_eq(near_text(&n, a), STR("did you mean 'chambers'?")));
    near_offer(&n, STR("chamber"));
    near_offer(&n, STR("chamber")); /* once is enough */
    assert_true(str_eq(near_text(&n, a), STR("did you mean 'chamber' or 'chambers'?")));
    near_offer(&n, STR("chaber"));
    near_offer(&n, STR("cumber"));
    near_offer(&n, STR("timber"));
    assert_true(str_eq(near_text(&n, a), STR("did you mean 'chamber', 'chaber' or 'cumber'?")));
    near_start(&n, STR("x"));
    near_offer(&n, STR("y")); /* nothing of one letter is near */
    assert_int_equal(n.count, 0);
    arena_free(a);
}

/* At the longest name and one past; a megabyte costs nothing. */
static void near_has_a_limit(void **state) {
    (void)state;
    static char text[1 << 20], again[1 << 20];
    memset(text, 'a', sizeof text);
    memset(again, 'a', sizeof again);
    again[3] = 'b';
    assert_int_equal(near_distance((Str){text, 64}, (Str){again, 64}, 3), 1);
    assert_int_equal(near_distance((Str){text, 65}, (Str){again, 65}, 3), 4);
    assert_int_equal(near_distance((Str){text, sizeof text}, (Str){again, sizeof again}, 3), 4);
}

int main(void) {
    static Rows all;
    rows_add(&all, "err: set once", err_is_set_once, NULL);
    rows_add(&all, "findings: by place", findings_sort_by_place, NULL);
    rows_add(&all, "findings: stable", findings_sort_is_stable, NULL);
    rows_add(&all, "findings: limit", findings_have_a_limit_of_each_file, NULL);
    rows_add(&all, "findings: long messages", finding_bears_long_messages, NULL);
    ROWS(&all, near_rows, near_row);
    rows_add(&all, "near: keeps the nearest", near_keeps_the_nearest, NULL);
    rows_add(&all, "near: limit", near_has_a_limit, NULL);
    return rows_run(&all, "base_finding");
}
