/* The public interface, used as a stranger would: only its own header. */
#include "thou/thou.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* The worked example of the trade's notes: 182 lbf at 1.720, 421 at 1.220 in, installed at 1.721
 * in. */
static const char log_text[] = "cylinders = 1\nvalves per cylinder = 2\n\n"
                               "2026-03-04 Springs\n"
                               "spring set = S1\n"
                               "spring load #1 = 182 lbf @ 1.720 in, 421 @ 1.220\n"
                               "bind height #1 = 1.142 in\n"
                               "spring I1 = #1\n"
                               "valve lift = .500 in\n"
                               "installed height I1 = 1.721 in\n"
                               "installed hieght E1 = 1.721 in\n";

static thou_book *book;
static thou_job *job;

static int setup(void **state) {
    (void)state;
    thou_error error;
    assert_int_equal(thou_book_open(NULL, &book, &error), THOU_OK);
    assert_int_equal(thou_job_read(book, "t.job", log_text, strlen(log_text), NULL, &job, &error),
                     THOU_OK);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    thou_job_close(job);
    thou_book_close(book);
    return 0;
}

static void computed_value(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value(job, "seat load", "I1", "lbf", &v, &error), THOU_OK);
    assert_float_equal(v.value, 182 - 478 * .001, 1e-9);
    assert_false(v.measured);
    assert_int_equal(thou_job_value(job, "bind clearance", "I1", "mm", &v, &error), THOU_OK);
    assert_float_equal(v.value, (1.721 - .5 - 1.142) * 25.4, 1e-9);
    assert_string_equal(v.unit, "mm");
}

static void measured_value(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value(job, "installed height", "I1", NULL, &v, &error), THOU_OK);
    assert_true(v.measured);
    assert_string_equal(v.file, "t.job");
    assert_int_equal(v.line, 10);
    assert_string_equal(v.unit, "in");
}

static void missing_value(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value(job, "seat load", "E1", NULL, &v, &error), THOU_MISSING);
    assert_non_null(v.missing);
    assert_true(strlen(v.missing) > 0);
}

static void unknown_names(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value(job, "seat lode", "I1", NULL, &v, &error), THOU_UNKNOWN);
    assert_int_equal(thou_job_value(job, "seat load", "I2", NULL, &v, &error), THOU_UNKNOWN);
    assert_int_equal(thou_job_value(job, "seat load", "I1", "psi", &v, &error), THOU_UNKNOWN);
    assert_int_equal(thou_job_value_at(job, "seat load", "I1", 1, "in", NULL, &v, &error),
                     THOU_UNKNOWN);
    thou_job *other;
    assert_int_equal(thou_job_read(book, "t.job", "", 0, "yesterday", &other, &error),
                     THOU_UNKNOWN);
    assert_int_equal(thou_job_open(book, "/nowhere/x.job", NULL, &other, &error) != THOU_OK, 1);
    assert_true(strlen(error.text) > 0);
}

static void curve(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value_at(job, "spring load", "S1#1", 1.5, "in", "lbf", &v, &error),
                     THOU_OK);
    assert_float_equal(v.value, 182 + 478 * .22, 1e-9);
    assert_int_equal(thou_job_value_at(job, "spring load", "S1#1", 3, "in", "lbf", &v, &error),
                     THOU_MISSING);
}

static void findings(void **state) {
    (void)state;
    size_t n = thou_job_findings(job);
    assert_true(n >= 1);
    bool named = false;
    for (size_t i = 0; i < n; i++) {
        thou_finding f = thou_job_finding(job, i);
        named |= strcmp(f.code, "unknown-tag") == 0 && f.line == 11 && f.error;
        assert_true(f.column >= 1);
    }
    assert_true(named);
    assert_int_equal(thou_job_findings(job), n);
}

/* A curve by itself, in the log's units, and where it was read. */
static void curve_units_and_readings(void **state) {
    (void)state;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_value(job, "spring load", "S1#1", NULL, &v, &error), THOU_UNKNOWN);
    assert_non_null(strstr(error.text, "thou_job_value_at"));
    assert_int_equal(thou_job_value_at(job, "spring load", "S1#1", 1.22, NULL, NULL, &v, &error),
                     THOU_OK);
    assert_float_equal(v.value, 421, 1e-9);
    assert_string_equal(v.unit, "lbf");
    assert_true(v.measured);
    assert_string_equal(v.file, "t.job");
    assert_int_equal(v.line, 6);
    assert_null(v.missing);
    assert_int_equal(thou_job_value_at(job, "spring load", "I1", 1.5, NULL, NULL, &v, &error),
                     THOU_OK);
    assert_false(v.measured);
    assert_null(v.file);
    assert_int_equal(thou_job_value_at(job, "spring load", "S1#1", 30, "N", NULL, &v, &error),
                     THOU_UNKNOWN);
    static const char metric[] = "units = metric\ncylinders = 1\nvalves per cylinder = 2\n\n"
                                 "2026-03-04\nspring set = S1\n"
                                 "spring load #1 = 800 N @ 43.5, 1900 @ 31\n"
                                 "2026-03-09\nspring load #1 = 790 @ 43.5\n";
    thou_job *other;
    assert_int_equal(thou_job_read(book, "m.job", metric, sizeof metric - 1, NULL, &other, &error),
                     THOU_OK);
    assert_int_equal(thou_job_value_at(other, "spring load", "S1#1", 43.5, NULL, NULL, &v, &error),
                     THOU_OK);
    assert_float_equal(v.value, 790, 1e-9);
    assert_true(v.measured && !v.extended && v.line == 9);
    assert_int_equal(thou_job_value_at(other, "spring load", "S1#1", 31, NULL, NULL, &v, &error),
                     THOU_OK);
    assert_float_equal(v.value, 1890, 1e-9); /* moved with the new point: not as it was read */
    assert_true(!v.measured && v.extended);
    thou_job_close(other);
}

/* The layout has the place though no line names it; a seat may be empty. */
static void unnamed_places(void **state) {
    (void)state;
    static const char text[] = "cylinders = 2\nvalves per cylinder = 2\n\n"
                               "2026-03-04\nspring set = S1\nspring load #1 = 182 lbf @ 1.72 in\n";
    thou_job *lone;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_read(book, "l.job", text, sizeof text - 1, NULL, &lone, &error),
                     THOU_OK);
    assert_int_equal(thou_job_value(lone, "installed height", "I3", NULL, &v, &error),
                     THOU_UNKNOWN);
    for (int i = 0; i < 2; i++) {
        assert_int_equal(thou_job_value(lone, "installed height", "I2", NULL, &v, &error),
                         THOU_MISSING);
        assert_true(v.missing && strlen(v.missing) > 0);
        assert_int_equal(thou_job_value(lone, "bind height", "E2", NULL, &v, &error), THOU_MISSING);
        assert_string_equal(v.missing, "bind height");
        assert_int_equal(thou_job_value_at(lone, "spring load", "I1", 1.72, "in", NULL, &v, &error),
                         THOU_MISSING);
    }
    assert_int_equal(thou_job_value(lone, "bind height", "I9", NULL, &v, &error), THOU_UNKNOWN);
    assert_int_equal(thou_job_value_at(lone, "spring load", "S1#1", 1.72, "in", "lbf", &v, &error),
                     THOU_OK);
    thou_job_close(lone);
}

/* A part named by its place is the one of the day asked about. */
static void part_by_place(void **state) {
    (void)state;
    static const char text[] = "cylinders = 1\nvalves per cylinder = 2\n\n"
                               "2026-03-04\nspring set = S1\nbind height #1..2 = 1.10 1.20 in\n"
                               "spring I1 = #1\n2026-03-08\nspring I1 = #2\n";
    thou_value v;
    thou_error error;
    static const struct {
        const char *day;
        double height;
    } rows[] = {{"2026-03-04", 1.1}, {"2026-03-08", 1.2}, {NULL, 1.2}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        thou_job *then;
        assert_int_equal(
            thou_job_read(book, "p.job", text, sizeof text - 1, rows[i].day, &then, &error),
            THOU_OK);
        assert_int_equal(thou_job_value(then, "bind height", "I1", "in", &v, &error), THOU_OK);
        assert_float_equal(v.value, rows[i].height, 1e-9);
        assert_int_equal(thou_job_value(then, "bind height", "E1", "in", &v, &error), THOU_MISSING);
        thou_job_close(then);
    }
}

/* Asking for what is not there (a spring at I1, a set, a head) leaves the job as it was. */
static void asking_makes_nothing(void **state) {
    (void)state;
    static const char text[] = "cylinders = 1\nvalves per cylinder = 2\n\n"
                               "2026-03-04\nhours = 0 h\n"
                               "spring set = S1\nspring E1 = #1\ninstalled height E1 = 1.7 in\n"
                               "2026-03-05\nhours = 3 h\n";
    thou_job *lone;
    thou_value v;
    thou_error error;
    assert_int_equal(thou_job_read(book, "l.job", text, sizeof text - 1, NULL, &lone, &error),
                     THOU_OK);
    static const char *const absent[] = {"S2#1", "S1#2", "B:1", "B:I1", "I1", "I9", "S2"};
    for (int turn = 0; turn < 50; turn++) {
        for (size_t i = 0; i < sizeof absent / sizeof *absent; i++)
            assert_int_not_equal(thou_job_value(lone, "bind height", absent[i], NULL, &v, &error),
                                 THOU_OK);
        assert_int_not_equal(thou_job_value(lone, "installed height", "B:I1", NULL, &v, &error),
                             THOU_OK);
    }
    assert_int_equal(thou_job_value(lone, "spring hours", "S1#1", "h", &v, &error), THOU_OK);
    assert_float_equal(v.value, 3, 1e-9);
    thou_job *unasked;
    assert_int_equal(thou_job_read(book, "l.job", text, sizeof text - 1, NULL, &unasked, &error),
                     THOU_OK);
    assert_int_equal(thou_job_findings(lone), thou_job_findings(unasked));
    thou_job_close(unasked);
    thou_job_close(lone);
}

static void earlier_day(void **state) {
    (void)state;
    thou_job *before;
    thou_value v;
    thou_error error;
    assert_int_equal(
        thou_job_read(book, "t.job", log_text, strlen(log_text), "2026-03-01", &before, &error),
        THOU_OK);
    assert_int_equal(thou_job_value(before, "seat load", "I1", NULL, &v, &error), THOU_MISSING);
    thou_job_close(before);
    thou_job_close(NULL);
    thou_book_close(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(computed_value),
        cmocka_unit_test(measured_value),
        cmocka_unit_test(missing_value),
        cmocka_unit_test(unknown_names),
        cmocka_unit_test(curve),
        cmocka_unit_test(findings),
        cmocka_unit_test(curve_units_and_readings),
        cmocka_unit_test(unnamed_places),
        cmocka_unit_test(part_by_place),
        cmocka_unit_test(asking_makes_nothing),
        cmocka_unit_test(earlier_day),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
