/* The index below the command: its statements, its conditions, how it counts and cuts text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "index/query.h"

#include <math.h>
#include <unistd.h>

typedef struct Shop {
    char dir[32];
    Book *book;
    Index *index;
    Arena *arena;
} Shop;

static int open_shop(void **state) {
    static const char log[] = "job = 26-001\nlayout = inline\ncylinders = 2\n"
                              "valves per cylinder = 2\n\n2026-01-02  Heads\nAll clean.\n"
                              "chamber 1..2 = 44.50 44.9 cc\n";
    static Shop shop;
    shop = (Shop){.dir = "/tmp/thou-index-XXXXXX", .arena = arena_new()};
    Err err = {0};
    IndexNews news;
    IndexPlan plan = {.now_ns = 1};
    if (!mkdtemp(shop.dir)) return 1;
    Str jobs = arena_printf(shop.arena, "%s/jobs", shop.dir);
    Str job = arena_printf(shop.arena, "%s/26-001.job", jobs.p);
    bool ok = file_mkdirs(jobs.p, &err) && file_write(job.p, str_from(log), NULL, &err) &&
              book_open(shop.dir, &shop.book, &err) &&
              index_open(shop.book, &plan, &shop.index, &news, &err);
    if (!ok) print_error("%s\n", err.text);
    *state = &shop;
    return !ok || news.read != 1;
}

static int close_shop(void **state) {
    Shop *s = *state;
    index_close(s->index);
    book_close(s->book);
    Str remove_it = arena_printf(s->arena, "rm -rf %s", s->dir);
    int rc = system(remove_it.p);
    arena_free(s->arena);
    return rc;
}

static void every_statement_prepares(void **state) {
    Shop *s = *state;
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        Err err = {0};
        if (!db_statement(s->index, (StatementId)i, &err))
            fail_msg("%s: %s", statement_sql[i], err.text);
    }
}

static void every_view_can_be_read(void **state) {
    static const char *const views[] = {"jobs",  "entries", "readings", "facts",   "stages",
                                        "parts", "state",   "computed", "repeats", "repeatability"};
    Shop *s = *state;
    for (size_t i = 0; i < sizeof views / sizeof *views; i++) {
        Err err = {0};
        Str sql = arena_printf(s->arena, "SELECT * FROM %s", views[i]);
        if (!db_exec(s->index, sql.p, &err)) fail_msg("%s", err.text);
    }
}

/* Values are compared in thousandths of the last shown place: less is equality. */
static void numbers_are_counted(void **state) {
    Shop *s = *state;
    const Vocab *v = book_vocab(s->book);
    const Tag *tag = &v->tags[vocab_find(v, STR("bind clearance"))];
    assert_int_equal(tag->places, 3);
    assert_int_equal(thousandths(tag, unit_to_si(tag->unit, 0.070)), 70000);
    assert_int_equal(thousandths(tag, unit_to_si(tag->unit, 0.0700004)), 70000);
    assert_int_equal(thousandths(tag, unit_to_si(tag->unit, 0.069999)), 69999);
    assert_true(thousandths(tag, NAN) == LAST_MISSING);
    assert_true(thousandths(tag, INFINITY) < LAST_MISSING);
    assert_true(thousandths(tag, -INFINITY) > INT64_MIN);
}

static void conditions_are_read(void **state) {
    static const struct {
        const char *typed;
        int64_t low, high;
    } rows[] = {
        {"bind clearance < .070", INT64_MIN, 69999},
        {"bind clearance <= .070", INT64_MIN, 70000},
        {"bind clearance > .070", 70001, INT64_MAX - 1},
        {"bind clearance >= .070", 70000, INT64_MAX - 1},
        {"bind clearance = .070", 70000, 70000},
        {"bind clearance<.070", INT64_MIN, 69999},
        {"bind clearance = .070 .. .080 in", 70000, 80000},
        {"bind clearance .070 .. .080", 70000, 80000},
        {"bind clearance I3 .070 .. .080", 70000, 80000},
        {"bind clearance = .070 +/- .005", 65000, 75000},
        {"bind clearance < 1.778 mm", INT64_MIN, 69999}, /* .070 in exactly: 1 in is 25.4 mm */
    };
    Shop *s = *state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Ask ask = {0};
        Err err = {0};
        Str typed = str_from(rows[i].typed);
        if (!ask_add(&ask, s->book, typed, s->arena, &err))
            fail_msg("%s: %s", rows[i].typed, err.text);
        assert_int_equal(ask.condition_count, 1);
        assert_true(ask.conditions[0].low == rows[i].low);
        assert_true(ask.conditions[0].high == rows[i].high);
    }
}

static void words_are_no_conditions(void **state) {
    static const char *const typed[] = {"HL-1450", "a=b", "one two", "1 .. 2", "and .. so on"};
    Shop *s = *state;
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        Ask ask = {0};
        Err err = {0};
        assert_true(ask_add(&ask, s->book, str_from(typed[i]), s->arena, &err));
        assert_int_equal(ask.word_count, 1);
    }
}

static void items_are_told_from_words(void **state) {
    static const struct {
        const char *word, *set; /* NULL: none */
    } rows[] = {{"S31#7", "S31"}, {"#7", ""},   {"S31#", NULL},      {"S31#7a", NULL},
                {"S31", NULL},    {"7", NULL},  {"HL-1#16", "HL-1"}, {"S31#1..4", NULL},
                {"-#1", NULL},    {"##1", NULL}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Str set;
        bool item = item_word(str_from(rows[i].word), &set);
        if (item != (rows[i].set != NULL) || (item && !str_eq(set, str_from(rows[i].set))))
            fail_msg("%s", rows[i].word);
    }
}

static void subjects_are_matched(void **state) {
    static const struct {
        const char *typed, *of, *name;
        bool matches;
    } rows[] = {
        {"", "", "I3", true},         {"I3", "", "I3", true},         {"i3", "", "I3", true},
        {"I3", "", "I30", false},     {"I", "", "I3", true},          {"E", "", "I3", false},
        {"1..3", "", "3", true},      {"1..3", "", "4", false},       {"I1..I4", "", "I3", true},
        {"I1..4", "", "E3", false},   {"I1,E3", "", "E3", true},      {"#7", "S31", "#7", true},
        {"S31#7", "S31", "#7", true}, {"S3#7", "S31", "#7", false},   {"S31", "S31", "#7", true},
        {"B:2", "B:", "2", true},     {"engine", "", "engine", true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool got =
            subject_matches(str_from(rows[i].typed), str_from(rows[i].of), str_from(rows[i].name));
        if (got != rows[i].matches) fail_msg("%s, %s%s", rows[i].typed, rows[i].of, rows[i].name);
    }
}

static void packed_values_come_back(void **state) {
    LastValues row = {.least = 60000, .form = 13, .deltas = STR("#2%"), .how = STR("A@F")};
    (void)state;
    assert_int_equal(value_at(&row, 0), 60000);
    assert_int_equal(value_at(&row, 1), 75000);
    assert_int_equal(value_at(&row, 2), 62000);
    assert_int_equal(how_at(&row, 0), HOW_MEASURED);
    assert_int_equal(how_at(&row, 1), 0);
    assert_int_equal(how_at(&row, 2), HOW_NOMINAL | HOW_PARTIAL);
    LastValues wide = {.least = -5, .form = 20, .deltas = STR("##$$||")};
    assert_int_equal(value_at(&wide, 0), -5);
    assert_int_equal(value_at(&wide, 1), 86);
    assert_int_equal(value_at(&wide, 2), 8094); /* the most two digits hold: 8099 */
    LastValues decimal = {.least = 0, .form = 80, .deltas = STR("0000000070000001")};
    assert_int_equal(value_at(&decimal, 1), 70000001);
    LastValues alike = {.least = 60000, .how = STR("A")};
    assert_int_equal(value_at(&alike, 5), 60000);
    assert_int_equal(how_at(&alike, 5), HOW_MEASURED);
}

static void part_numbers_are_squeezed(void **state) {
    static const char *const rows[][2] = {{"HL-1450", " hl1450"},
                                          {"(HL-1450.B/2),", " hl1450b2"},
                                          {"well-known", ""},
                                          {"1450", ""},
                                          {"--", ""},
                                          {"a-1=b", ""}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Buf b = {0};
        squeeze_add(&b, str_from(rows[i][0]));
        assert_true(str_eq(buf_str(&b), str_from(rows[i][1])));
        buf_release(&b);
    }
}

/* ---- what changed while a question was answered -----------------------------------------------
 */

typedef struct Opened {
    Index *index;
    IndexPlan plan;
    IndexNews news;
} Opened;

static void open_again(Shop *s, Opened *o) {
    Err err = {0};
    o->plan = (IndexPlan){.now_ns = INT64_MAX / 2};
    if (!index_open(s->book, &o->plan, &o->index, &o->news, &err)) fail_msg("%s", err.text);
}

static bool changed(Opened *o) {
    Err err = {0};
    bool again;
    if (!index_confirm(o->index, &again, &err)) fail_msg("%s", err.text);
    return again;
}

static uint32_t found(Shop *s, Opened *o, const char *word) {
    Err err = {0};
    Ask ask = {.since = INT32_MIN, .until = INT32_MAX, .limit = 9};
    Found f;
    if (!ask_add(&ask, s->book, str_from(word), s->arena, &err) ||
        !index_find(o->index, &ask, s->arena, &f, &err))
        fail_msg("%s", err.text);
    return f.count;
}

static void add_job(Shop *s, const char *name, const char *note) {
    Err err = {0};
    Str path = arena_printf(s->arena, "%s/jobs/%s.job", s->dir, name);
    Str log = arena_printf(s->arena, "job = %s\n\n2026-03-04  Seen\n%s\n", name, note);
    if (!file_write(path.p, log, NULL, &err)) fail_msg("%s", err.text);
}

static void a_change_is_met_and_asked_again(void **state) {
    Shop *s = *state;
    Opened o;
    add_job(s, "26-010", "A magpie in the inlet.");
    open_again(s, &o);
    assert_int_equal(found(s, &o, "magpie"), 0); /* what is stored does not know it */
    assert_true(changed(&o));
    assert_int_equal(o.news.read, 1);
    assert_int_equal(found(s, &o, "magpie"), 1);
    assert_false(changed(&o)); /* once confirmed it stays so */
    index_close(o.index);
    open_again(s, &o);
    assert_int_equal(found(s, &o, "magpie"), 1);
    assert_false(changed(&o));
    assert_int_equal(o.news.read, 0);
    index_close(o.index);
}

/* What another process renews between the opening and the look was not in the answer. */
static void a_renewal_by_another_is_met(void **state) {
    Shop *s = *state;
    Opened first, second;
    open_again(s, &first);
    assert_int_equal(found(s, &first, "heron"), 0);
    add_job(s, "26-011", "A heron in the exhaust.");
    open_again(s, &second);
    second.plan.now_ns++;
    assert_true(changed(&second));
    index_close(second.index);
    assert_true(changed(&first));
    assert_int_equal(found(s, &first, "heron"), 1);
    index_close(first.index);
}

/* A look that began before another process met a new file must not take that file for gone. */
static void an_early_look_loses_nothing(void **state) {
    Shop *s = *state;
    Opened other, late = {.plan = {.now_ns = INT64_MAX / 2}};
    Err err = {0};
    late.plan.survey = survey_begin(s->dir);
    usleep(100000); /* it has listed the folder */
    add_job(s, "26-012", "A curlew in the sump.");
    open_again(s, &other);
    assert_true(changed(&other));
    index_close(other.index);
    if (!index_open(s->book, &late.plan, &late.index, &late.news, &err)) fail_msg("%s", err.text);
    assert_int_equal(found(s, &late, "curlew"), 1);
    (void)changed(&late);
    assert_int_equal(late.news.gone, 0);
    assert_int_equal(found(s, &late, "curlew"), 1);
    index_close(late.index);
}

/* Job numbers that were never given: as rot, or another program, may leave them. */
static void damage_jobs(Shop *s) {
    Opened o;
    Err err = {0};
    Stamps stamps;
    open_again(s, &o);
    bool ok = look_load(o.index, &stamps, s->arena, &err) && stamps.count > 0;
    for (uint32_t i = 0; ok && i < stamps.count; i++)
        stamps.items[i].job = UINT32_MAX - i;
    if (!ok || !look_store(o.index, &stamps, &err)) fail_msg("%s", err.text);
    index_close(o.index);
}

static void damaged_job_numbers_are_mended(void **state) {
    Shop *s = *state;
    Opened o;
    damage_jobs(s);
    add_job(s, "26-013", "A plover in the plenum.");
    open_again(s, &o);
    assert_true(changed(&o));
    assert_non_null(o.news.rebuilt);
    assert_int_equal(found(s, &o, "plover"), 1);
    index_close(o.index);
    open_again(s, &o);
    (void)changed(&o);
    assert_null(o.news.rebuilt);
    assert_int_equal(found(s, &o, "plover"), 1);
    index_close(o.index);
}

static void one_given_up_ends(void **state) {
    Opened o;
    open_again(*state, &o);
    index_close(o.index);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_statement_prepares),
        cmocka_unit_test(every_view_can_be_read),
        cmocka_unit_test(numbers_are_counted),
        cmocka_unit_test(conditions_are_read),
        cmocka_unit_test(words_are_no_conditions),
        cmocka_unit_test(items_are_told_from_words),
        cmocka_unit_test(subjects_are_matched),
        cmocka_unit_test(packed_values_come_back),
        cmocka_unit_test(part_numbers_are_squeezed),
        cmocka_unit_test(a_change_is_met_and_asked_again),
        cmocka_unit_test(a_renewal_by_another_is_met),
        cmocka_unit_test(an_early_look_loses_nothing),
        cmocka_unit_test(damaged_job_numbers_are_mended),
        cmocka_unit_test(one_given_up_ends),
    };
    return cmocka_run_group_tests(tests, open_shop, close_shop);
}
