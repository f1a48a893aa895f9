/* Golden matrices: each row of a table is a test of its own, named by the row. */
#ifndef THOU_TESTS_ROWS_H
#define THOU_TESTS_ROWS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
/* clang-format off: cmocka wants the above first */
#include <cmocka.h>
/* clang-format on */

enum { ROWS_MOST = 4000 };

typedef struct Rows {
    struct CMUnitTest tests[ROWS_MOST];
    size_t count;
} Rows;

/* cmocka hands the row to the test through *state. */
static inline void rows_add(Rows *r, const char *name, CMUnitTestFunction test, const void *row) {
    if (r->count == ROWS_MOST) abort();
    r->tests[r->count++] = (struct CMUnitTest){
        .name = name, .test_func = test, .initial_state = (void *)(uintptr_t)row};
}

#define ROWS(rows, table, test)                                           \
    for (size_t row_ = 0; row_ < sizeof(table) / sizeof *(table); row_++) \
    rows_add((rows), (table)[row_].name, (test), &(table)[row_])

static inline int rows_run(const Rows *r, const char *group) {
    return _cmocka_run_group_tests(group, r->tests, r->count, NULL, NULL);
}

#endif
