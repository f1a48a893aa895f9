/* The vocabulary of the trade that is compiled in: it loads without a finding, and every tag says
 * what it is, in which unit, and where that comes from. */
#include "unit/rows.h"
#include "vocab/vocab.h"

enum { MEASURED_LEAST = 90, COMPUTED_LEAST = 40, SOURCE_LEAST = 4 };

typedef struct Loaded {
    Arena *arena;
    Findings findings;
    Vocab *vocab;
} Loaded;

static Loaded loaded;

static int load(void **state) {
    (void)state;
    loaded.arena = arena_new();
    loaded.findings = (Findings){.arena = loaded.arena};
    loaded.vocab = vocab_load(NULL, &loaded.findings);
    return 0;
}

static int unload(void **state) {
    (void)state;
    vocab_free(loaded.vocab);
    arena_free(loaded.arena);
    return 0;
}

static void loads_without_a_finding(void **state) {
    (void)state;
    for (uint32_t i = 0; i < loaded.findings.count; i++) {
        const Finding *f = &loaded.findings.items[i];
        Source s = {.path = f->source->path, .text = f->source->text};
        source_map(&s, loaded.arena);
        Position at = source_position(&s, f->span.off);
        print_error("trade.vocab:%u:%u: %s: %.*s\n", at.line, at.column, f->kind->code,
                    (int)f->message.n, f->message.p);
    }
    assert_int_equal(loaded.findings.count, 0);
}

/* A tag of its own block: those that come with a class (`spring set`) have no text to check. */
static bool has_block(const Tag *t) {
    return t->kind != TAG_SET && t->kind != TAG_PLACEMENT && t->kind != TAG_BANK &&
           t->kind != TAG_CARRIER && !(t->kind == TAG_PART && t->says.n == 0);
}

static void every_tag_says_what_it_is(void **state) {
    (void)state;
    const Vocab *v = loaded.vocab;
    unsigned checked = 0;
    for (TagId i = 0; i < v->tag_count; i++) {
        const Tag *t = &v->tags[i];
        if (!has_block(t)) continue;
        checked++;
        if (t->says.n == 0 || t->source.n < SOURCE_LEAST || t->group.n == 0)
            fail_msg("%.*s lacks its says, source or group", (int)t->name.n, t->name.p);
        if (t->kind == TAG_NUMBER && !t->unit)
            fail_msg("%.*s has no unit", (int)t->name.n, t->name.p);
    }
    assert_true(checked > MEASURED_LEAST + COMPUTED_LEAST);
}

static void has_enough_to_measure_and_compute(void **state) {
    (void)state;
    const Vocab *v = loaded.vocab;
    unsigned measured = 0;
    for (TagId i = 0; i < v->tag_count; i++)
        measured += v->tags[i].kind == TAG_NUMBER && !v->tags[i].is;
    print_message("%u measured, %u computed\n", measured, v->computed_count);
    assert_true(measured >= MEASURED_LEAST);
    assert_true(v->computed_count >= COMPUTED_LEAST);
}

static void measured_numbers_have_a_plausible_range(void **state) {
    (void)state;
    const Vocab *v = loaded.vocab;
    for (TagId i = 0; i < v->tag_count; i++) {
        const Tag *t = &v->tags[i];
        if (t->kind != TAG_NUMBER || t->is) continue;
        if (!t->has_plausible || !(t->plausible.low < t->plausible.high))
            fail_msg("%.*s has no plausible range", (int)t->name.n, t->name.p);
    }
}

static void every_role_is_played(void **state) {
    (void)state;
    for (int r = ROLE_NONE + 1; r < ROLE_COUNT; r++) {
        TagId t = loaded.vocab->roles[r];
        if (t == TAG_NONE || loaded.vocab->tags[t].role != (Role)r) fail_msg("nobody plays %d", r);
    }
}

static void rules_and_cautions_speak(void **state) {
    (void)state;
    const Vocab *v = loaded.vocab;
    assert_true(v->rule_count > 0 && v->caution_count > 0);
    for (unsigned i = 0; i < v->rule_count; i++)
        assert_true(v->rules[i].says.n > 0);
    for (unsigned i = 0; i < v->caution_count; i++) {
        assert_true(v->cautions[i].says.n > 0);
        assert_true(v->cautions[i].tag_count + v->cautions[i].word_count > 0);
    }
    for (unsigned i = 0; i < v->fit_count; i++)
        assert_true(v->fits[i].says.n > 0 && v->fits[i].table_count > 0);
    assert_int_equal(v->limit_count, 0); /* limits belong to jobs, cards and shops */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(loads_without_a_finding),
        cmocka_unit_test(every_tag_says_what_it_is),
        cmocka_unit_test(has_enough_to_measure_and_compute),
        cmocka_unit_test(measured_numbers_have_a_plausible_range),
        cmocka_unit_test(every_role_is_played),
        cmocka_unit_test(rules_and_cautions_speak),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
