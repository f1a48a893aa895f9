/*
 * Fuzz target: a byte for the separator and the decimal mark, a line that is a gauge's pattern,
 * then a CSV; the map is what the program proposes for it, and the first line once more as a map of
 * its own.
 */
#include "base/pattern.h"
#include "book/import.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void import(const Vocab *v, Str map_text, const ImportAsk *ask, Arena *a) {
    Err err = {0};
    ImportMap map;
    Import im;
    if (!import_map_read(v, "t.map", map_text, a, &map, &err)) return;
    if (!import_read(v, &map, ask, a, &im, &err)) return;
    Str entry = import_entry(&im, STR("2031-03-04  Imported\n"), a);
    for (uint32_t i = 0; i < im.count; i++) {
        if (!im.rows[i].why.n && im.rows[i].span.off + im.rows[i].span.len > entry.n) abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static Vocab *v;
    static Arena *kept;
    if (size < 2 || size > 1 << 14) return 0;
    if (!v) {
        kept = arena_new();
        Findings findings = {.arena = kept};
        v = vocab_load(NULL, &findings);
    }
    Arena *a = arena_new();
    Str text = {(const char *)data + 1, size - 1}, number, unit;
    size_t end = str_find_char(text, '\n', 0);
    Str first = {text.p, end == SIZE_MAX ? text.n : end};
    if (!pattern_fault(first))
        (void)pattern_fits(first, str_skip(text, first.n + 1), &number, &unit);
    ImportAsk ask = {.csv = text,
                     .log = STR("> rows: 0123456789ab\n"),
                     .separator = ",;\t,"[data[0] & 3],
                     .decimal_comma = data[0] & 4,
                     .set = STR("S1")};
    (void)csv_sniff(text, ask.decimal_comma);
    CsvRecord *head = arena_alloc(a, sizeof *head);
    CsvReader r;
    csv_start(&r, text, ask.separator);
    if (csv_next(&r, a, head)) {
        import(v, import_map_propose(v, head, ask.separator, ask.decimal_comma, a), &ask, a);
        import(v, first, &ask, a);
    }
    arena_free(a);
    return 0;
}
