#include "book/template.h"

#include "log/line.h"
#include "vocab/texts.h"

#define TEMPLATE_FILE "template.job"

typedef struct Fill {
    const Source *from;
    const Vocab *vocab;
    const TemplateWord *words;
    unsigned count;
    Job *job; /* whose places get rows; NULL: rows are left out, to find out the places */
    Arena *arena;
    Buf out;
    bool rows;
    Err *err;
} Fill;

bool template_of(const Book *b, Arena *a, Source *out, Err *err) {
    const char *folder = book_folder(b);
    Str own = folder ? arena_printf(a, "%s/%s", folder, TEMPLATE_FILE) : (Str){0};
    *out = (Source){.path = STR(TEMPLATE_FILE),
                    .text = {(const char *)text_template_job, text_template_job_size}};
    if (!own.n || !file_exists(own.p)) return true;
    out->path = own;
    return file_read(a, own.p, &out->text, NULL, err);
}

static Str take_line(Str *rest) {
    size_t end = str_find_char(*rest, '\n', 0);
    Str line = {rest->p, end == SIZE_MAX ? rest->n : end};
    *rest = str_skip(*rest, line.n + 1);
    return line;
}

/* The name in the first braces of s; *before gets what stands in front, *after what behind. */
static bool find_braces(Str s, Str *before, Str *name, Str *after) {
    size_t open = str_find_char(s, '{', 0);
    size_t close = open == SIZE_MAX ? SIZE_MAX : str_find_char(s, '}', open);
    if (close == SIZE_MAX) return false;
    *before = (Str){s.p, open};
    *name = (Str){s.p + open + 1, close - open - 1};
    *after = str_skip(s, close + 1);
    return true;
}

static const TemplateWord *find_word(const Fill *f, Str name) {
    for (unsigned i = 0; i < f->count; i++) {
        if (str_eq(f->words[i].name, name)) return &f->words[i];
    }
    return NULL;
}

/* As wide as what it stands for, so that bars stay in line. */
static void put_row(Fill *f, Str before, Str place, size_t width, Str after) {
    buf_add(&f->out, before);
    buf_add(&f->out, place);
    buf_fill(&f->out, ' ', place.n < width ? width - place.n : 0);
    buf_add(&f->out, after);
    buf_putc(&f->out, '\n');
}

/* False when the class has no places in this engine. */
static bool put_rows(Fill *f, ClassId c, Str before, Str name, Str after) {
    uint32_t count = f->job && job_places(f->job, c) ? f->job->place_count[c] : 0;
    for (uint32_t i = 0; i < count; i++) {
        Str place = subject_name(f->job, f->job->classes[c].ids[i], f->arena);
        put_row(f, before, place, name.n + 2, after);
    }
    f->rows |= count > 0;
    return count > 0;
}

typedef enum LineFate { LINE_DONE, LINE_NO_PLACES, LINE_FAULTY } LineFate;

static LineFate put_line(Fill *f, Str line) {
    Str before, name, after;
    size_t start = f->out.n;
    Str rest = line;
    for (; find_braces(rest, &before, &name, &after); rest = after) {
        const TemplateWord *word = find_word(f, name);
        ClassId c = word ? CLASS_NONE : vocab_class(f->vocab, name);
        if (c != CLASS_NONE) {
            f->out.n = start;
            return put_rows(f, c, before, name, after) ? LINE_DONE : LINE_NO_PLACES;
        }
        if (!word) {
            err_set(f->err, ERR_USAGE,
                    "%.*s: {%.*s} is no word of a template and no class of place",
                    STR_ARG(f->from->path), STR_ARG(name));
            return LINE_FAULTY;
        }
        if (word->text.n == 0) {
            f->out.n = start;
            return LINE_DONE;
        }
        buf_add(&f->out, before);
        buf_add(&f->out, word->text);
    }
    buf_add(&f->out, rest);
    buf_putc(&f->out, '\n');
    return LINE_DONE;
}

/* A paragraph is dropped whole when its rows have no places: a head without rows says nothing. */
static bool fill_all(Fill *f) {
    Str rest = f->from->text;
    size_t paragraph = 0;
    bool dropping = false;
    while (rest.n) {
        Str line = take_line(&rest);
        if (str_starts(line, STR(";;"))) continue;
        if (str_trim(line).n == 0) {
            if (!dropping) buf_putc(&f->out, '\n');
            dropping = false;
            paragraph = f->out.n;
            continue;
        }
        if (dropping) continue;
        LineFate fate = put_line(f, line);
        if (fate == LINE_FAULTY) return false;
        if (fate == LINE_NO_PLACES) {
            f->out.n = paragraph;
            dropping = true;
        }
    }
    while (f->out.n > 1 && f->out.p[f->out.n - 1] == '\n' && f->out.p[f->out.n - 2] == '\n')
        f->out.n--;
    return true;
}

static Job *read_back(Book *b, BookDoor *through, Str text, Err *err) {
    Arena *a = through->arena;
    Source *source = arena_alloc(a, sizeof *source);
    *source = (Source){.path = STR("new.job"), .text = text};
    source_map(source, a);
    Findings findings = {.arena = a};
    Door door = book_door(through);
    Job *j = job_read(book_vocab(b), source, false, &door, a, &findings);
    findings_sort(&findings);
    for (uint32_t i = 0; i < findings.count; i++) {
        const Finding *f = &findings.items[i];
        if (f->kind->level != LEVEL_ERROR) continue;
        Str line = source_line(source, source_line_at(source, f->span.off));
        err_set(err, ERR_USAGE, "the new log would say `%.*s`: %.*s", STR_ARG(line),
                STR_ARG(f->message));
        return NULL;
    }
    return j;
}

bool template_fill(Book *b, const Source *from, const TemplateWord *words, unsigned count, Arena *a,
                   Str *out, bool *rows, Err *err) {
    BookDoor through = {.book = b, .arena = a};
    Fill f = {.from = from,
              .vocab = book_vocab(b),
              .words = words,
              .count = count,
              .arena = a,
              .err = err};
    bool ok = fill_all(&f);
    if (!ok) goto done;
    f.job = read_back(b, &through, arena_str(a, buf_str(&f.out)), err);
    buf_clear(&f.out);
    ok = f.job && fill_all(&f);
    if (!ok) goto done;
    Str text = arena_str(a, buf_str(&f.out));
    ok = read_back(b, &through, text, err) != NULL;
    if (!ok) goto done;
    *out = text;
    *rows = f.rows;
done:
    buf_release(&f.out);
    return ok;
}

/* Facts of another engine, or of another job about the same one. */
static bool is_its_own(const Vocab *v, TagId tag) {
    static const Role own[] = {ROLE_JOB, ROLE_TITLE, ROLE_ENGINE, ROLE_OWNER, ROLE_CONTINUES};
    for (size_t i = 0; i < sizeof own / sizeof *own; i++) {
        if (tag != TAG_NONE && v->roles[own[i]] == tag) return true;
    }
    return false;
}

bool template_head(Book *b, const char *path, Arena *a, Str *out, Err *err) {
    Source *source = arena_alloc(a, sizeof *source);
    source->path = str_from(path);
    if (!file_read(a, path, &source->text, NULL, err)) return false;
    const Vocab *v = book_vocab(b);
    LineReader lines;
    Line line;
    Str text = {0}, rest;
    line_start(&lines, source, NULL);
    for (line_next(&lines, &line); line.kind != LINE_END && line.kind != LINE_HEADING;
         line_next(&lines, &line)) {
        if (line.kind != LINE_READING || line.struck) continue;
        TagId tag = vocab_match(v, line.left, &rest);
        if (tag != TAG_NONE && tag == v->roles[ROLE_JOB]) continue;
        text = arena_printf(a, "%.*s%s%s%.*s = %.*s", STR_ARG(text), text.n ? "\n" : "",
                            is_its_own(v, tag) ? "; as there: " : "", STR_ARG(line.left),
                            STR_ARG(line.right));
    }
    *out = text;
    return true;
}
