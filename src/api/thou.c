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
    int32_t until; /* the last day that counts */
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

__attribute__((format(printf, 2, 3))) static thou_status refuse(thou_error *error,
                                                                const char *format, ...) {
    char text[sizeof error->text];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(text, sizeof text, format, args);
    va_end(args);
    trouble(error, str_from(text));
    return THOU_UNKNOWN;
}

static thou_status unknown(thou_error *error, const char *what, const char *name) {
    return refuse(error, "there is no %s '%s'", what, name);
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
    if (!read_day(day, &j->until)) {
        thou_job_close(j);
        unknown(error, "date", day);
        return THOU_UNKNOWN;
    }
    j->door = (BookDoor){j->book->book, j->arena};
    Door door = book_door(&j->door);
    j->findings.arena = j->arena;
    j->job = job_read(book_vocab(j->book->book), &j->source, false, &door, j->arena, &j->findings);
    j->eval = eval_new(state_at(j->job, j->until, j->arena), j->arena);
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
    uint32_t at; /* position in the tag's class */
    const Unit *unit;
} Asked;

/* The one subject of a class that a text names, if the job has it. */
static bool names_one(thou_job *j, ClassId of, Str text, SubjectId *out) {
    SubjectList list = {0};
    if (!job_subjects(j->job, of, text, &list) || list.count != 1 ||
        j->job->subjects[list.ids[0]].cls != of)
        return false;
    *out = list.ids[0];
    return true;
}

/* The log may say that there is a place which none of its lines names: it is made when it is asked
 * for. What the log is blamed for must not hang on that, so it is checked before. */
static void make_places(thou_job *j, ClassId of) {
    (void)thou_job_findings(j);
    uint32_t before = j->job->subject_count;
    (void)job_places(j->job, of);
    if (j->job->subject_count == before) return;
    j->eval = eval_new(state_at(j->job, j->until, j->arena), j->arena);
}

/* A part is named by its place, too: of the day asked about. */
static thou_status look_up(thou_job *j, ClassId of, Str text, SubjectId *out) {
    const Class *k = &j->job->vocab->classes[of];
    bool many;
    if (k->kind != CLASS_ITEM || !names_one(j, k->up, text, out))
        return names_one(j, of, text, out) ? THOU_OK : THOU_UNKNOWN;
    *out = state_item_at(eval_state(j->eval), of, *out, &many);
    if (*out != SUBJECT_NONE) return THOU_OK;
    return many ? THOU_UNKNOWN : THOU_MISSING;
}

/* *at is its position in its class. THOU_MISSING: the place is there, and nothing sits at it. */
static thou_status find_subject(thou_job *j, ClassId of, const char *subject, uint32_t *at,
                                thou_error *error) {
    SubjectId id;
    Str text = str_from(subject);
    thou_status status = look_up(j, of, text, &id);
    if (status == THOU_UNKNOWN) {
        make_places(j, of);
        status = look_up(j, of, text, &id);
    }
    if (status == THOU_UNKNOWN) return unknown(error, "such place or part", subject);
    if (status == THOU_OK) *at = eval_state(j->eval)->index[id];
    return status;
}

static thou_status missing(thou_job *j, TagId tag, thou_value *out) {
    const Vocab *v = j->job->vocab;
    Str name = tag < v->tag_count ? v->tags[tag].name : (Str){0};
    *out = (thou_value){.missing = arena_str(j->arena, name).p};
    return THOU_MISSING;
}

static thou_status find_tag(const thou_job *j, const char *name, TagId *out, thou_error *error) {
    const Vocab *v = j->job->vocab;
    *out = vocab_find(v, str_from(name));
    bool number = *out != TAG_NONE && v->tags[*out].kind == TAG_NUMBER;
    return number ? THOU_OK : unknown(error, "quantity", name);
}

/* `shown` is the unit that the log's settings ask for. */
static thou_status find_unit(const char *name, const Unit *shown, const Unit **out,
                             thou_error *error) {
    *out = name ? unit_find(str_from(name), shown->dim) : shown;
    bool fits = *out && (*out)->dim == shown->dim;
    return fits ? THOU_OK : unknown(error, "fitting unit", name);
}

static thou_status resolve(thou_job *j, TagId tag, const char *subject, const char *unit,
                           Asked *out, thou_error *error) {
    ClassId of = j->job->vocab->tags[tag].of;
    thou_status status =
        find_unit(unit, say_unit(j->job, tag, SYSTEM_NONE).unit, &out->unit, error);
    return status == THOU_OK ? find_subject(j, of, subject, &out->at, error) : status;
}

static thou_value doubts_of(uint8_t st) {
    return (thou_value){.nominal = st & V_NOMINAL,
                        .partial = st & V_PARTIAL,
                        .carried = st & V_CARRIED,
                        .extended = st & V_EXTENDED};
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
    TagId id;
    thou_status status = find_tag(job, tag, &id, error);
    if (status != THOU_OK) return status;
    if (job->job->vocab->tags[id].has_curve)
        return refuse(error, "'%s' is a curve: ask thou_job_value_at where on it", tag);
    status = resolve(job, id, subject, unit, &q, error);
    if (status == THOU_MISSING) return missing(job, id, out);
    if (status != THOU_OK) return status;
    const Col *c = eval_tag(job->eval, id);
    uint8_t st = c->st[q.at];
    if (st & V_MISSING) return missing(job, st & V_SUSPECT ? id : (TagId)c->from[q.at], out);
    *out = doubts_of(st);
    out->value = unit_from_si(q.unit, c->v[q.at]);
    out->unit = q.unit->name;
    if ((st & V_READ) && !(st & V_NOMINAL)) locate(job, c->from[q.at], out);
    return THOU_OK;
}

/* The reading that a curve has at just this condition; NO_READING. */
static uint32_t reading_at(const Curve *c, double at) {
    if (c->st & V_NOMINAL) return NO_READING;
    if (c->st & V_EXTENDED) /* its points were moved to go through the one that is new */
        return same_condition(c->job->readings[c->point].at, at) ? c->point : NO_READING;
    const Point *p = curve_point(c, at);
    return p ? p->reading : NO_READING;
}

thou_status thou_job_value_at(thou_job *job, const char *tag, const char *subject, double at,
                              const char *at_unit, const char *unit, thou_value *out,
                              thou_error *error) {
    Asked q = {0};
    TagId id;
    const Unit *over;
    thou_status status = find_tag(job, tag, &id, error);
    if (status != THOU_OK) return status;
    const Tag *t = &job->job->vocab->tags[id];
    if (!t->has_curve) return unknown(error, "curve", tag);
    status = find_unit(at_unit, say_over(job->job, t), &over, error);
    if (status == THOU_OK) status = resolve(job, id, subject, unit, &q, error);
    if (status == THOU_MISSING) return missing(job, id, out);
    if (status != THOU_OK) return status;
    const Curve *curve = eval_curve(job->eval, id, q.at, F_TAG);
    double where = unit_to_si(over, at);
    uint8_t st = 0;
    double v = curve_at(curve, where, t->reach, &st);
    if (st & V_MISSING) return missing(job, id, out);
    uint32_t reading = reading_at(curve, where);
    *out = doubts_of(reading == NO_READING ? st : 0);
    out->value = unit_from_si(q.unit, v);
    out->unit = q.unit->name;
    if (reading != NO_READING) locate(job, reading, out);
    return THOU_OK;
}

const char *thou_version(void) {
    return THOU_VERSION;
}
