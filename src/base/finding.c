#include "base/finding.h"

const FindingKind finding_too_many = {
    "too-many", LEVEL_WARNING, "a file has more findings than are shown; put the first ones right"};

/* How many of the findings kept are of this source. Findings come in file by file, so the count of
 * the file at hand is remembered. */
static uint32_t kept_of(Findings *f, const Source *source) {
    if (f->counted_of != source || f->count == 0) {
        f->counted_of = source;
        f->counted = 0;
        for (uint32_t i = 0; i < f->count; i++)
            f->counted += f->items[i].source == source;
    }
    return f->counted;
}

static Finding *keep(Findings *f, const FindingKind *kind, const Source *source, Span span) {
    arena_grow(f->arena, f->items, f->count, f->room);
    Finding *added = &f->items[f->count++];
    *added = (Finding){.kind = kind, .source = source, .span = span};
    f->counted++;
    return added;
}

/* The last finding of a file that has too many; it stands at the file's end to sort behind all. */
static void say_too_many(Findings *f, const Source *source) {
    Span end = {source ? (uint32_t)source->text.n : 0, 0};
    keep(f, &finding_too_many, source, end)->message = arena_printf(
        f->arena, "more than %d findings: put these right first, then check again", FINDINGS_MAX);
}

Finding *finding_add(Findings *f, const FindingKind *kind, const Source *source, Span span,
                     const char *format, ...) {
    if (kind->level == LEVEL_ERROR)
        f->errors++;
    else
        f->warnings++;
    uint32_t kept = kept_of(f, source);
    if (kept >= FINDINGS_MAX) {
        if (kept == FINDINGS_MAX) say_too_many(f, source);
        if (!f->scratch) f->scratch = arena_alloc(f->arena, sizeof *f->scratch);
        *f->scratch = (Finding){.kind = kind, .source = source, .span = span};
        return f->scratch;
    }
    va_list args;
    va_start(args, format);
    Str message = arena_vprintf(f->arena, format, args);
    va_end(args);
    Finding *added = keep(f, kind, source, span);
    added->message = message;
    return added;
}

static int order_of(const Finding *a, const Finding *b) {
    if (a->source != b->source) {
        int order =
            str_cmp(a->source ? a->source->path : (Str){0}, b->source ? b->source->path : (Str){0});
        if (order) return order;
    }
    if (a->span.off != b->span.off) return a->span.off < b->span.off ? -1 : 1;
    return strcmp(a->kind->code, b->kind->code);
}

/* Merges the sorted runs [from, middle) and [middle, to) of `in` into `out`; the left one wins a
 * tie, which keeps equal findings in their order. */
static void merge(const Finding *in, Finding *out, uint32_t from, uint32_t middle, uint32_t to) {
    uint32_t left = from, right = middle;
    for (uint32_t i = from; i < to; i++) {
        bool take_left = left < middle && (right == to || order_of(&in[left], &in[right]) <= 0);
        out[i] = take_left ? in[left++] : in[right++];
    }
}

static bool is_sorted(const Findings *f) {
    for (uint32_t i = 1; i < f->count; i++)
        if (order_of(&f->items[i - 1], &f->items[i]) > 0) return false;
    return true;
}

void findings_sort(Findings *f) {
    if (is_sorted(f)) return;
    Finding *in = f->items, *out = arena_array(f->arena, f->count, sizeof *out);
    for (uint32_t run = 1; run < f->count; run *= 2) {
        for (uint32_t from = 0; from < f->count; from += 2 * run) {
            uint32_t middle = f->count - from > run ? from + run : f->count;
            uint32_t to = f->count - from > 2 * run ? from + 2 * run : f->count;
            merge(in, out, from, middle, to);
        }
        Finding *swap = in;
        in = out;
        out = swap;
    }
    if (in != f->items) memcpy(f->items, in, f->count * sizeof *in);
}
