#include "compute/look_over.h"

#include "compute/check.h"
#include "log/line.h"

Look *look_over(const Vocab *v, Str path, Str text, const Door *door, Arena *a) {
    Look *l = arena_alloc(a, sizeof *l);
    l->source = (Source){.path = path, .text = text};
    l->findings.arena = a;
    source_map(&l->source, a);
    l->job = job_read(v, &l->source, false, door, a, &l->findings);
    l->eval = eval_new(state_at(l->job, INT32_MAX, a), a);
    l->verdicts = verdicts_of(l->eval, a);
    check_job(l->eval, &l->findings);
    findings_sort(&l->findings);
    return l;
}

static bool overlap(Span a, Span b) {
    return a.off < b.off + b.len && b.off < a.off + (a.len ? a.len : 1);
}

static bool of_reading(const FindingKind *kind) {
    return (kind >= bind_kinds && kind < bind_kinds + bind_kinds_count) ||
           (kind >= line_kinds && kind < line_kinds + line_kinds_count);
}

static bool is_fault(const Look *l, const Finding *f) {
    return f->source == &l->source && f->kind->level == LEVEL_ERROR && of_reading(f->kind);
}

const Finding *look_fault(const Look *l, Span span) {
    for (uint32_t i = 0; i < l->findings.count; i++) {
        const Finding *f = &l->findings.items[i];
        if (is_fault(l, f) && overlap(f->span, span)) return f;
    }
    return NULL;
}

const Finding *look_first_fault(const Look *l, uint32_t from) {
    for (uint32_t i = 0; i < l->findings.count; i++) {
        const Finding *f = &l->findings.items[i];
        if (is_fault(l, f) && f->span.off >= from) return f;
    }
    return NULL;
}

const Reading *look_reading(const Look *l, Span span) {
    for (uint32_t i = l->job->reading_count; i-- > 0;) {
        const Reading *r = &l->job->readings[i];
        if (r->source == 0 && overlap((Span){r->off, r->len}, span)) return r;
    }
    return NULL;
}
