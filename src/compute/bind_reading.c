/* Lines `name [subject] = value`: the name, what it was taken on, and what kind of fact it is. */
#include "compute/bind.h"

#include <math.h>

/* The name alone, when the last word says what it was taken on. */
static Str without_subject(const Binder *b, Str left) {
    for (size_t i = left.n; i-- > 1;) {
        if (!is_blank(left.p[i])) continue;
        Str last = str_skip(left, i + 1);
        return looks_like_subject(b, last) ? str_trim((Str){left.p, i}) : left;
    }
    return left;
}

void unknown_tag(Binder *b, Str left) {
    if (!left.n) {
        fault(b, UNKNOWN_TAG, str_trim(b->line.whole),
              "nothing stands before the equals sign: write what was measured, or put > before it "
              "if this is a note");
        return;
    }
    Str hint = vocab_near(b->v, without_subject(b, left), b->job->arena);
    fault(b, UNKNOWN_TAG, left,
          "`%.*s` is no name the vocabulary has%.*s; if this is a note, put > before it",
          STR_ARG(left), STR_ARG(hint));
}

void put_dash(Binder *b, TagId tag, SubjectId subject, Str text) {
    Job *j = b->job;
    if (b->source_index != 0 || !text.n) return;
    arena_grow(j->arena, j->dashes, j->dash_count, j->dash_room);
    j->dashes[j->dash_count++] = (Dash){tag, subject, span_of(b, text).off};
}

void put_value(Binder *b, TagId id, SubjectId subject, const Value *v) {
    if (v->missing) {
        put_dash(b, id, subject, v->text);
        return;
    }
    uint16_t flags = v->unit_flags;
    if (v->suspect) flags |= READ_SUSPECT;
    if (v->struck || b->line.struck) flags |= READ_STRUCK;
    if (v->fraction) flags |= READ_FRACTION;
    Reading *r = next_reading(b);
    *r = (Reading){.value = unit_to_si(v->unit, v->number),
                   .at = NAN,
                   .unit = v->unit,
                   .off = span_of(b, v->text).off,
                   .len = (uint32_t)v->text.n,
                   .subject = subject,
                   .entry = b->entry,
                   .tag = id,
                   .flags = flags,
                   .source = b->source_index,
                   .places = v->places};
    if (!v->has_at) return;
    r->at = v->at;
    r->at_unit = v->at_unit;
    r->at_off = span_of(b, v->at_text).off;
    r->at_len = (uint32_t)v->at_text.n;
}

/* ---- what the subject part may hold beside the subject --------------------------------------- */

typedef struct Left { /* `[subject] [spot] [@ condition]` */
    Str subject;
    int spot; /* -1 without */
    bool has_at;
    double at;
    Str at_text;
    const Unit *at_unit;
} Left;

static int spot_at_end(const Tag *tag, Str *rest) {
    for (uint8_t i = 0; i < tag->spot_count; i++) {
        Str spot = tag->spots[i];
        if (rest->n < spot.n) continue;
        Str tail = str_skip(*rest, rest->n - spot.n);
        if (!str_ieq(tail, spot)) continue;
        if (rest->n > spot.n && !is_blank(rest->p[rest->n - spot.n - 1])) continue;
        *rest = str_trim((Str){rest->p, rest->n - spot.n});
        return i;
    }
    return -1;
}

static bool read_left(Binder *b, const Tag *tag, Str rest, Left *out) {
    *out = (Left){.spot = -1};
    size_t at = str_find_char(rest, '@', 0);
    if (at != SIZE_MAX) {
        Str text = str_trim(str_skip(rest, at + 1));
        if (!tag->has_curve) {
            fault(b, CONDITION_UNWANTED, str_skip(rest, at),
                  "`%.*s` is one value, not a curve: leave the @ out", STR_ARG(tag->name));
            return false;
        }
        if (!read_quantity(b, text, tag->over->dim, default_condition_unit(b, tag), &out->at,
                           &out->at_unit))
            return false;
        out->has_at = true;
        Number n;
        number_read(text, &n);
        out->at_text = (Str){text.p, n.len};
        rest = str_trim((Str){rest.p, at});
    }
    if (tag->spot_count) out->spot = spot_at_end(tag, &rest);
    out->subject = rest;
    return true;
}

/* ---- numbers --------------------------------------------------------------------------------- */

static bool conditions_fit(Binder *b, const Tag *tag, const Left *left, Values *values) {
    for (uint32_t i = 0; i < values->count; i++) {
        Value *v = &values->items[i];
        if (v->missing || !tag->has_curve) continue;
        if (left->has_at && v->has_at) {
            fault(b, CONDITION_UNWANTED, v->at_text,
                  "the condition stands before the equals sign already");
            return false;
        }
        if (!left->has_at && !v->has_at) {
            fault(b, CONDITION_MISSING, v->text,
                  "`%.*s` without its %.*s means nothing: write `%.*s @ ` and the %.*s",
                  STR_ARG(tag->name), STR_ARG(tag->over_name), STR_ARG(v->text),
                  STR_ARG(tag->over_name));
            return false;
        }
        if (!left->has_at) continue;
        v->has_at = true;
        v->at = left->at;
        v->at_text = left->at_text;
        v->at_unit = left->at_unit;
    }
    return true;
}

static void wrong_count(Binder *b, uint32_t places, const Values *values) {
    if (values->count == 1) {
        fault(b, EACH_NEEDED, b->line.right,
              "one value for %u places: write `= each %.*s` if it holds for every one of them",
              places, STR_ARG(b->line.right));
        return;
    }
    const char *advice = "write one for each, and - for one that is missing";
    for (uint32_t i = 1; i < values->count; i++) {
        const Value *v = &values->items[i];
        bool whole = !values->items[i - 1].places && !values->items[i - 1].fraction;
        if (v->fraction && whole)
            advice = "a whole number and a fraction are joined by a -, as 1-1/2";
    }
    fault(b, WRONG_COUNT, b->line.right, "%u values for %u %s: %s", values->count, places,
          places == 1 ? "place" : "places", advice);
}

static void put_spots(Binder *b, TagId id, SubjectId subject, const Values *values, int only) {
    for (uint32_t i = 0; i < values->count; i++) {
        uint32_t before = b->job->reading_count;
        put_value(b, id, subject, &values->items[i]);
        if (b->job->reading_count == before) continue;
        Reading *r = &b->job->readings[before];
        r->at = only >= 0 ? only : (double)i;
        r->flags |= READ_SPOT;
    }
}

static void put_each(Binder *b, TagId id, const SubjectList *list, const Values *values, int spot) {
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t before = b->job->reading_count;
        if (spot >= 0)
            put_spots(b, id, list->ids[i], values, spot);
        else
            put_value(b, id, list->ids[i], &values->items[0]);
        if (b->job->reading_count > before) b->job->readings[before].flags |= READ_EACH;
    }
}

/* A value is laid on what it was measured on: not on a head for its chambers, on R3 for its bolts,
 * nor in a list on valves that have no order. */
static bool subjects_fit(Binder *b, const Tag *tag, const Left *left, const SubjectList *list,
                         const Values *values) {
    if (list->unordered && values->count > 1) {
        fault(b, SUBJECT_NEEDED, left->subject,
              "a list of values needs an order: write I1..I6 on one line and E1..E6 on another");
        return false;
    }
    if (b->v->classes[tag->of].kind != CLASS_PLACE) return true;
    bool engine = list->count == 1 && list->ids[0] == SUBJECT_ENGINE && tag->of != CLASS_ENGINE;
    if (engine && tag->spot_count && values->count > 1) { /* one each, or the spots of one? */
        fault(
            b, SUBJECT_NEEDED, b->line.left,
            "several values need their places: write `%.*s 1 = ` for the %u spots of one %.*s, or "
            "`%.*s 1..%u = ` for one value each",
            STR_ARG(tag->name), tag->spot_count, STR_ARG(b->v->classes[tag->of].name),
            STR_ARG(tag->name), values->count);
        return false;
    }
    for (uint32_t i = 0; i < list->count; i++) {
        ClassId c = b->job->subjects[list->ids[i]].cls;
        if (c == tag->of || c == CLASS_ENGINE) continue;
        fault(b, SUBJECT_NEEDED, left->subject, "`%.*s` has several %.*s: write which, as %s",
              STR_ARG(left->subject), STR_ARG(b->v->classes[tag->of].plural),
              b->v->classes[tag->of].suffixed ? "R3a" : "B:2");
        return false;
    }
    return true;
}

static void put_values(Binder *b, const Tag *tag, TagId id, const Left *left,
                       const SubjectList *list, const Values *values) {
    if (values->each) {
        if (values->count != 1 || list->count < 2) {
            fault(b, WRONG_COUNT, b->line.right, "`each` says one value for several places");
            return;
        }
        put_each(b, id, list, values, left->spot);
        return;
    }
    bool one = list->count == 1;
    if (one && tag->spot_count &&
        (left->spot >= 0 ? values->count == 1 : values->count == tag->spot_count)) {
        if (left->spot >= 0 || values->count > 1) {
            put_spots(b, id, list->ids[0], values, left->spot);
            return;
        }
    }
    if (one && tag->has_curve && !left->has_at) { /* the points of one curve */
        for (uint32_t i = 0; i < values->count; i++)
            put_value(b, id, list->ids[0], &values->items[i]);
        return;
    }
    if (values->count != list->count) {
        wrong_count(b, list->count, values);
        return;
    }
    for (uint32_t i = 0; i < list->count; i++) {
        if (left->spot >= 0) {
            Values single = {.items = &values->items[i], .count = 1};
            put_spots(b, id, list->ids[i], &single, left->spot);
        } else {
            put_value(b, id, list->ids[i], &values->items[i]);
        }
    }
}

/* A count of places may not change once places were made from it. */
static bool layout_stays(Binder *b, TagId id, double value) {
    if (!b->laid_out) return true;
    bool counts = id == b->v->roles[ROLE_LAYOUT];
    for (ClassId c = 0; c < b->v->class_count; c++)
        counts |= b->v->classes[c].count == id;
    if (!counts) return true;
    for (uint32_t i = b->job->reading_count; i-- > 0;) {
        const Reading *r = &b->job->readings[i];
        if (r->tag != id || (r->flags & READ_BAD)) continue;
        if (r->value == value) return true;
        break;
    }
    if (b->line.struck) return true;
    fault(b, LAYOUT_CHANGED, b->line.right,
          "places were used above under another layout: write `%.*s` once, at the top of the log",
          STR_ARG(b->v->tags[id].name));
    return false;
}

static void bind_number(Binder *b, TagId id, Str rest) {
    const Tag *tag = &b->v->tags[id];
    Left left;
    if (!read_left(b, tag, rest, &left)) return;
    if (!read_subjects(b, tag->of, left.subject, &b->list)) return;
    if (!read_values(b, tag, id, b->line.right, &b->values)) return;
    if (!conditions_fit(b, tag, &left, &b->values) ||
        !subjects_fit(b, tag, &left, &b->list, &b->values))
        return;
    const Value *first = &b->values.items[0];
    if (tag->of == CLASS_ENGINE && b->values.count && !first->missing &&
        !layout_stays(b, id, unit_to_si(first->unit, first->number)))
        return;
    put_values(b, tag, id, &left, &b->list, &b->values);
}

/* ---- facts ----------------------------------------------------------------------------------- */

static Str unquoted(Str s) {
    if (s.n >= 2 && s.p[0] == '"' && s.p[s.n - 1] == '"') return (Str){s.p + 1, s.n - 2};
    return s;
}

Reading *put_words(Binder *b, TagId id, SubjectId subject, Str text) {
    Reading *r = add_reading(b, id, subject);
    Str words = unquoted(text);
    r->off = span_of(b, words).off;
    if (!words.n) r->off = span_of(b, text).off;
    r->len = (uint32_t)words.n;
    r->flags |= READ_WORDS;
    return r;
}

static void set_units(Binder *b, Str text) {
    System system = str_ieq(text, STR("metric")) ? SYSTEM_METRIC
                    : str_ieq(text, STR("us"))   ? SYSTEM_US
                                                 : SYSTEM_NONE;
    if (system == SYSTEM_NONE) {
        fault(b, NOT_A_CHOICE, text, "units are `metric` or `us`");
        return;
    }
    b->units = system;
    memset(b->default_units, 0, b->v->tag_count * sizeof *b->default_units);
}

/* A slip in `continues` takes another engine's readings for this one's. */
static void same_engine(Binder *b, TagId id, Str name) {
    const Job *j = b->job;
    for (uint32_t i = j->reading_count; i-- > 0;) {
        const Reading *r = &j->readings[i];
        if (r->tag != id || r->source == b->source_index || r->flags & READ_BAD) continue;
        Str other = reading_text(j, r);
        if (str_ieq(other, name)) return;
        fault(b, CONTINUES_OTHER, name,
              "the log that this one continues is of another engine, `%.*s`: all its readings "
              "count here; mend `continues` or this name",
              STR_ARG(other));
        return;
    }
}

/* `owner = T. Halloran; pays late`: words to the end of the line, and on the customer's sheet. */
static void check_remark(Binder *b, Str words) {
    if (words.p[0] == '"') return;
    for (size_t at = str_find_char(words, ';', 0); at != SIZE_MAX && at + 1 < words.n;
         at = str_find_char(words, ';', at + 1)) {
        if (!is_blank(words.p[at + 1])) continue;
        fault(b, REMARK_UNSPACED, str_skip(words, at),
              "a remark begins with a blank before its `;`, so this belongs to the words and is "
              "shown with them: put a blank there, or quotes around the words if it does");
        return;
    }
}

/* `by = JT, with = T1`: words to the end of the line, so that the second fact is told nowhere. */
static void check_equals(Binder *b, Str words) {
    bool whole = str_find_char(words, '\r', 0) == SIZE_MAX; /* else several lines: said already */
    if (words.p[0] == '"' || b->line.struck || !whole) return;
    size_t at = str_find(words, STR(" = "), 0);
    if (at == SIZE_MAX) return;
    fault(b, EQUALS_IN_WORDS, str_skip(words, at + 1),
          "these are all words of `%.*s`, and what is said behind this equals sign is not read: "
          "give it a line of its own, or put quotes around the words if it belongs to them",
          STR_ARG(b->line.left));
}

static void bind_words(Binder *b, TagId id, Str rest) {
    const Tag *tag = &b->v->tags[id];
    if (!read_subjects(b, tag->of, rest, &b->list)) return;
    check_remark(b, b->line.right);
    check_equals(b, b->line.right);
    if (tag->role == ROLE_UNITS && !b->line.struck) set_units(b, b->line.right);
    if (tag->role == ROLE_ENGINE && !b->line.struck) same_engine(b, id, unquoted(b->line.right));
    if (tag->role == ROLE_CONTINUES) bind_continues(b, unquoted(b->line.right));
    for (uint32_t i = 0; i < b->list.count; i++)
        put_words(b, id, b->list.ids[i], b->line.right);
}

static void bind_choice(Binder *b, TagId id, Str rest) {
    const Tag *tag = &b->v->tags[id];
    for (uint8_t i = 0; i < tag->choice_count; i++) {
        if (!str_ieq(tag->choices[i].name, b->line.right)) continue;
        if (!read_subjects(b, tag->of, rest, &b->list)) return;
        if (!layout_stays(b, id, tag->choices[i].number)) return;
        for (uint32_t k = 0; k < b->list.count; k++)
            put_words(b, id, b->list.ids[k], b->line.right)->value = tag->choices[i].number;
        return;
    }
    Str all = {0};
    for (uint8_t i = 0; i < tag->choice_count; i++)
        all = arena_printf(b->job->arena, "%.*s%s%.*s", STR_ARG(all), i ? ", " : "",
                           STR_ARG(tag->choices[i].name));
    fault(b, NOT_A_CHOICE, b->line.right, "`%.*s` is none of the choices for `%.*s`: %.*s",
          STR_ARG(b->line.right), STR_ARG(tag->name), STR_ARG(all));
}

static void bind_date(Binder *b, TagId id, Str rest) {
    Date day;
    size_t len;
    if (date_read(b->line.right, &day, &len) != DATE_OK || len != b->line.right.n) {
        fault(b, VALUE_FORM, b->line.right, "write the date as 2026-03-02");
        return;
    }
    if (!read_subjects(b, b->v->tags[id].of, rest, &b->list)) return;
    for (uint32_t i = 0; i < b->list.count; i++)
        put_words(b, id, b->list.ids[i], b->line.right)->value = day.day;
}

/* `8 x .015, many x .030 in`: sizes with counts; a size alone is one of it. */
static bool read_stock(Binder *b, const Tag *tag, TagId id, Str text, Stock *out) {
    uint32_t room = 0, count = 0;
    StockSize *sizes = NULL;
    const Unit *unit = NULL;
    uint16_t flags;
    for (Str rest = text; rest.n;) {
        size_t comma = str_find(rest, STR(", "), 0);
        Str one = str_before(rest, comma);
        rest = str_after(rest, comma);
        arena_grow(b->job->arena, sizes, count, room);
        StockSize *s = &sizes[count++];
        s->count = 1;
        size_t times = str_find(one, STR(" x "), 0);
        if (times != SIZE_MAX) {
            Str many = str_trim((Str){one.p, times});
            Number n;
            if (str_ieq(many, STR("many")))
                s->count = STOCK_MANY;
            else if (number_read(many, &n) == NUMBER_OK && n.len == many.n && n.value >= 0 &&
                     n.value < 1e6 && n.value == floor(n.value))
                s->count = (uint32_t)n.value;
            else {
                fault(b, VALUE_FORM, one,
                      "write how many of a size there are as `8 x .015` or `many x .030`");
                return false;
            }
            one = str_trim(str_skip(one, times + 3));
        }
        Number n;
        NumberFault bad = number_read(one, &n);
        if (bad != NUMBER_OK) return number_fault(b, one, &n, bad);
        s->size = n.value;
        Str name = str_trim(str_skip(one, n.len));
        if (!name.n) continue;
        const Unit *u = read_unit(b, name, tag->dim, NULL, tag->name);
        if (!u) return false;
        if (unit && u != unit) {
            fault(b, UNKNOWN_UNIT, text,
                  "write one unit for the whole stock, behind its last size");
            return false;
        }
        unit = u;
    }
    if (!unit) unit = default_unit(b, id, &flags);
    for (uint32_t i = 0; i < count; i++)
        sizes[i].size = unit_to_si(unit, sizes[i].size);
    *out = (Stock){sizes, count};
    return count > 0;
}

void note_unread(Binder *b, TagId tag) {
    Job *j = b->job;
    if (b->v->tags[tag].kind != TAG_STOCK || b->line.struck) return;
    arena_grow(j->arena, j->unread, j->unread_count, j->unread_room);
    j->unread[j->unread_count++] = (Unread){.tag = tag,
                                            .source = b->source_index,
                                            .entry = b->entry,
                                            .off = span_of(b, str_trim(b->line.whole)).off,
                                            .before = j->reading_count};
}

static void bind_stock(Binder *b, TagId id, Str rest) {
    const Tag *tag = &b->v->tags[id];
    Job *j = b->job;
    Stock stock;
    if (!read_subjects(b, tag->of, rest, &b->list) ||
        !read_stock(b, tag, id, b->line.right, &stock)) {
        note_unread(b, id);
        return;
    }
    arena_grow(j->arena, j->stocks, j->stock_count, j->stock_room);
    j->stocks[j->stock_count++] = stock;
    for (uint32_t i = 0; i < b->list.count; i++)
        put_words(b, id, b->list.ids[i], b->line.right)->value = j->stock_count - 1;
}

void bind_reading(Binder *b) {
    if (bind_limit_line(b)) return;
    Str rest;
    TagId id = match_name(b, b->line.left, &rest);
    if (id == TAG_NONE) {
        unknown_tag(b, b->line.left);
        return;
    }
    if (b->line.right.n == 0) {
        fault(b, VALUE_MISSING, b->line.left, "no value stands behind the equals sign");
        note_unread(b, id);
        return;
    }
    switch (b->v->tags[id].kind) {
    case TAG_NUMBER: bind_number(b, id, rest); break;
    case TAG_WORDS: bind_words(b, id, rest); break;
    case TAG_CHOICE: bind_choice(b, id, rest); break;
    case TAG_DATE: bind_date(b, id, rest); break;
    case TAG_STOCK: bind_stock(b, id, rest); break;
    case TAG_PART: bind_part(b, id, rest, b->line.right); break;
    case TAG_SET: bind_set(b, id, b->line.right); break;
    case TAG_PLACEMENT: bind_placement(b, id, rest, b->line.right); break;
    case TAG_BANK: bind_bank(b, rest, b->line.right); break;
    case TAG_CARRIER: bind_carrier(b, rest, b->line.right); break;
    case TAG_SCRAP: bind_scrap(b, rest, b->line.right); break;
    case TAG_GAUGE: bind_gauge(b, rest, b->line.right); break;
    }
}
