/* The rows of a whole book that are ordered by value or word, in as few pages as they take. */
#include "index/internal.h"

/* The columns of a table, as the schema declares them. */
static Str table_text(Index *x, Str table, Arena *a, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_SCHEMA_GET, err);
    if (!s) return str_none;
    bind_str(s, 1, table);
    Str text = sqlite3_step(s) == SQLITE_ROW ? arena_str(a, column_str(s, 0)) : str_none;
    sqlite3_reset(s);
    size_t open = str_find_char(text, '(', 0);
    if (open == SIZE_MAX) db_fail(x, err);
    return open == SIZE_MAX ? str_none : str_skip(text, open);
}

/* Row by row SQLite leaves an eighth of each page of such a table empty; copied from another of the
 * same form it fills them. So a whole book's rows go to a table of the same name in memory first:
 * between the two calls that is the one a statement means. */
static bool stage(Index *x, Str table, Arena *a, Err *err) {
    Str columns = table_text(x, table, a, err);
    if (!columns.n) return false;
    Str sql = arena_printf(a, "CREATE TEMP TABLE %.*s%.*s", STR_ARG(table), STR_ARG(columns));
    return db_exec(x, sql.p, err);
}

static bool unstage(Index *x, Str table, Arena *a, Err *err) {
    Str sql = arena_printf(a, "INSERT INTO main.%.*s SELECT * FROM temp.%.*s; DROP TABLE temp.%.*s",
                           STR_ARG(table), STR_ARG(table), STR_ARG(table));
    return db_exec(x, sql.p, err);
}

bool insert_later_packed(Index *x, Later *l, Err *err) {
    static const Str tables[] = {{"t_last", 6}, {"t_word", 6}};
    return stage(x, tables[0], l->arena, err) && stage(x, tables[1], l->arena, err) &&
           insert_later(x, l, err) && unstage(x, tables[0], l->arena, err) &&
           unstage(x, tables[1], l->arena, err);
}
