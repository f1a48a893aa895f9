#include "cli/indexed.h"

#include "cli/progress.h"
#include <time.h>

static int64_t clock_ns(void) {
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static bool until_confirmed(Index *x, Question ask, void *ctx, Err *err) {
    bool again = true;
    while (again) {
        if (!ask(x, ctx, err) || !index_confirm(x, &again, err)) return false;
    }
    return true;
}

static bool ask_once(Run *run, Book *b, const IndexPlan *plan, Question ask, void *ctx) {
    Index *x;
    IndexNews news;
    bool ok = index_open(b, plan, &x, &news, &run->err);
    if (ok) {
        ok = until_confirmed(x, ask, ctx, &run->err);
        index_close(x);
    }
    progress_wipe(plan->told_ctx);
    if (ok && news.rebuilt) complain("%s", news.rebuilt);
    return ok;
}

bool indexed_ask(Run *run, Book *b, IndexUse use, Question ask, void *ctx) {
    Progress progress;
    IndexPlan plan = {.as_is = use.as_is,
                      .now_ns = clock_ns(),
                      .threads = use.threads,
                      .told = progress_told,
                      .told_ctx = &progress};
    progress_start(&progress, "jobs");
    if (ask_once(run, b, &plan, ask, ctx)) return true;
    if (run->err.kind != ERR_INDEX) return false;
    run->err = (Err){0};
    plan.anew = true;
    return ask_once(run, b, &plan, ask, ctx);
}
