/* The answer of a fit into the log: read again first, and written only when it is understood. */
#include "cli/fit.h"

#include "book/bench.h"
#include <math.h>

static bool same(double a, double b) {
    return (isnan(a) && isnan(b)) || fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b));
}

/* What the log with the lines says of each place is what was foretold. */
static bool says_so(Run *run, OpenJob *o, Str text, const FitAnswer *f) {
    Findings findings = {.arena = run->arena};
    Source *source = arena_alloc(run->arena, sizeof *source);
    *source = (Source){.path = o->job->sources[0]->path, .text = text};
    source_map(source, run->arena);
    Door door = book_door(&o->door);
    Job *j = job_read(o->job->vocab, source, false, &door, run->arena, &findings);
    const State *s = state_at(j, INT32_MAX, run->arena);
    Eval *e = eval_new(s, run->arena);
    const Fit *fit = f->ask->fit;
    if (findings.errors != o->findings.errors) return false;
    for (uint32_t p = 0; p < f->places; p++) {
        size_t at = (size_t)f->place[p] * HERE_MOST;
        if (fit->item != CLASS_NONE) {
            at += (size_t)j->slot_base[fit->item] + f->ask->slot;
            if (!s->here || s->here[at] != f->after.item[p]) return false;
        }
        if (fit->aim == TAG_NONE || j->vocab->tags[fit->aim].of != fit->place) continue;
        const Col *c = eval_tag(e, fit->aim);
        uint32_t i = s->index[f->place[p]];
        if ((c->st[i] & V_MISSING) || !same(c->v[i], f->after.aimed[p].value)) return false;
    }
    return true;
}

bool fit_append(Run *run, OpenJob *o, const FitAnswer *f, Str lines) {
    FileStamp stamp;
    Str now;
    uint32_t at;
    if (!lines.n) return true;
    const char *path = o->target.path;
    if (o->job->is_card)
        return err_set(&run->err, ERR_USAGE, "%s is a part card; nothing is fitted there", path);
    if (!file_read(run->arena, path, &now, &stamp, &run->err)) return false;
    if (!str_eq(now, o->job->sources[0]->text))
        return err_set(&run->err, ERR_CHANGED,
                       "%s changed while the fit was worked out; nothing was written: run it again",
                       path);
    Str text = bench_joined(now, bench_ends_as(now, lines, run->arena), run->arena, &at);
    if (!says_so(run, o, text, f))
        return err_set(
            &run->err, ERR_USAGE,
            "with the lines at its end %s would not say what was chosen (is a block note "
            "open at the end?): nothing was written; thou check %s",
            path, path);
    return file_write(path, text, &stamp, &run->err);
}
