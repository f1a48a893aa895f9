/* Fuzz target: any bytes as a shop.vocab over the built-in vocabulary; then a small log under it.
 */
#include "compute/check.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char log_text[] =
    "cylinders = 2\nvalves per cylinder = 2\n\n2026-03-04 Springs\nspring set = S1\n"
    "spring load #1 = 182 lbf @ 1.720 in, 421 @ 1.220\nbind height #1 = 1.142 in\n"
    "spring I1 = #1\nvalve lift = .500 in\ninstalled height I1 = 1.721 in\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size > 1 << 16) return 0;
    Arena *arena = arena_new();
    Source shop = {.path = STR("shop.vocab"),
                   .text = arena_str(arena, (Str){(const char *)data, size})};
    Findings findings = {.arena = arena};
    Vocab *v = vocab_load(&shop, &findings);
    if (!findings.errors) {
        Source source = {.path = STR("t.job"), .text = {log_text, sizeof log_text - 1}};
        Job *job = job_read(v, &source, false, NULL, arena, &findings);
        check_job(eval_new(state_at(job, INT32_MAX, arena), arena), &findings);
    }
    vocab_free(v);
    arena_free(arena);
    return 0;
}
