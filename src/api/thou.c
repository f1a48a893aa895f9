/* The public interface, on the rooms below. Nothing is worked out here. */
#include "thou/thou.h"

#include "base/file.h"
#include "book/book.h"
#include "compute/check.h"
#include "compute/say.h"
#include "log/line.h"
#include <math.h>

struct thou_book {
    Book *book;
};

struct thou_job {
    thou_book *book;
    Arena *arena;
    Source source;
    BookDoor door;
    Job *job;
    Eval *eval;
    Findings findings;
    bool checked;
};

static thou_status trouble(thou_error *error, Str text) {
    if (error) {
        size_t n = text.n < sizeof error->text - 1 ? text.n : sizeof error->text - 1;
        memcpy(error->text, text.p, n);
        error->text[n] = 0;
    }
    return THOU_TROUBLE;
}

static thou_status unknown(thou_error *error, const char *what, const char *name) {
    char text[sizeof error->text];
    (void)snprintf(text, sizeof text, "there is no %s '%s'", what, name);
    trouble(error, str_from(text));
    return THOU_UNKNOWN;
}

/* ---- books ----------------------------------------------------------------------------------- */

thou_status thou_book_open(const char *folder, thou_book **out, thou_error *error) {
    Err err = {0};
    Book *book;
    if (!book_open(folder, &book, &err)) return trouble(error, str_from(err.text));
    const Findings *f = book_vocab_findings(book);
    if (f && f->errors) {
        trouble(error, f->items[0].message);
        book_close(book);
        return THOU_TROUBLE;
    }
    thou_book *b = calloc(1, sizeof *b);
    if (!b) {
        book_close(book);
        return trouble(error, STR("out of memory"));
    }
    b->book = book;
    *out = b;
    return THOU_OK;
}

void thou_book_close(thou_book *book) {
    if (!book) return;
    book_close(book->book);
    free(book);
}

/* ---- jobs -------------------------------------------------------------------------------------
 */

static bool read_day(const char *day, int32_t *out) {
    *out = INT32_MAX;
    if (!day) return true;
    Date date;
    size_t len;
    if (date_read(str_from(day), &date, &len) != DATE_OK || day[len]) return false;
    *out = date.day;
    return true;
}

static thou_status open_text(thou_job *j, const char *day, thou_job **out, thou_error *error) {
    int32_t until;
    if (!read_day(day, &until)) {
        thou_job_close(j);
        unknown(error, "date", day);
        return THOU_UNKNOWN;
    }
    j->door = (BookDoor){j->book->book, j->arena};
    Door door = book_door(&j->door);
    j->findings.arena = j->arena;
    j->job = job_read(book_vocab(j->book->book), &j->source, false, &door, j->arena, &j->findings);
    j->eval = eval_new(state_at(j->job, until, j->arena), j->arena);
    source_map(&j->source, j->arena);
    *out = j;
    return THOU_OK;
}

static thou_job *new_job(thou_book *book) {
    Arena *arena = arena_new();
    thou_job *j = arena_alloc(arena, sizeof *j);
    j->book = book;
    j->arena = arena;
    return j;
}

thou_status thou_job_open(thou_book *book, const char *name, const char *day, thou_job **out,
                          thou_error *error) {
    thou_job *j = new_job(book);
    Err err = {0};
    const char *path;
    Str text;
    if (!book_resolve(book->book, name, j->arena, &path, &err) ||
        !file_read(j->arena, path, &text, NULL, &err)) {
        trouble(error, str_from(err.text));
        thou_job_close(j);
        return err.kind == ERR_USAGE ? THOU_UNKNOWN : THOU_TROUBLE;
    }
    j->source = (Source){.path = str_from(path), .text = text};
    return open_text(j, day, out, error);
}

thou_status thou_job_read(thou_book *book, const char *path, const char *text, size_t size,
                          const char *day, thou_job **out, thou_error *error) {
    if (size > FILE_MAX) return trouble(error, STR("this text is larger than a log may be"));
    thou_job *j = new_job(book);
    j->source = (Source){.path = arena_str(j->arena, str_from(path)),
                         .text = arena_str(j->arena, (Str){text, size})};
    return open_text(j, day, out, error);
}

void thou_job_close(thou_job *job) {
    if (job) arena_free(job->arena); /* the handle itself is in it */
}

const char *thou_job_name(const thou_job *job) {
    return arena_str(job->arena, job->job->name).p;
}

size_t thou_job_findings(thou_job *job) {
    if (!job->checked) {
        check_job(job->eval, &job->findings);
        findings_sort(&job->findings);
        job->checked = true;
    }
    return job->findings.count;
}

thou_finding thou_job_finding(const thou_job *job, size_t index) {
    const Finding *f = &job->findings.items[index];
    Position at = source_position(f->source, f->span.off);
    return (thou_finding){.file = arena_str(job->arena, f->source->path).p,
                          .line = at.line,
                          .column = at.column,
                          .error = f->kind->level == LEVEL_ERROR,
                          .code = f->kind->code,
                          .message = arena_str(job->arena, f->message).p};
}

/* ---- values -------------------------------------------------------------------------------------
 */

typedef struct Asked {
    TagId tag;
    uint32_t at; /* position in the tag's class */
    const Unit *unit;
} Asked;

static thou_status resolve(thou_job *j, const char *tag, const char *subject, const char *unit,
                           Asked *out, thou_error *error) {
    const Vocab *v = j->job->vocab;
    out->tag = vocab_find(v, str_from(tag));
    if (out->tag == TAG_NONE || v->tags[out->tag].kind != TAG_NUMBER)
        return unknown(error, "quantity", tag);
    const Tag *t = &v->tags[out->tag];
    SubjectList list = {0};
    if (!job_subjects(j->job, t->of, str_from(subject), &list) || list.count != 1 ||
        j->job->subjects[list.ids[0]].cls != t->of)
        return unknown(error, "such place or part", subject);
    out->at = eval_state(j->eval)->index[list.ids[0]];
    out->unit =
        unit ? unit_find(str_from(unit), t->dim) : say_unit(j->job, out->tag, SYSTEM_NONE).unit;
    if (!out->unit || out->unit->dim != t->dim) return unknown(error, "fitting unit", unit);
    return THOU_OK;
}

static thou_value doubts_of(uint8_t st) {
    return (thou_value){.nominal = st & V_NOMINAL,
                        .partial = st & V_PARTIAL,
                        .carried = st & V_CARRIED,
                        .extended = st & V_EXTENDED};
}

static thou_status missing(thou_job *j, TagId tag, thou_value *out) {
    const Vocab *v = j->job->vocab;
    Str name = tag < v->tag_count ? v->tags[tag].name : (Str){0};
    *out = (thou_value){.missing = arena_str(j->arena, name).p};
    return THOU_MISSING;
}

static void locate(thou_job *j, uint32_t reading, thou_value *out) {
    const Reading *r = &j->job->readings[reading];
    const Source *s = j->job->sources[r->source];
    out->measured = true;
    out->file = arena_str(j->arena, s->path).p;
    out->line = 1;
    for (const char *p = s->text.p, *end = p + r->off; (p = memchr(p, '\n', (size_t)(end - p)));
         p++)
        out->line++;
}

thou_status thou_job_value(thou_job *job, const char *tag, const char *subject, const char *unit,
                           thou_value *out, thou_error *error) {
    Asked q = {0};
    thou_status status = resolve(job, tag, subject, unit, &q, error);
    if (status != THOU_OK) return status;
    const Col *c = eval_tag(job->eval, q.tag);
    uint8_t st = c->st[q.at];
    if (st & V_MISSING) return missing(job, st & V_SUSPECT ? q.tag : (TagId)c->from[q.at], out);
    *out = doubts_of(st);
    out->value = unit_from_si(q.unit, c->v[q.at]);
    out->unit = q.unit->name;
    if ((st & V_READ) && !(st & V_NOMINAL)) locate(job, c->from[q.at], out);
    return THOU_OK;
}

thou_status thou_job_value_at(thou_job *job, const char *tag, const char *subject, double at,
                              const char *at_unit, const char *unit, thou_value *out,
                              thou_error *error) {
    Asked q = {0};
    thou_status status = resolve(job, tag, subject, unit, &q, error);
    if (status != THOU_OK) return status;
    const Tag *t = &job->job->vocab->tags[q.tag];
    const Unit *over = t->has_curve ? unit_find(str_from(at_unit), t->over->dim) : NULL;
    if (!t->has_curve) return unknown(error, "curve", tag);
    if (!over || over->dim != t->over->dim) return unknown(error, "fitting unit", at_unit);
    const Curve *curve = eval_curve(job->eval, q.tag, q.at, F_TAG);
    uint8_t st = 0;
    double v = curve_at(curve, unit_to_si(over, at), t->reach, &st);
    if (st & V_MISSING) return missing(job, q.tag, out);
    *out = doubts_of(st);
    out->value = unit_from_si(q.unit, v);
    out->unit = q.unit->name;
    return THOU_OK;
}

const char *thou_version(void) {
    return THOU_VERSION;
}
