/*
 * The worked numbers of the trade (tests/trade_formulas.tsv, where each says what it comes from):
 * each row's log is read whole, and its value worked out as `thou why` would.
 */
#include "base/file.h"
#include "base/number.h"
#include "compute/eval.h"
#include "unit/rows.h"
#include <math.h>

#define ROWS_FILE "tests/trade_formulas.tsv"

typedef enum Field {
    FIELD_NAME,
    FIELD_LOG,
    FIELD_TAG,
    FIELD_SUBJECT,
    FIELD_VALUE,
    FIELD_UNIT,
    FIELD_TOLERANCE,
    FIELD_SOURCE,
    FIELD_COUNT
} Field;

typedef struct Worked {
    Str field[FIELD_COUNT];
    double value, tolerance;
} Worked;

static Vocab *vocab;

/* Takes text up to the mark off the front of *rest; all of it where there is no mark. */
static Str take(Str *rest, char mark) {
    size_t at = str_find_char(*rest, mark, 0);
    Str out = {rest->p, at == SIZE_MAX ? rest->n : at};
    *rest = at == SIZE_MAX ? (Str){NULL, 0} : str_skip(*rest, at + 1);
    return out;
}

static double number_in(Str text) {
    Number n;
    if (number_read(text, &n) != NUMBER_OK || n.len != text.n) {
        print_error("%.*s is no number\n", STR_ARG(text));
        exit(1);
    }
    return n.value;
}

/* The log of a row, its \n made into new lines. */
static Str unfold(Str log, Arena *a) {
    Buf text = {0};
    for (size_t i = 0; i < log.n; i++) {
        bool mark = log.p[i] == '\\' && i + 1 < log.n && log.p[i + 1] == 'n';
        buf_putc(&text, mark ? '\n' : log.p[i]);
        i += mark;
    }
    Str out = arena_str(a, buf_str(&text));
    buf_release(&text);
    return out;
}

/* Position of the subject so named in its class's list. An item is named by the end of its name:
 * `#1` is the one of the only set, `R1a` the unnamed one that sits there. */
static uint32_t position_of(const Job *job, ClassId cls, Str text, Arena *a) {
    const SubjectList *l = &job->classes[cls];
    bool item = vocab->classes[cls].kind == CLASS_ITEM;
    uint32_t found = UINT32_MAX; /* the last: what sat there before it has the same name */
    for (uint32_t i = 0; i < l->count; i++) {
        Str name = subject_name(job, l->ids[i], a);
        bool same = item ? str_ends(name, text) : str_eq(name, text);
        if (cls == CLASS_ENGINE || same) found = i;
    }
    return found;
}

static void check_worked(void **state) {
    const Worked *w = *state;
    Arena *a = arena_new();
    Findings findings = {.arena = a};
    Source source = {.path = STR("worked.job"), .text = unfold(w->field[FIELD_LOG], a)};
    Job *job = job_read(vocab, &source, false, NULL, a, &findings);
    if (findings.count) fail_msg("%.*s", STR_ARG(findings.items[0].message));

    TagId tag = vocab_find(vocab, w->field[FIELD_TAG]);
    assert_int_not_equal(tag, TAG_NONE);
    ClassId cls = vocab->tags[tag].of;
    uint32_t i = position_of(job, cls, w->field[FIELD_SUBJECT], a);
    assert_int_not_equal(i, UINT32_MAX);

    Eval *e = eval_new(state_at(job, INT32_MAX, a), a);
    const Col *col = eval_tag(e, tag);
    if (col->st[i] & V_MISSING) {
        uint32_t want = col->from[i];
        Str lacks = want < vocab->tag_count ? vocab->tags[want].name : STR("members");
        fail_msg("missing for want of %.*s", STR_ARG(lacks));
    }
    const Unit *unit = unit_find(w->field[FIELD_UNIT], vocab->tags[tag].dim);
    assert_non_null(unit);
    assert_true(unit->dim == vocab->tags[tag].dim);
    double got = unit_from_si(unit, col->v[i]);
    if (!(fabs(got - w->value) <= w->tolerance + 1e-12))
        fail_msg("%.9g %s, not %.*s", got, unit->name, STR_ARG(w->field[FIELD_VALUE]));
    arena_free(a);
}

static void add_row(Rows *rows, Str line, Arena *a) {
    Worked *w = arena_alloc(a, sizeof *w);
    for (int f = 0; f < FIELD_COUNT; f++)
        w->field[f] = take(&line, '\t');
    w->value = number_in(w->field[FIELD_VALUE]);
    w->tolerance = number_in(w->field[FIELD_TOLERANCE]);
    if (w->field[FIELD_SOURCE].n == 0) {
        print_error("%.*s: a row without its source\n", STR_ARG(w->field[FIELD_NAME]));
        exit(1);
    }
    rows_add(rows, arena_str(a, w->field[FIELD_NAME]).p, check_worked, w);
}

int main(void) {
    static Rows rows;
    Arena *a = arena_new();
    Findings findings = {.arena = a};
    Err err = {0};
    Str text;
    if (!file_read(a, ROWS_FILE, &text, NULL, &err)) {
        print_error("%s: run from the top folder\n", ROWS_FILE);
        return 1;
    }
    vocab = vocab_load(NULL, &findings);
    while (text.n) {
        Str line = take(&text, '\n');
        if (line.n && line.p[0] != '#') add_row(&rows, line, a);
    }
    int failed = rows_run(&rows, "trade_formulas");
    vocab_free(vocab);
    arena_free(a);
    return failed;
}
