/*
 * Fuzz target: any bytes as a log, from the scanner to the sheet and the working of every value.
 * The first byte picks whether a card or a log is read.
 */
#include "base/buf.h"
#include "book/book.h"
#include "compute/check.h"
#include "log/line.h"
#include "show/findings.h"
#include "show/sheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static Book *book;

static void show(const Job *job, Eval *eval) {
    Buf out = {0};
    SheetOptions options = {.until = INT32_MAX, .width = 80};
    sheet_text(&out, eval, &options);
    sheet_json(&out, eval, &options);
    (void)job;
    buf_release(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Err err = {0};
    if (!book && !book_open(NULL, &book, &err)) abort();
    if (size < 1 || size > 1 << 16) return 0;
    Arena *arena = arena_new();
    Source source = {.path = STR("fuzz.job"),
                     .text = arena_str(arena, (Str){(const char *)data + 1, size - 1})};
    Findings findings = {.arena = arena};
    Job *job = job_read(book_vocab(book), &source, data[0] == 'c', NULL, arena, &findings);
    Eval *eval = eval_new(state_at(job, INT32_MAX, arena), arena);
    check_job(eval, &findings);
    findings_sort(&findings);
    Buf out = {0};
    findings_text(&out, &findings, (TextStyle){0});
    findings_json(&out, &findings);
    buf_release(&out);
    if (data[0] != 'c') show(job, eval);
    arena_free(arena);
    return 0;
}
