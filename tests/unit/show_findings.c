/* Findings as text (the form of the GNU Coding Standards, "Formatting Error Messages") and as JSON.
 */
#include "show/findings.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static const FindingKind unknown = {"unknown-tag", LEVEL_ERROR, ""};
static const FindingKind gap = {"gap", LEVEL_WARNING, ""};

typedef struct Log {
    Arena *arena;
    Source source;
    Findings findings;
} Log;

static Log log_of(const char *text) {
    Log l = {.arena = arena_new()};
    l.source = (Source){.path = STR("jobs/26-014.job"), .text = str_from(text)};
    l.findings.arena = l.arena;
    return l;
}

/* Where `word` stands in the text. */
static Span at(const Log *l, const char *word) {
    Str w = str_from(word);
    return (Span){(uint32_t)str_find(l->source.text, w, 0), (uint32_t)w.n};
}

static void expect_text(const Log *l, const char *want) {
    Buf out = {0};
    findings_text(&out, &l->findings, (TextStyle){0});
    assert_string_equal(out.p, want);
    buf_release(&out);
}

static void line_and_caret(void **state) {
    (void)state;
    Log l = log_of("job = 26-014\nchambre 3 = 44.9 cc\r\nchamber 9 = 1 cc");
    finding_add(&l.findings, &unknown, &l.source, at(&l, "chambre"), "no tag '%s'", "chambre");
    finding_add(&l.findings, &gap, &l.source, at(&l, "9 = 1"), "no cylinder 9");
    expect_text(&l, "jobs/26-014.job:2:1: error: no tag 'chambre' [unknown-tag]\n"
                    "  | chambre 3 = 44.9 cc\n"
                    "  | ^^^^^^^\n"
                    "jobs/26-014.job:3:9: warning: no cylinder 9 [gap]\n"
                    "  | chamber 9 = 1 cc\n"
                    "  |         ^^^^^\n");
    arena_free(l.arena);
}

/* A tab is one column in the message, as editors count, and goes to the next stop on the screen. */
static void tabs_and_utf8(void **state) {
    (void)state;
    Log l = log_of("\xEF\xBB\xBF"
                   "B\xC3\xB6ttcher\tchambre = 1");
    finding_add(&l.findings, &unknown, &l.source, at(&l, "chambre"), "unknown");
    expect_text(&l, "jobs/26-014.job:1:10: error: unknown [unknown-tag]\n"
                    "  | B\xC3\xB6ttcher        chambre = 1\n"
                    "  |                 ^^^^^^^\n");
    arena_free(l.arena);
}

static void control_characters_do_not_reach_the_screen(void **state) {
    (void)state;
    Log l = log_of("a\x1b[31m = \xFF");
    finding_add(&l.findings, &unknown, &l.source, at(&l, "="), "unknown");
    expect_text(&l, "jobs/26-014.job:1:8: error: unknown [unknown-tag]\n"
                    "  | a?[31m = \xEF\xBF\xBD\n"
                    "  |        ^\n");
    arena_free(l.arena);
}

/* Whatever the line, what is shown of it fits 80 columns and the caret is under the word. */
static void long_lines_are_cut(void **state) {
    (void)state;
    for (size_t before = 0; before < 400; before += 7) {
        Arena *a = arena_new();
        Buf text = {0};
        buf_fill(&text, 'a', before);
        buf_puts(&text, " WRONG ");
        buf_fill(&text, 'b', 300);
        Source source = {.path = STR("x.job"), .text = buf_str(&text)};
        Findings f = {.arena = a};
        finding_add(&f, &unknown, &source, (Span){(uint32_t)before + 1, 5}, "m");
        Buf out = {0};
        findings_text(&out, &f, (TextStyle){0});
        Str line = {strchr(out.p, '\n') + 1, 0};
        const char *carets = strchr(line.p, '\n') + 1;
        line.n = (size_t)(carets - line.p) - 1;
        assert_true(line.n <= 80);
        size_t column = (size_t)(strchr(carets, '^') - carets);
        assert_memory_equal(line.p + column, "WRONG", 5);
        assert_string_equal(carets + column, "^^^^^\n");
        buf_release(&out);
        buf_release(&text);
        arena_free(a);
    }
}

/* On a terminal a message folds between words, and the line below is cut to the same width. */
static void folds_at_the_width(void **state) {
    (void)state;
    Log l = log_of("installed height I1 = 1.7200 in and more");
    finding_add(&l.findings, &unknown, &l.source, at(&l, "1.7200"),
                "one two three four five six seven");
    Buf out = {0};
    findings_text(&out, &l.findings, (TextStyle){.width = 36});
    assert_string_equal(out.p, "jobs/26-014.job:1:23: error: one two\n"
                               "    three four five six seven\n"
                               "    [unknown-tag]\n"
                               "  | ...ed height I1 = 1.7200 in...\n"
                               "  |                   ^^^^^^\n");
    buf_release(&out);
    arena_free(l.arena);
}

static void at_the_ends(void **state) {
    (void)state;
    Log l = log_of("");
    finding_add(&l.findings, &gap, &l.source, (Span){0, 0}, "an empty log");
    expect_text(&l, "jobs/26-014.job:1:1: warning: an empty log [gap]\n  | \n  | ^\n");
    arena_free(l.arena);
    l = log_of("a = 1\n");
    finding_add(&l.findings, &gap, &l.source, (Span){6, 0}, "the end");
    finding_add(&l.findings, &gap, &l.source, (Span){999, 9}, "past the end");
    expect_text(&l, "jobs/26-014.job:2:1: warning: the end [gap]\n  | \n  | ^\n"
                    "jobs/26-014.job:2:1: warning: past the end [gap]\n  | \n  | ^\n");
    arena_free(l.arena);
}

static void json(void **state) {
    (void)state;
    Log l = log_of("a\nlimit \"x\"");
    Finding *f = finding_add(&l.findings, &gap, &l.source, at(&l, "\"x\""), "says \"x\"");
    f->tag = STR("bind clearance");
    f->margin = STR("-.008");
    Buf out = {0};
    findings_json(&out, &l.findings);
    assert_string_equal(out.p,
                        "{\"file\":\"jobs/26-014.job\",\"line\":2,\"col\":7,\"level\":\"warning\","
                        "\"code\":\"gap\",\"message\":\"says \\\"x\\\"\",\"job\":\"26-014\","
                        "\"tag\":\"bind clearance\",\"margin\":\"-.008\"}\n");
    buf_release(&out);
    arena_free(l.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(line_and_caret),
        cmocka_unit_test(tabs_and_utf8),
        cmocka_unit_test(control_characters_do_not_reach_the_screen),
        cmocka_unit_test(long_lines_are_cut),
        cmocka_unit_test(folds_at_the_width),
        cmocka_unit_test(at_the_ends),
        cmocka_unit_test(json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
