/*
 * What a cold index is measured against: insert_rows FILE ROWS puts so many rows of nine columns
 * into a new SQLite file with one prepared statement in one transaction, no journal, no index.
 */
#include <sqlite3.h>

static int insert_all(sqlite3 *db, long rows) {
    sqlite3_stmt *s;
    if (sqlite3_prepare_v2(db, "INSERT INTO r VALUES(?,?,?,?,?,?,?,?,?)", -1, &s, NULL)) return 1;
    char text[24];
    for (long i = 0; i < rows; i++) {
        snprintf(text, sizeof text, "%ld.%03ld", 1 + i % 7, i % 1000);
        sqlite3_bind_int64(s, 1, i / 270);
        sqlite3_bind_int64(s, 2, i % 40);
        sqlite3_bind_int64(s, 3, i % 16);
        sqlite3_bind_int64(s, 4, i % 3);
        sqlite3_bind_double(s, 5, 0.0254 * (double)(i % 1000));
        sqlite3_bind_text(s, 6, text, -1, SQLITE_STATIC);
        sqlite3_bind_int64(s, 7, i % 5);
        sqlite3_bind_double(s, 8, 0.0436 + (double)(i % 2) / 100);
        sqlite3_bind_int64(s, 9, i % 130);
        if (sqlite3_step(s) != SQLITE_DONE) return 1;
        sqlite3_reset(s);
    }
    return sqlite3_finalize(s);
}

int main(int argc, char **argv) {
    if (argc != 3) {
        fprintf(stderr, "usage: insert_rows FILE ROWS\n");
        return 2;
    }
    sqlite3 *db;
    remove(argv[1]);
    int bad = sqlite3_open(argv[1], &db) ||
              sqlite3_exec(db,
                           "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; BEGIN;"
                           "CREATE TABLE r(job, tag, subject, entry, value REAL, text TEXT, unit, "
                           "at REAL, line)",
                           NULL, NULL, NULL) ||
              insert_all(db, strtol(argv[2], NULL, 10)) ||
              sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    if (bad) fprintf(stderr, "insert_rows: %s\n", sqlite3_errmsg(db));
    sqlite3_close(db);
    return bad;
}
