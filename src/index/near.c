/* What was perhaps meant by a name that nothing has. */
#include "index/find.h"

#include "base/near.h"
#include "index/internal.h"

bool index_near(Index *x, const Ask *ask, Arena *a, Str *out, Err *err) {
    Str typed = ask->part.n ? ask->part : ask->engine.n ? ask->engine : ask->owner;
    if (ask->word_count) typed = ask->words[0].text;
    for (uint32_t i = 0; !typed.n && i < ask->condition_count; i++)
        typed = ask->conditions[i].text;
    *out = (Str){0};
    if (!typed.n) return true;
    Near near;
    near_start(&near, typed);
    sqlite3_stmt *s = db_statement(x, S_NAMES, err);
    if (!s) return false;
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW)
        near_offer(&near, arena_str(a, column_str(s, 0)));
    sqlite3_reset(s);
    if (rc != SQLITE_DONE) return db_fail(x, err);
    *out = near_text(&near, a);
    return true;
}
