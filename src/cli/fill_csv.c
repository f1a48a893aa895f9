/* thou fill --csv: what a tester or a spreadsheet wrote, through a map that is kept in the book. */
#include "cli/fill.h"

#include "base/utf8.h"
#include "book/import.h"

typedef struct Csv {
    Fill *f;
    const char *path;
    Str text;
    char separator;
    bool decimal_comma;
    CsvRecord *head;
    const char *map_path;
    ImportMap map;
    bool map_is_new;
    Import import;
} Csv;

static bool is_empty(Str text) {
    CsvReader r;
    csv_start(&r, text, ',');
    while (r.at < r.text.n && (unsigned char)r.text.p[r.at] <= ' ')
        r.at++;
    return r.at >= r.text.n;
}

static bool read_csv(Csv *c) {
    Run *run = c->f->run;
    if (!file_read(run->arena, c->path, &c->text, NULL, &run->err)) return false;
    if (is_empty(c->text)) return err_set(&run->err, ERR_USAGE, "%s is empty", c->path);
    size_t bad = utf8_bad(c->text);
    if (bad == SIZE_MAX) return true;
    return err_set(&run->err, ERR_USAGE,
                   "%s is no UTF-8 text (byte %zu): write it again as CSV in UTF-8", c->path,
                   bad + 1);
}

/* As it was said, else as the file's first line or the map says, else as the text itself shows. */
static bool settle_separator(Csv *c) {
    const OptionValue *given = &c->f->run->args.options[FILL_SEPARATOR];
    const OptionValue *decimal = &c->f->run->args.options[FILL_DECIMAL];
    c->decimal_comma = decimal->given ? decimal->number == 1 : c->map.decimal_comma;
    c->separator = given->given ? import_separator(str_from(given->text)) : csv_stated(c->text);
    if (!c->separator) c->separator = c->map.separator;
    if (!c->separator) c->separator = csv_sniff(c->text, c->decimal_comma);
    if (!c->separator)
        return err_set(&c->f->run->err, ERR_USAGE,
                       "%s: what parts its columns is not plain to see: say it with --separator "
                       "comma, semicolon or tab",
                       c->path);
    CsvReader r;
    c->head = arena_alloc(c->f->run->arena, sizeof *c->head);
    csv_start(&r, c->text, c->separator);
    if (csv_next(&r, c->f->run->arena, c->head) && !c->head->fault) return true;
    return err_set(&c->f->run->err, ERR_USAGE, "%s has no head that names its columns", c->path);
}

static const char *path_of_map(Csv *c) {
    Run *run = c->f->run;
    const char *folder = book_folder(c->f->book);
    const OptionValue *named = &run->args.options[FILL_MAP];
    Str name = named->given ? str_from(named->text) : book_name_of(c->path);
    size_t dot = named->given ? SIZE_MAX : str_find_char(name, '.', 1);
    if (dot != SIZE_MAX) name.n = dot;
    if (!name.n || name.p[0] == '.' || memchr(name.p, '/', name.n)) {
        err_set(&run->err, ERR_USAGE, "'%.*s' can be no map's name: say one with --map NAME",
                STR_ARG(name));
        return NULL;
    }
    bool here = strcmp(folder, ".") == 0 || !folder[0];
    return arena_printf(run->arena, "%s%s" BOOK_IMPORTS "/%.*s.map", here ? "" : folder,
                        here ? "" : "/", STR_ARG(name))
        .p;
}

static bool load_map(Csv *c) {
    Str text;
    Run *run = c->f->run;
    if (!file_read(run->arena, c->map_path, &text, NULL, &run->err)) return false;
    return import_map_read(book_vocab(c->f->book), c->map_path, text, run->arena, &c->map,
                           &run->err);
}

static bool propose_map(Csv *c) {
    Run *run = c->f->run;
    if (!settle_separator(c)) return false;
    Str text = import_map_propose(book_vocab(c->f->book), c->head, c->separator, c->decimal_comma,
                                  run->arena);
    if (!file_mkdirs(book_folder_of(c->map_path, run->arena), &run->err) ||
        !file_write(c->map_path, text, NULL, &run->err))
        return false;
    c->map_is_new = true;
    complain("%s was made from the head of %s: look it over before --append", c->map_path, c->path);
    return true;
}

static bool open_map(Csv *c) {
    Run *run = c->f->run;
    if (!book_folder(c->f->book))
        return err_set(&run->err, ERR_USAGE,
                       "the map of the columns is kept in a book, and %s is in none", c->f->path);
    c->map_path = path_of_map(c);
    if (!c->map_path) return false;
    if (!file_exists(c->map_path) && !propose_map(c)) return false;
    return load_map(c) && settle_separator(c);
}

static Str set_in_use(Csv *c, Job *j) {
    const OptionValue *set = &c->f->run->args.options[FILL_SET];
    if (set->given) return str_from(set->text);
    const Vocab *v = book_vocab(c->f->book);
    State *s = state_at(j, INT32_MAX, c->f->run->arena);
    if (v->classes[c->map.rows].kind == CLASS_ITEM)
        return state_words(s, v->classes[c->map.rows].set_tag, SUBJECT_ENGINE);
    for (uint32_t i = 0; i < c->map.count; i++) {
        for (ClassId k = 0; k < v->class_count; k++) {
            if (c->map.columns[i].tag != TAG_NONE && v->classes[k].kind == CLASS_ITEM &&
                v->classes[k].placement[0] == c->map.columns[i].tag)
                return state_words(s, v->classes[k].set_tag, SUBJECT_ENGINE);
        }
    }
    return (Str){0};
}

static Str entry_head(Csv *c) {
    Run *run = c->f->run;
    const Vocab *v = book_vocab(c->f->book);
    const char *slash = strrchr(c->path, '/');
    Str head = arena_printf(run->arena, "%.*s  Imported from %s\n", STR_ARG(fill_when(run)),
                            slash ? slash + 1 : c->path);
    static const struct {
        int option;
        Role role;
    } facts[] = {{FILL_BY, ROLE_BY}, {FILL_WITH, ROLE_WITH}};
    for (size_t i = 0; i < 2; i++) {
        const OptionValue *given = &run->args.options[facts[i].option];
        if (given->given && v->roles[facts[i].role] != TAG_NONE)
            head = arena_printf(run->arena, "%.*s%.*s = %s\n", STR_ARG(head),
                                STR_ARG(v->tags[v->roles[facts[i].role]].name), given->text);
    }
    return head;
}

/* Rows that the log would not read are skipped, with its own words. False: the fault is in no row.
 */
static bool skip_unread(Csv *c, const Look *look, uint32_t at, bool *again) {
    *again = false;
    for (const Finding *f = look_first_fault(look, at); f;
         f = look_first_fault(look, f->span.off + (f->span.len ? f->span.len : 1))) {
        bool found = false;
        for (uint32_t i = 0; i < c->import.count; i++) {
            ImportRow *row = &c->import.rows[i];
            uint32_t off = f->span.off - at;
            if (row->why.n || off < row->span.off || off >= row->span.off + row->span.len) continue;
            row->why = arena_str(c->f->run->arena, f->message);
            found = *again = true;
        }
        if (!found && !*again)
            return err_set(&c->f->run->err, ERR_USAGE, "%s: %.*s", c->map_path,
                           STR_ARG(f->message));
    }
    return true;
}

static uint32_t readings_behind(const Look *look, uint32_t at) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < look->job->reading_count; i++)
        n += look->job->readings[i].source == 0 && look->job->readings[i].off >= at;
    return n;
}

/* The entry with the rows that the log reads, every value of them. *look is NULL when no row is. */
static bool settle_rows(Csv *c, Str head, const Look **look, Str *entry, uint32_t *at) {
    Run *run = c->f->run;
    BookDoor *through = arena_alloc(run->arena, sizeof *through);
    *through = (BookDoor){.book = c->f->book, .arena = run->arena};
    Door *door = arena_alloc(run->arena, sizeof *door);
    *door = book_door(through);
    bool again = true;
    while (again) {
        *look = NULL;
        if (!import_taken(&c->import)) return true;
        *entry = import_entry(&c->import, head, run->arena);
        Str text = bench_joined(c->f->log.text, *entry, run->arena, at);
        *look = look_over(book_vocab(c->f->book), c->f->log.path, text, door, run->arena);
        if (!skip_unread(c, *look, *at, &again)) return false;
    }
    uint32_t n = readings_behind(*look, *at), expected = import_expected(&c->import);
    if (n == expected) return true;
    return err_set(&run->err, ERR_USAGE,
                   "%s would read %u of the %u values: is a block note (>>) open at its end?",
                   c->f->path, n, expected);
}

/* The same values of another day: a spring that has not changed, or a file that was taken before.
 */
static void say_again(const Csv *c) {
    Str heading = {0};
    uint32_t n = 0;
    for (uint32_t i = 0; i < c->import.count; i++) {
        const ImportRow *row = &c->import.rows[i];
        if (row->why.n || !row->again.n) continue;
        heading = row->again;
        n++;
    }
    if (!n) return;
    complain(
        "%u row%s the values that the log has below '%.*s': taken as measured again, for --day "
        "says another day",
        n, n == 1 ? " has" : "s have", STR_ARG(heading));
}

/* True when a row was skipped that is not in the log already. */
static bool say_skipped(const Csv *c) {
    bool any = false;
    uint32_t old = 0;
    for (uint32_t i = 0; i < c->import.count; i++) {
        const ImportRow *row = &c->import.rows[i];
        old += row->old;
        any |= row->why.n && !row->old;
        if (row->why.n) complain("%s:%u: skipped: %.*s", c->path, row->line, STR_ARG(row->why));
    }
    complain("%u row%s of %u to append, %u in the log already, %u skipped",
             import_taken(&c->import), import_taken(&c->import) == 1 ? "" : "s", c->import.count,
             old, c->import.count - import_taken(&c->import) - old);
    say_again(c);
    if (old && !c->f->run->args.options[FILL_DAY].given)
        complain("if these were measured again, say on which day: --day DATE");
    return any;
}

static void say_doubts(const Look *look, uint32_t at) {
    for (uint32_t i = 0; i < look->findings.count; i++) {
        const Finding *f = &look->findings.items[i];
        bool gap = strcmp(f->kind->code, "gap") == 0;
        if (f->source == &look->source && f->span.off >= at && !gap)
            complain("! %.*s [%s]", STR_ARG(f->message), f->kind->code);
    }
}

static ExitCode append(Csv *c, Str entry) {
    Run *run = c->f->run;
    uint32_t at;
    if (c->map_is_new) {
        complain("nothing was written: look %s over, then say it again", c->map_path);
        return EXIT_FINDINGS;
    }
    entry = bench_ends_as(c->f->log.text, entry, run->arena);
    Str whole = bench_joined(c->f->log.text, entry, run->arena, &at);
    if (!file_write(c->f->path, whole, &c->f->stamp, &run->err)) return EXIT_TROUBLE;
    complain("%u row%s appended to %s", import_taken(&c->import),
             import_taken(&c->import) == 1 ? " was" : "s were", c->f->path);
    return EXIT_FINE;
}

ExitCode fill_csv(Fill *f, Job *j) {
    Run *run = f->run;
    Csv c = {.f = f, .path = run->args.options[FILL_CSV].text};
    if (!read_csv(&c) || !open_map(&c)) return EXIT_TROUBLE;
    const OptionValue *day = &run->args.options[FILL_DAY];
    ImportAsk ask = {.csv = c.text,
                     .log = f->log.text,
                     .separator = c.separator,
                     .decimal_comma = c.decimal_comma,
                     .set = set_in_use(&c, j),
                     .day = day->given ? &day->date : NULL};
    const Look *look = NULL;
    Str entry = {0};
    uint32_t at = 0;
    if (!import_read(book_vocab(f->book), &c.map, &ask, run->arena, &c.import, &run->err) ||
        !settle_rows(&c, entry_head(&c), &look, &entry, &at))
        return EXIT_TROUBLE;
    bool skipped = say_skipped(&c);
    if (!look) return skipped || !c.import.count ? EXIT_FINDINGS : EXIT_FINE;
    say_doubts(look, at);
    bool write = run->args.options[FILL_APPEND].given;
    if (!write) out_add(&run->out, entry);
    ExitCode code = write ? append(&c, entry) : EXIT_FINE;
    return code == EXIT_FINE && skipped ? EXIT_FINDINGS : code;
}
