#include "compute/bind.h"

#include "base/utf8.h"
#include "compute/chain.h"
#include <math.h>
#include <stdarg.h>

const FindingKind bind_kinds[BIND_CODES] = {
    [UNKNOWN_TAG] = {"unknown-tag", LEVEL_ERROR, "a name the vocabulary does not have"},
    [UNKNOWN_SUBJECT] = {"unknown-subject", LEVEL_ERROR,
                         "no place or item the quantity is measured on"},
    [NO_SUCH_PLACE] = {"no-such-place", LEVEL_ERROR, "a place this engine does not have"},
    [SUBJECT_NEEDED] = {"subject-needed", LEVEL_ERROR, "a number that could mean several places"},
    [LAYOUT_MISSING] = {"layout-missing", LEVEL_ERROR,
                        "a place before the log says how many there are"},
    [LAYOUT_CHANGED] = {"layout-changed", LEVEL_ERROR, "the layout changes after places were used"},
    [BANK_FORM] = {"bank-form", LEVEL_ERROR, "a bank that is not said as `bank left = 1 3 5 7`"},
    [HEAD_FORM] = {"head-form", LEVEL_ERROR, "a head that is not fitted as `head B = left`"},
    [VALUE_MISSING] = {"value-missing", LEVEL_ERROR, "nothing stands behind the equals sign"},
    [NUMBER_FORM] = {"number-form", LEVEL_ERROR, "a number written so that it could be misread"},
    [UNKNOWN_UNIT] = {"unknown-unit", LEVEL_ERROR, "a unit nobody knows, or that means two things"},
    [WRONG_DIMENSION] = {"wrong-dimension", LEVEL_ERROR, "a unit of another kind of quantity"},
    [WRONG_COUNT] = {"wrong-count", LEVEL_ERROR, "more or fewer values than places"},
    [EACH_NEEDED] = {"each-needed", LEVEL_ERROR, "one value for many places without `each`"},
    [CONDITION_MISSING] = {"condition-missing", LEVEL_ERROR, "a point of a curve without its `@`"},
    [CONDITION_UNWANTED] = {"condition-unwanted", LEVEL_ERROR, "an `@` on what is no curve"},
    [NOT_A_CHOICE] = {"not-a-choice", LEVEL_ERROR, "a word that is none of the choices"},
    [VALUE_FORM] = {"value-form", LEVEL_ERROR, "something behind a value that cannot be read"},
    [GRID_HEAD] = {"grid-head", LEVEL_ERROR, "a column of a grid that cannot be read"},
    [GRID_CELLS] = {"grid-cells", LEVEL_ERROR, "a row with more or fewer cells than its head"},
    [BARS_UNSPACED] = {"bars-unspaced", LEVEL_ERROR, "a bar without blanks beside it"},
    [EQUALS_UNSPACED] = {"equals-unspaced", LEVEL_ERROR, "an equals sign without blanks beside it"},
    [LOOKS_LIKE_READING] = {"looks-like-reading", LEVEL_WARNING,
                            "a note that reads like a reading"},
    [REMARK_UNSPACED] = {"remark-unspaced", LEVEL_WARNING,
                         "a fact whose words hold what may be a remark"},
    [EQUALS_IN_WORDS] = {"equals-in-words", LEVEL_WARNING,
                         "a fact whose words hold what may be another line"},
    [CORRECTS_NOTHING] = {"corrects-nothing", LEVEL_ERROR,
                          "a correction of a day that has no entry"},
    [CORRECTS_UNSURE] = {"corrects-unsure", LEVEL_WARNING,
                         "a correction of what two entries of the day read"},
    [DATES_FAR] = {"dates-far", LEVEL_WARNING,
                   "an entry dated more than 30 years after the one above it"},
    [DATES_BACKWARDS] = {"dates-backwards", LEVEL_WARNING,
                         "an entry dated before the one above it"},
    [NOT_TEXT] = {"not-text", LEVEL_ERROR, "bytes that are no UTF-8 text"},
    [RANGE_FORM] = {"range-form", LEVEL_ERROR, "a limit or aim that cannot be read"},
    [LIMIT_AUTHOR] = {"limit-author", LEVEL_ERROR, "a limit that does not say who set it"},
    [JOB_NEAR] = {"job-near", LEVEL_WARNING, "a job's name that is nearly its file's"},
    [AUTHOR_NEAR] = {"author-near", LEVEL_WARNING, "an author of a limit that reads like another"},
    [LIMIT_IMPLAUSIBLE] = {"limit-implausible", LEVEL_WARNING,
                           "a limit or aim where no value can lie: a slip of the pen"},
    [SET_UNSAID] = {"set-unsaid", LEVEL_ERROR, "a bare # with no set, or two sets, in use"},
    [SET_NEAR] = {"set-near", LEVEL_WARNING, "a set met here first, named nearly like another"},
    [SLOT_MIXED] = {"slot-mixed", LEVEL_ERROR,
                    "an item alone at its place, and one in a slot beside it"},
    [ITEM_TWICE] = {"item-twice", LEVEL_ERROR,
                    "one item in two places, or two at one, in one entry"},
    [ITEM_SCRAPPED] = {"item-scrapped", LEVEL_ERROR, "a scrapped item is fitted"},
    [PART_MISSING] = {"part-missing", LEVEL_ERROR, "a part without its card"},
    [CONTINUES_MISSING] = {"continues-missing", LEVEL_ERROR,
                           "a job to go on from that cannot be read"},
    [CONTINUES_OTHER] = {"continues-other", LEVEL_WARNING,
                         "the job to go on from names another engine"},
    [GAUGE_FORM] = {"gauge-form", LEVEL_ERROR, "a gauge line that cannot be read"},
    [GAUGE_UNUSED] = {"gauge-unused", LEVEL_WARNING,
                      "a gauge found off with which nothing was read then"},
    [GAUGE_LATE] = {"gauge-late", LEVEL_WARNING,
                    "`with` below readings that its gauge would put right"},
    [TOO_MANY] = {"too-large", LEVEL_ERROR, "more than the program can hold"},
};
const size_t bind_kinds_count = BIND_CODES;

/* A line with two faults is one line that could not be read, and one that only lacks something
 * elsewhere, or is at odds with another, was read. */
static void count_error(Binder *b, BindCode code) {
    bool read = code == PART_MISSING || code == SLOT_MIXED || code == CORRECTS_NOTHING;
    bool counted = b->line.whole.n && b->faulty == b->line.whole.p;
    b->job->cards_missing += code == PART_MISSING;
    b->job->errors_beside += read || counted;
    if (!read) b->faulty = b->line.whole.p;
}

uint32_t job_unread(const Job *j) {
    return j->findings->errors - j->errors_beside;
}

Finding *fault(Binder *b, BindCode code, Str part, const char *format, ...) {
    if (!b->findings) return arena_alloc(b->job->arena, sizeof(Finding));
    if (bind_kinds[code].level == LEVEL_ERROR) count_error(b, code);
    va_list args;
    va_start(args, format);
    char text[1024];
    (void)vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return finding_add(b->findings, &bind_kinds[code], b->source, span_of(b, part), "%s", text);
}

void readings_grow(Binder *b) {
    Job *j = b->job;
    j->reading_room *= 2;
    Reading *grown = arena_bare_array(j->arena, j->reading_room, sizeof *grown);
    memcpy(grown, j->readings, j->reading_count * sizeof *grown);
    j->readings = grown;
}

Reading *add_reading(Binder *b, TagId tag, SubjectId subject) {
    Reading *r = next_reading(b);
    *r = (Reading){.value = NAN,
                   .at = NAN,
                   .subject = subject,
                   .tag = tag,
                   .entry = b->entry,
                   .source = b->source_index,
                   .flags = b->line.struck ? READ_STRUCK : 0};
    return r;
}

Event *add_event(Binder *b, EventKind kind) {
    Job *j = b->job;
    arena_grow(j->arena, j->events, j->event_count, j->event_room);
    Event *e = &j->events[j->event_count++];
    *e = (Event){.kind = kind,
                 .source = b->source_index,
                 .entry = b->entry,
                 .before = j->reading_count,
                 .subject = SUBJECT_NONE,
                 .subject2 = SUBJECT_NONE,
                 .tag = TAG_NONE};
    if (b->line.whole.n) e->span = span_of(b, str_trim(b->line.whole));
    return e;
}

static Entry *new_entry(Binder *b, Date date) {
    Job *j = b->job;
    arena_grow(j->arena, j->entries, j->entry_count, j->entry_room);
    b->entry = j->entry_count++;
    Entry *e = &j->entries[b->entry];
    *e = (Entry){.date = date, .source = b->source_index, .first_reading = j->reading_count};
    b->grid->on = false;
    return e;
}

/* What a heading is dated after: the entry above it. One without a time says no more than its day,
 * and may stand anywhere in it; of a heading with a time, the last time above it that day counts.
 * The first entry of a log comes after the last of the log that it continues. */
static Date date_above(const Binder *b, Date date) {
    const Job *j = b->job;
    uint32_t i = b->entry;
    if (i >= j->entry_count) return (Date){DAY_NONE, -1};
    Date above = j->entries[i].date;
    while (date.minute >= 0 && above.day == date.day && above.minute < 0 && i > 0 &&
           j->entries[i - 1].date.day == date.day)
        above = j->entries[--i].date;
    if (above.day == DAY_NONE && i > 0) above = j->entries[i - 1].date;
    return above;
}

static bool is_backwards(Date date, Date above) {
    if (above.day == DAY_NONE || (date.day == above.day && date.minute < 0)) return false;
    return date_cmp(date, above) < 0;
}

/* `2062` for 2026: all that goes by days would go wrong by it, from windows of gauges to trends. */
static void doubt_date(Binder *b, Date above) {
    static const int32_t far = 30 * 365 + 8; /* 30 years, their leap days with them */
    Date date = b->line.date;
    char was[DATE_TEXT];
    bool first = b->entry > 0 && b->job->entries[b->entry - 1].date.day == DAY_NONE;
    if (is_backwards(date, above))
        fault(b, DATES_BACKWARDS, b->line.whole,
              "this entry is dated before the %s (%s); what stands further down still counts as "
              "later: mend the date, or head it `DATE corrects DATE`",
              first ? "last one of the log that this one continues" : "one above it",
              date_text(above, was));
    else if (!first && above.day != DAY_NONE && date.day - above.day > far)
        fault(b, DATES_FAR, b->line.whole,
              "this entry is dated %d years after the one above it (%s): a slip in the year? An "
              "engine that comes back after so long has a log of its own, with `continues`",
              (date.day - above.day) / 365, date_text(above, was));
}

static void bind_heading(Binder *b) {
    Date above = date_above(b, b->line.date);
    Entry *e = new_entry(b, b->line.date);
    e->title = b->line.body;
    e->span = span_of(b, str_trim(b->line.whole));
    doubt_title(b);
    if (b->line.corrects) correct_entry(b, e);
    doubt_date(b, above);
}

static void bind_line(Binder *b) {
    if (b->line.remark.n) doubt_remark(b);
    switch (b->line.kind) {
    case LINE_NOTE: bind_note(b); break;
    case LINE_HEADING: bind_heading(b); break;
    case LINE_READING: bind_reading(b); break;
    case LINE_GRID: bind_grid(b); break;
    case LINE_END:
    case LINE_BLANK:
    case LINE_BROKEN: break;
    }
}

/* A carriage return with no line feed behind it; SIZE_MAX. */
static size_t lone_return(Str text) {
    size_t at = str_find_char(text, '\r', 0);
    while (at != SIZE_MAX && at + 1 < text.n && text.p[at + 1] == '\n')
        at = str_find_char(text, '\r', at + 2);
    return at;
}

/* In a file whose lines end so, all would be one line, and one title or note. */
static void check_line_ends(Binder *b) {
    size_t at = lone_return(b->source->text);
    if (at == SIZE_MAX) return;
    fault(b, NOT_TEXT, (Str){b->source->text.p + at, 1},
          "here is a carriage return without a line feed, which ends no line: save the file with "
          "line ends LF or CRLF");
}

static void check_text(Binder *b) {
    check_line_ends(b);
    size_t bad = utf8_bad(b->source->text);
    if (bad == SIZE_MAX) return;
    Str part = {b->source->text.p + bad, 1};
    if (part.p[0] == 0) {
        fault(b, NOT_TEXT, part, "this file holds a zero byte: it is no text file");
        return;
    }
    fault(b, NOT_TEXT, part, "this byte is no UTF-8: save the file as UTF-8 in your editor");
}

static void bind_text(Binder *b) {
    new_entry(b, (Date){DAY_NONE, -1});
    line_start(&b->lines, b->source, b->findings);
    for (line_next(&b->lines, &b->line); b->line.kind != LINE_END && !b->restart;
         line_next(&b->lines, &b->line))
        bind_line(b);
}

/* ---- going on from an earlier job ------------------------------------------------------------ */

static void start(Binder *b, const Vocab *v);

static bool read_already(const Job *j, const Source *s) {
    for (uint8_t i = 0; i < j->source_count; i++) {
        if (str_eq(j->sources[i]->path, s->path)) return true;
    }
    return false;
}

static Str base_name(Str path) {
    for (size_t i = path.n; i-- > 0;) {
        if (path.p[i] == '/') return str_skip(path, i + 1);
    }
    return path;
}

/* A log somewhere in the row could not be read, where faults go unsaid: whatever stands in it is
 * missing here, so it is said at the line that asks for the row. */
static void say_row_broken(Binder *b, Str name) {
    if (b->row == ROW_WHOLE || !b->findings) return;
    const Source *end = b->job->sources[b->job->source_count - 1];
    Str last = base_name(end->path);
    if (b->row == ROW_RING)
        fault(b, CONTINUES_MISSING, name,
              "jobs go on from each other in a ring: %.*s names one that goes on from it; take out "
              "the `continues` that is wrong",
              STR_ARG(last));
    else
        fault(b, CONTINUES_MISSING, name,
              "more than %d jobs go on from each other: what stands before %.*s is not known here; "
              "let one of them begin anew without `continues`, with its layout and what is fitted",
              SOURCE_MOST, STR_ARG(last));
    b->row = ROW_WHOLE; /* said once */
}

/* `continues = JOB`: that log comes first, so reading starts again with it. */
void bind_continues(Binder *b, Str name) {
    if (b->line.struck) return;
    if (b->continued) {
        say_row_broken(b, name);
        return;
    }
    Job *j = b->job;
    if (j->entries[b->entry].date.day != DAY_NONE) {
        fault(b, CONTINUES_MISSING, b->line.whole,
              "`%.*s` belongs at the top of the log, above the first entry", STR_ARG(b->line.left));
        return;
    }
    const Source *log = b->door && b->door->log ? b->door->log(b->door->ctx, name) : NULL;
    if (!log) {
        fault(b, CONTINUES_MISSING, name,
              "there is no job `%.*s` in this book to go on from: its places and hours are not "
              "known here",
              STR_ARG(name));
        return;
    }
    if (read_already(j, log) || j->source_count == SOURCE_MOST) {
        b->row = read_already(j, log) ? ROW_RING : ROW_LONG;
        say_row_broken(b, name);
        return;
    }
    if (b->source_index == 0) j->continues = span_of(b, str_trim(b->line.whole));
    b->restart = log;
}

/* Everything but the document itself back to the start: only a header has been read so far. */
static void forget(Binder *b) {
    Job *j = b->job;
    j->entry_count = j->reading_count = j->event_count = j->subject_count = 0;
    j->card_count = 0;
    j->errors_beside = j->cards_missing = 0;
    memset(j->classes, 0, sizeof j->classes);
    memset(j->place_count, 0, sizeof j->place_count);
    *b = (Binder){.job = j,
                  .v = b->v,
                  .source = b->source,
                  .source_index = b->source_index,
                  .findings = b->findings,
                  .door = b->door};
    start(b, b->v);
}

static void bind_source(Binder *b) {
    Findings before = {0};
    if (b->findings) before = *b->findings;
    bind_text(b);
    if (!b->restart) return;
    const Source *own = b->source, *earlier = b->restart;
    uint8_t index = b->source_index;
    Findings *findings = b->findings;
    if (findings) *findings = before;
    forget(b);
    b->source = earlier;
    b->source_index = b->job->source_count;
    b->job->sources[b->job->source_count++] = earlier;
    b->findings = NULL;
    bind_source(b);
    b->source = own;
    b->source_index = index;
    b->findings = findings;
    memset(b->unmade, 0, sizeof b->unmade); /* it was said of the earlier log, if at all */
    b->continued = true;
    bind_text(b);
    b->continued = false; /* the log that goes on from this one may have been met too */
}

enum { SUBJECTS_USUAL = 64 };

/* Number of readings a text of this size commonly holds: arrays are made once in most jobs. */
static void reserve(Job *j, size_t bytes) {
    j->reading_room = (uint32_t)(bytes / 12) + 16;
    j->readings = arena_bare_array(j->arena, j->reading_room, sizeof *j->readings);
    j->event_room = (uint32_t)(bytes / 128) + 16;
    j->events = arena_bare_array(j->arena, j->event_room, sizeof *j->events);
    j->subject_room = SUBJECTS_USUAL;
    j->subjects = arena_bare_array(j->arena, j->subject_room, sizeof *j->subjects);
}

static void start(Binder *b, const Vocab *v) {
    b->default_units = arena_array(b->job->arena, v->tag_count, sizeof *b->default_units);
    b->behind = arena_array(b->job->arena, v->class_count, sizeof *b->behind);
    b->keys_room = SUBJECTS_USUAL;
    b->keys = arena_bare_array(b->job->arena, b->keys_room, sizeof *b->keys);
    b->units = SYSTEM_NONE;
    b->grid = b->grids;
    memset(b->letter_class, CLASS_NONE, sizeof b->letter_class);
    for (ClassId c = 0; c < v->class_count; c++) {
        for (const char *l = v->classes[c].letters; *l; l++) {
            b->letter[(unsigned char)*l] = b->letter[(unsigned char)to_lower(*l)] = *l;
            if (v->classes[c].kind == CLASS_PLACE &&
                b->letter_class[(unsigned char)*l] == CLASS_NONE)
                b->letter_class[(unsigned char)*l] = c;
        }
    }
    for (int i = 0; i < CLASS_MOST; i++)
        b->set_in_use[i] = SUBJECT_NONE;
    subject_add(b, &(Subject){.cls = CLASS_ENGINE,
                              .kind = SUBJECT_PLACE,
                              .up = SUBJECT_NONE,
                              .home = SUBJECT_NONE});
}

/* `job = 26-041` in 26-014.job: others find the log by its file, and it is shown by its name. */
static void doubt_name(Binder *b, Str name, Str file) {
    enum { SLIPS_MOST = 2 };
    if (b->job->is_card || str_eq(name, file)) return; /* as nearly always */
    unsigned apart = near_distance(name, file, SLIPS_MOST);
    if (apart == 0 || apart > SLIPS_MOST) return;
    fault(b, JOB_NEAR, name,
          "this log calls itself `%.*s`, and its file `%.*s`, by which it is found: a slip in one "
          "of them?",
          STR_ARG(name), STR_ARG(file));
}

static void name_job(Binder *b) {
    Job *j = b->job;
    const Reading *r =
        j->vocab->roles[ROLE_JOB] == TAG_NONE ? NULL : job_fact(j, j->vocab->roles[ROLE_JOB]);
    j->name = base_name(j->sources[0]->path);
    size_t dot = str_find_char(j->name, '.', 0);
    if (dot != SIZE_MAX && dot > 0) j->name.n = dot;
    if (!r || r->source != 0) return;
    doubt_name(b, reading_text(j, r), j->name);
    j->name = reading_text(j, r);
}

static void slot_bases(Job *j) {
    uint8_t taken[CLASS_MOST] = {0}; /* slots at a place of each class */
    for (ClassId c = 0; c < j->vocab->class_count; c++) {
        const Class *k = &j->vocab->classes[c];
        if (k->kind != CLASS_ITEM) continue;
        j->slot_base[c] = taken[k->up];
        taken[k->up] += k->slot_count;
    }
}

Job *job_read(const Vocab *v, const Source *source, bool is_card, const Door *door, Arena *arena,
              Findings *findings) {
    Job *j = arena_bare_array(arena, 1, sizeof *j);
    *j = (Job){.vocab = v, .arena = arena, .is_card = is_card, .findings = findings};
    j->sources[0] = source;
    j->source_count = 1;
    slot_bases(j);
    reserve(j, source->text.n);
    Binder *b = arena_bare_array(arena, 1, sizeof *b);
    *b = (Binder){.job = j, .v = v, .source = source, .findings = findings, .door = door};
    start(b, v);
    check_text(b);
    bind_source(b);
    j->binder = b;
    if (!is_card) lay_out_rest(b);
    rename_items(b);
    j->units = b->units;
    place_corrections(b);
    chain_build(j);
    correct_gauges(b);
    name_job(b);
    return j;
}

const Reading *job_fact(const Job *j, TagId tag) {
    if (tag == TAG_NONE) return NULL;
    for (uint32_t i = chain_last(j, tag, SUBJECT_ENGINE); i != NO_READING; i = chain_prev(j, i)) {
        if (!(j->readings[i].flags & READ_BAD)) return &j->readings[i];
    }
    return NULL;
}

Str reading_text(const Job *j, const Reading *r) {
    return (Str){j->sources[r->source]->text.p + r->off, r->len};
}

double reading_step(const Reading *r) {
    return r->flags & READ_FRACTION ? 0 : unit_step(r->unit, r->places);
}

Str *circumstances(const Job *j, TagId tag, Arena *a) {
    Str *says = arena_array(a, j->reading_count, sizeof *says), now = {0};
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Reading *r = &j->readings[i];
        if (i == j->entries[r->entry].first_reading) now = (Str){0};
        if (r->tag == tag && !(r->flags & READ_STRUCK)) now = reading_text(j, r);
        says[i] = now;
    }
    return says;
}

/* Its line is read alone: a reader first looks through all of the text it is given. */
Str reading_remark(const Job *j, const Reading *r) {
    const Source *s = j->sources[r->source];
    uint32_t at = r->off;
    while (at > 0 && s->text.p[at - 1] != '\n')
        at--;
    size_t end = str_find_char(s->text, '\n', r->off);
    const Source alone = {.path = s->path,
                          .text = {s->text.p + at, (end == SIZE_MAX ? s->text.n : end) - at}};
    LineReader lines;
    line_start(&lines, &alone, NULL);
    Line line;
    line_next(&lines, &line);
    return line.remark;
}
