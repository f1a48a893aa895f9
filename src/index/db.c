/* SQLite: opening, statements, and its failures in words. */
#include "index/internal.h"

#include "base/hash.h"
#include "base/pages.h"
#include "vocab/texts.h"
#include <pthread.h>

const char *const statement_sql[STATEMENT_COUNT] = {
#define STATEMENT(id, sql) [id] = (sql),
#include "index/statements.def"
#undef STATEMENT
};

enum { BUSY_MS = 10000 };

bool db_fail(Index *x, Err *err) {
    return err_set(err, ERR_INDEX,
                   "the index '%s' failed: %s (it can be deleted; it is made again)",
                   x->path ? x->path : "in memory", sqlite3_errmsg(x->db));
}

sqlite3_stmt *db_statement(Index *x, StatementId id, Err *err) {
    sqlite3_stmt *s = x->statements[id];
    if (!s) {
        if (sqlite3_prepare_v3(x->db, statement_sql[id], -1, SQLITE_PREPARE_PERSISTENT, &s, NULL) !=
            SQLITE_OK) {
            db_fail(x, err);
            return NULL;
        }
        x->statements[id] = s;
    }
    sqlite3_reset(s);
    return s;
}

bool db_run(Index *x, sqlite3_stmt *s, Err *err) {
    int rc = sqlite3_step(s);
    if (rc != SQLITE_DONE && rc != SQLITE_ROW) return db_fail(x, err);
    sqlite3_reset(s);
    return true;
}

bool db_exec(Index *x, const char *sql, Err *err) {
    return sqlite3_exec(x->db, sql, NULL, NULL, NULL) == SQLITE_OK || db_fail(x, err);
}

void bind_str(sqlite3_stmt *s, int at, Str text) {
    if (text.n)
        sqlite3_bind_text64(s, at, text.p, text.n, SQLITE_STATIC, SQLITE_UTF8);
    else
        sqlite3_bind_null(s, at);
}

void bind_some(sqlite3_stmt *s, int at, int64_t v, bool there) {
    if (there)
        sqlite3_bind_int64(s, at, v);
    else
        sqlite3_bind_null(s, at);
}

Str column_str(sqlite3_stmt *s, int at) {
    const unsigned char *p = sqlite3_column_text(s, at);
    return (Str){(const char *)p, (size_t)sqlite3_column_bytes(s, at)};
}

void db_close(Index *x) {
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        sqlite3_finalize(x->statements[i]);
        x->statements[i] = NULL;
    }
    sqlite3_close(x->db);
    x->db = NULL;
    x->interned = NULL;
}

static int64_t pragma_number(Index *x, const char *sql) {
    sqlite3_stmt *s;
    int64_t n = -1;
    if (sqlite3_prepare_v2(x->db, sql, -1, &s, NULL) != SQLITE_OK) return -1;
    if (sqlite3_step(s) == SQLITE_ROW) n = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    return n;
}

/* The text of the schema and of the vocabulary, and the form of what is stored. */
static int64_t version_of(const Index *x) {
    Str schema = {(const char *)text_schema_sql, text_schema_sql_size};
    return (int64_t)(hash_bytes(schema) ^ book_vocab_hash(x->book) ^ INDEX_FORMAT);
}

static bool same_version(Index *x, Err *err) {
    sqlite3_stmt *s = db_statement(x, S_ABOUT_GET, err);
    if (!s) return false;
    bind_str(s, 1, STR("version"));
    bool same = sqlite3_step(s) == SQLITE_ROW && sqlite3_column_int64(s, 0) == version_of(x);
    sqlite3_reset(s);
    if (!same) return false;
    s = db_statement(x, S_ABOUT_GET, err);
    bind_str(s, 1, STR("next job"));
    if (sqlite3_step(s) == SQLITE_ROW) x->next_job = sqlite3_column_int64(s, 0);
    sqlite3_reset(s);
    return look_bounds(x, err);
}

static DbState state_of(Index *x) {
    Err quiet = {0};
    int64_t mark = pragma_number(x, "PRAGMA application_id");
    if (mark < 0 || sqlite3_errcode(x->db) == SQLITE_NOTADB) return DB_DAMAGED;
    if (mark == 0) return DB_DAMAGED; /* empty, or no file of ours */
    if (mark != INDEX_MARK || pragma_number(x, "PRAGMA user_version") != INDEX_FORMAT)
        return DB_OTHER;
    if (same_version(x, &quiet)) return DB_SOUND;
    return quiet.kind ? DB_DAMAGED : DB_OTHER;
}

static void settle(Index *x) {
    sqlite3_busy_timeout(x->db, BUSY_MS);
    sqlite3_db_config(x->db, SQLITE_DBCONFIG_DEFENSIVE, 0, NULL);
    sqlite3_extended_result_codes(x->db, 1);
}

/* SQLite's cache of pages lies in memory that is there at once. Pages of its own, or of the mapped
 * file, are each met by a fault, which takes longer than reading them: that was half of what asking
 * costs. Once a process, before SQLite is first used; later, or elsewhere, it has its own. */
static void give_page_memory(void) {
    enum { SLOT = 8192 + 512, SLOTS = 224 };
    size_t size = pages_round((size_t)SLOT * SLOTS);
    void *memory = pages_take(size);
    if (!memory) return;
    if (sqlite3_config(SQLITE_CONFIG_PAGECACHE, memory, SLOT, SLOTS) != SQLITE_OK)
        pages_give(memory, size, 0);
}

static pthread_once_t page_memory = PTHREAD_ONCE_INIT;

DbState db_open(Index *x, const char *path, Err *err) {
    (void)err;
    if (!file_exists(path)) return DB_MISSING;
    if (trust_read(x, x->arena) == TRUST_LOST) return DB_LOST;
    pthread_once(&page_memory, give_page_memory);
    int rc = sqlite3_open_v2(path, &x->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL);
    if (rc != SQLITE_OK) {
        db_close(x);
        return DB_DAMAGED;
    }
    settle(x);
    DbState state = state_of(x);
    if (state != DB_SOUND) db_close(x);
    return state;
}

/* Nothing is journaled: a file that was not finished is thrown away. */
static bool write_schema(Index *x, Err *err) {
    if (!db_exec(x,
                 "PRAGMA page_size=8192; PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA "
                 "locking_mode=EXCLUSIVE;"
                 "PRAGMA cache_size=-65536; PRAGMA temp_store=MEMORY; BEGIN",
                 err) ||
        !db_exec(x, (const char *)text_schema_sql, err))
        return false;
    char pragmas[120];
    (void)snprintf(pragmas, sizeof pragmas, "PRAGMA application_id=%d; PRAGMA user_version=%d",
                   INDEX_MARK, INDEX_FORMAT);
    if (!db_exec(x, pragmas, err)) return false;
    sqlite3_stmt *s = db_statement(x, S_ABOUT_PUT, err);
    if (!s) return false;
    bind_str(s, 1, STR("version"));
    sqlite3_bind_int64(s, 2, version_of(x));
    x->next_job = 1;
    return db_run(x, s, err) && insert_names(x, err);
}

bool db_create(Index *x, const char *path, Err *err) {
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
    if (sqlite3_open_v2(path ? path : ":memory:", &x->db, flags, NULL) != SQLITE_OK) {
        err_set(err, ERR_INDEX, "the index '%s' cannot be made: %s", path ? path : "in memory",
                sqlite3_errmsg(x->db));
        db_close(x);
        return false;
    }
    settle(x);
    if (write_schema(x, err)) return true;
    db_close(x);
    return false;
}

bool db_to_memory(Index *x, Err *err) {
    sqlite3 *copy = NULL;
    bool ok = sqlite3_open_v2(":memory:", &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX,
                              NULL) == SQLITE_OK;
    sqlite3_backup *b = ok ? sqlite3_backup_init(copy, "main", x->db, "main") : NULL;
    ok = b && sqlite3_backup_step(b, -1) == SQLITE_DONE;
    sqlite3_backup_finish(b);
    if (!ok) {
        sqlite3_close(copy);
        return db_fail(x, err);
    }
    db_close(x);
    x->db = copy;
    x->in_memory = true;
    settle(x);
    return true;
}
