/* The series of one job: what both ways of following share. */
#include "compute/series_parts.h"

#include "compute/verdict.h"
#include "vocab/formula.h"
#include <math.h>

bool series_possible(const Vocab *v, TagId tag) {
    const Tag *t = &v->tags[tag];
    return t->kind == TAG_NUMBER;
}

bool series_is_read(const Tag *tag) {
    return tag->has_curve || !tag->is;
}

Str series_engine(const Job *j, Arena *a) {
    const Reading *r = job_fact(j, j->vocab->roles[ROLE_ENGINE]);
    if (r) return arena_str(a, reading_text(j, r));
    return arena_printf(a, "job %.*s", STR_ARG(j->name));
}

/* ---- what the quantity rests on ----------------------------------------------------------------
 */

typedef struct Inputs {
    const Vocab *v;
    bool *has;
    bool of[CLASS_MOST]; /* the classes these are read on */
    bool items, places;
} Inputs;

static void add_input(void *ctx, TagId tag);

static void add_past(Inputs *in, const Formula *f) {
    if (!f) return;
    if ((f->kind == F_FIRST || f->kind == F_PREVIOUS || f->kind == F_READ) && f->tag != TAG_NONE)
        add_input(in, f->tag);
    if (f->kind == F_LOST) {
        add_input(in, f->tag);
        add_input(in, f->tag2);
    }
    add_past(in, f->a);
    add_past(in, f->b);
}

static void add_input(void *ctx, TagId tag) {
    Inputs *in = ctx;
    if (in->has[tag]) return;
    in->has[tag] = true;
    const Tag *t = &in->v->tags[tag];
    ClassKind kind = in->v->classes[t->of].kind;
    in->of[t->of] = true;
    in->items |= kind == CLASS_ITEM;
    in->places |= kind == CLASS_PLACE && t->of != CLASS_ENGINE;
    if (!t->is) return;
    formula_inputs(t->is, add_input, in);
    add_past(in, t->is);
}

/* ---- series and points -------------------------------------------------------------------------
 */

static Str words_of(const Follow *f, TagId fact, SubjectId id) {
    return arena_str(f->a, state_words(f->end, fact, id));
}

static Str group_of(const Follow *f, SubjectId id) {
    if (f->ask->group_by != TAG_NONE) return words_of(f, f->ask->group_by, id);
    const Subject *s = &f->j->subjects[id];
    if (s->kind != SUBJECT_ITEM || s->up == SUBJECT_NONE) return (Str){0};
    return arena_str(f->a, f->j->subjects[s->up].name);
}

/* The part in use at a subject: of the tag that names its class's parts, else the one asked for. */
static Str part_of(const Follow *f, SubjectId id) {
    const Class *k = &f->v->classes[f->j->subjects[id].cls];
    if (k->kind == CLASS_ITEM) return words_of(f, k->part_tag, id);
    for (uint8_t i = 0; i < f->j->card_count; i++) {
        const CardUse *use = &f->j->cards[i];
        if (str_ieq(use->name, f->ask->part) && state_card_applies(f->end, use, id))
            return arena_str(f->a, use->name);
    }
    return (Str){0};
}

static bool limits_series(Follow *f, const Force *force, const Series *s, SubjectId id) {
    if (force->kind != EVENT_LIMIT || force->tag != f->ask->tag) return false;
    if (force->has_at && !same_condition(force->at, s->at)) return false;
    return force_applies(f->end_eval, force, id);
}

static void add_limits(Follow *f, Series *s, SubjectId id) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < f->end->force_count; i++)
        n += limits_series(f, &f->end->forces[i], s, id);
    if (!n) return;
    s->limits = arena_array(f->a, n, sizeof *s->limits);
    for (uint32_t i = 0; i < f->end->force_count; i++) {
        const Force *force = &f->end->forces[i];
        if (!limits_series(f, force, s, id)) continue;
        s->limits[s->limit_count++] = (SeriesLimit){.by = arena_str(f->a, force->by),
                                                    .text = arena_str(f->a, force->text),
                                                    .range = force->range};
    }
}

Series *follow_series(Follow *f, SubjectId id, Str place, Str item, Str began, uint32_t points) {
    SeriesList *out = f->out;
    arena_grow(f->scratch, out->items, out->count, out->room);
    Series *s = &out->items[out->count++];
    *s = (Series){.id = id,
                  .engine = f->engine,
                  .subject = subject_name(f->j, id, f->a),
                  .place = place,
                  .item = item,
                  .group = group_of(f, id),
                  .part = part_of(f, id),
                  .began = began,
                  .is_item = f->is_item,
                  .at = NAN,
                  .shown = say_unit(f->j, f->ask->tag, SYSTEM_NONE),
                  .run_end = NAN,
                  .run_start = NAN,
                  .engine_end = NAN,
                  .points = arena_array(f->a, points, sizeof(SeriesPoint)),
                  .room = points};
    return s;
}

bool follow_skips(const Follow *f, uint32_t entry) {
    Str path = f->j->sources[f->j->entries[entry].source]->path;
    for (uint32_t i = 0; i < f->skip.count; i++) {
        if (str_eq(f->skip.items[i], path)) return true;
    }
    return false;
}

/* Of a place: of the engine, as long as that only grew. */
static double run_of_engine(Follow *f, Series *s, uint32_t entry) {
    uint32_t falls = fitted_falls(f->fitted, entry);
    if (!s->count) s->falls = falls;
    return s->falls == falls ? fitted_engine(f->fitted, entry) : NAN;
}

static double run_at(Follow *f, Series *s, SubjectId id, uint32_t entry) {
    if (!f->fitted) return NAN;
    if (!f->is_item) return run_of_engine(f, s, entry);
    if (f->run) return f->run[(size_t)entry * f->j->subject_count + id];
    return fitted_time(f->fitted, id);
}

/* What the fact asked for says of the same thing in the same entry; NULL: nothing. */
static const Str *said_with(Follow *f, SubjectId id, uint32_t entry) {
    const Job *j = f->j;
    if (!f->ask->has_with) return NULL;
    for (uint32_t i = chain_last(j, f->ask->with, id); i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (reading_entry(j, r) != entry || (r->flags & READ_BAD)) continue;
        Str *said = arena_alloc(f->a, sizeof *said);
        *said = arena_str(f->a, reading_text(j, r));
        return said;
    }
    return NULL;
}

void follow_point(Follow *f, Series *s, SubjectId id, uint32_t entry, double y, double step,
                  uint8_t st) {
    if (follow_skips(f, entry)) return;
    const Entry *e = &f->j->entries[entry];
    SeriesPoint p = {.run = run_at(f, s, id, entry),
                     .y = y,
                     .step = step,
                     .day = e->date.day,
                     .st = st,
                     .job = f->job_names[e->source],
                     .place = s->place,
                     .said = said_with(f, id, entry)};
    arena_grow(f->a, s->points, s->count, s->room);
    s->points[s->count++] = p;
}

/* ---- set aside ---------------------------------------------------------------------------------
 */

/* The tag and day that set aside what was read before an entry; TAG_NONE when nothing did since
 * the entry before. */
TagId follow_aside(const Follow *f, SubjectId id, uint32_t from, uint32_t to, uint32_t *when) {
    const Job *j = f->j;
    for (uint8_t i = 0; i < f->tag->set_aside_count; i++) {
        TagId by = f->tag->set_aside_by[i];
        for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(f->end, at)) {
            for (uint32_t r = chain_last(j, by, at); r != NO_READING; r = chain_prev(j, r)) {
                uint32_t entry = reading_entry(j, &j->readings[r]);
                if (!!(j->readings[r].flags & READ_BAD) || entry <= from || entry > to) continue;
                *when = entry;
                return by;
            }
            if (at == SUBJECT_ENGINE) break;
        }
    }
    return TAG_NONE;
}

Str follow_began(const Follow *f, TagId by, uint32_t entry) {
    char day[DATE_TEXT];
    Date date = {f->j->entries[entry].date.day, -1};
    return arena_printf(f->a, "after %.*s, %s", STR_ARG(f->v->tags[by].name), date_text(date, day));
}

/* ---- a job -------------------------------------------------------------------------------------
 */

static Str name_of_path(Str path) {
    size_t from = path.n;
    while (from > 0 && path.p[from - 1] != '/')
        from--;
    Str name = str_skip(path, from);
    return str_ends(name, STR(".job")) ? (Str){name.p, name.n - 4} : name;
}

static void name_jobs(Follow *f) {
    f->job_names = arena_array(f->scratch, SOURCE_MOST, sizeof *f->job_names);
    for (uint8_t i = 0; i < f->j->source_count; i++)
        f->job_names[i] = arena_str(f->a, name_of_path(f->j->sources[i]->path));
}

/* What each item had run at the end of each entry, for those who ask out of order. */
static void run_table(Follow *f) {
    const Job *j = f->j;
    f->run = arena_array(f->scratch, (size_t)j->subject_count * j->entry_count + 1, sizeof *f->run);
    for (uint32_t e = 0; e < j->entry_count; e++) {
        fitted_to(f->fitted, e);
        for (uint32_t i = 0; i < j->classes[f->tag->of].count; i++) {
            SubjectId id = j->classes[f->tag->of].ids[i];
            f->run[(size_t)e * j->subject_count + id] = fitted_time(f->fitted, id);
        }
    }
}

/* Where a log without `continues` takes up: for the engine's next log, which has no places yet. */
static void close_series(Follow *f, Series *s, SubjectId id) {
    if (!f->fitted || f->j->entry_count == 0) return;
    s->engine_end = fitted_engine(f->fitted, f->j->entry_count - 1);
    for (uint32_t e = 0; e < f->j->entry_count; e++) {
        s->run_start = fitted_engine(f->fitted, e);
        if (f->j->entries[e].source == 0 && f->j->entries[e].date.day != DAY_NONE) break;
    }
    s->run_lost = s->falls != fitted_falls(f->fitted, f->j->entry_count - 1);
    if (!f->is_item) return;
    s->run_end = fitted_time(f->fitted, id);
    s->fitted_end = fitted_now(f->fitted, id);
}

static bool wanted(const Follow *f, SubjectId id) {
    if (!f->ask->part.n) return true;
    if (f->v->classes[f->j->subjects[id].cls].kind == CLASS_ITEM &&
        str_ieq(part_of(f, id), f->ask->part))
        return true;
    for (uint8_t i = 0; i < f->j->card_count; i++) {
        const CardUse *use = &f->j->cards[i];
        if (str_ieq(use->name, f->ask->part) && state_card_applies(f->end, use, id)) return true;
    }
    return false;
}

/* Only what is kept goes to the list: of a whole book it is held as long as the answer. */
static void finish(Follow *f, SeriesList *out) {
    SeriesList *all = f->out;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < all->count; i++) {
        Series *s = &all->items[i];
        if (!s->count && !s->left_out.suspect && !s->left_out.beyond) continue;
        SubjectId id = s->id;
        if (!wanted(f, id)) continue;
        add_limits(f, s, id);
        close_series(f, s, id);
        all->items[kept++] = *s;
    }
    Series *items = arena_array(f->a, out->count + kept + 1, sizeof *items);
    if (out->count) memcpy(items, out->items, out->count * sizeof *items);
    if (kept) memcpy(items + out->count, all->items, kept * sizeof *items);
    out->items = items;
    out->count += kept;
    out->room = out->count + 1;
    out->repeats = all->repeats;
}

/* Places that a head carries about come to sit at others: only the states tell. */
static bool has_carried(const Follow *f) {
    const SubjectList *all = &f->j->classes[f->tag->of];
    for (uint32_t i = 0; i < all->count; i++) {
        if (f->j->subjects[all->ids[i]].kind == SUBJECT_CARRIED) return true;
    }
    return false;
}

static bool uses_part(const Job *j, Str part) {
    for (uint8_t i = 0; i < j->card_count; i++) {
        if (str_ieq(j->cards[i].name, part)) return true;
    }
    return false;
}

void series_of_job(const Job *j, const SeriesAsk *ask, Paths skip, Arena *a, Arena *scratch,
                   SeriesList *out) {
    const Vocab *v = j->vocab;
    if (j->entry_count == 0 || (ask->part.n && !uses_part(j, ask->part))) return;
    SeriesList all = {.repeats = out->repeats};
    Inputs in = {.v = v, .has = arena_array(scratch, v->tag_count, sizeof(bool))};
    add_input(&in, ask->tag);
    Follow f = {.j = j,
                .v = v,
                .tag = &v->tags[ask->tag],
                .ask = ask,
                .skip = skip,
                .a = a,
                .scratch = scratch,
                .out = &all,
                .end = state_at(j, INT32_MAX, scratch),
                .has_input = in.has,
                .has_class = in.of,
                .engine = series_engine(j, a)};
    f.is_item = v->classes[f.tag->of].kind == CLASS_ITEM;
    f.rests_on_items = in.items && in.places;
    f.end_eval = eval_new(f.end, scratch);
    name_jobs(&f);
    if (ask->over != TAG_NONE) f.fitted = fitted_start(f.end, ask->over, scratch);
    bool heads = f.end->carried && has_carried(&f);
    if (f.tag->has_curve || (series_is_read(f.tag) && !heads)) {
        if (f.fitted && f.is_item) run_table(&f);
        follow_readings(&f);
    } else {
        follow_states(&f);
    }
    finish(&f, out);
}
