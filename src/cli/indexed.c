#include "cli/indexed.h"

#include "cli/progress.h"
#include "cli/shelf.h"
#include <time.h>

typedef struct EarlyLook {
    const char *folder;
    Survey *survey;
} EarlyLook;

void indexed_begin(Run *run, bool as_is) {
    const char *folder = as_is ? NULL : shelf_folder(run);
    if (!folder) return;
    run->early = arena_alloc(run->arena, sizeof *run->early);
    *run->early = (EarlyLook){folder, survey_begin(folder)};
}

void indexed_end(Run *run) {
    if (run->early) survey_free(run->early->survey);
    run->early = NULL;
}

/* Of this very folder; another's is given up in the end. */
static Survey *early_survey(Run *run, const Book *b) {
    EarlyLook *early = run->early;
    if (!early || strcmp(early->folder, book_folder(b)) != 0) return NULL;
    Survey *s = early->survey;
    early->survey = NULL;
    return s;
}

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
                      .survey = early_survey(run, b),
                      .told = progress_told,
                      .told_ctx = &progress};
    progress_start(&progress, "jobs");
    if (ask_once(run, b, &plan, ask, ctx)) return true;
    if (run->err.kind != ERR_INDEX) return false;
    run->err = (Err){0};
    plan.anew = true;
    plan.survey = NULL;
    return ask_once(run, b, &plan, ask, ctx);
}
