/* Gauges found off, and the readings they put right. */
#include "compute/bind.h"

#include "compute/chain.h"

static bool gauge_fault(Binder *b, Str part) {
    fault(b, GAUGE_FORM, part,
          "write a gauge found off as `gauge HM2 = reads .003 in high, 2031-03-02 .. 2031-03-09` "
          "(high or low, a value "
          "with its unit or a percentage)");
    return false;
}

static bool read_window(Binder *b, Str text, Event *e) {
    size_t len;
    e->from = (Date){INT32_MIN, -1};
    e->until = (Date){INT32_MAX, -1};
    if (!text.n) return true;
    if (date_read(text, &e->from, &len) != DATE_OK) return gauge_fault(b, text);
    Str rest = str_trim(str_skip(text, len));
    if (!str_starts(rest, STR(".."))) return gauge_fault(b, text);
    rest = str_trim(str_skip(rest, 2));
    if (!rest.n) return true;
    if (date_read(rest, &e->until, &len) != DATE_OK || len != rest.n) return gauge_fault(b, rest);
    return date_cmp(e->from, e->until) <= 0 || gauge_fault(b, text);
}

/* `installed height, bare height reads ...`: what the gauge is off on. Nothing said: all it
 * measures. */
static bool read_gauged(Binder *b, Str text, Event *e) {
    uint32_t count = 0;
    for (int i = 0; i < 4; i++)
        e->only[i] = TAG_NONE;
    while (text.n) {
        size_t comma = str_find_char(text, ',', 0);
        Str one = str_before(text, comma);
        text = str_after(text, comma);
        TagId tag = vocab_find(b->v, one);
        if (tag == TAG_NONE || count == 4) {
            unknown_tag(b, one);
            return false;
        }
        e->only[count++] = tag;
    }
    return true;
}

/* `[TAG, TAG] reads V high|low[, DATE .. DATE]` */
void bind_gauge(Binder *b, Str name, Str right) {
    Event e = {.kind = EVENT_GAUGE, .text = name};
    size_t reads = str_starts(right, STR("reads ")) ? 0 : str_find(right, STR(" reads "), 0);
    if (!name.n || reads == SIZE_MAX) {
        gauge_fault(b, right);
        return;
    }
    if (!read_gauged(b, str_trim((Str){right.p, reads}), &e)) return;
    Str what = str_trim(str_skip(right, reads + (reads ? 7 : 6))), window = {0};
    size_t comma = str_find_char(what, ',', 0);
    if (comma != SIZE_MAX) {
        window = str_trim(str_skip(what, comma + 1));
        what = str_trim((Str){what.p, comma});
    }
    bool high = str_ends(what, STR(" high")), low = str_ends(what, STR(" low"));
    what = str_trim((Str){what.p, what.n - (high ? 5 : low ? 4 : 0)});
    Number n;
    if ((!high && !low) || number_read(what, &n) != NUMBER_OK) {
        gauge_fault(b, right);
        return;
    }
    Str unit = str_trim(str_skip(what, n.len));
    e.unit = unit_find(unit, DIM_LENGTH);
    e.by = unit;
    if (n.value < 0) { /* minus and high: which way? */
        gauge_fault(b, what);
        return;
    }
    if (!unit.n || !e.unit) {
        gauge_fault(b, unit.n ? unit : what);
        return;
    }
    e.relative = e.unit->dim == DIM_NUMBER;
    e.value = unit_diff_to_si(e.unit, n.value) * (high ? 1 : -1);
    if (e.relative && e.value <= -1) {
        fault(b, GAUGE_FORM, what,
              "a gauge that reads 100 percent low shows nothing, and no value can be put right by "
              "it: write less than 100 percent");
        return;
    }
    if (!read_window(b, window, &e) || b->line.struck) return;
    Event *out = add_event(b, EVENT_GAUGE);
    e.span = out->span;
    e.before = out->before;
    e.source = out->source;
    e.entry = out->entry;
    e.subject = e.subject2 = SUBJECT_NONE;
    e.tag = TAG_NONE;
    *out = e;
}

/* How much it reads high in SI units of dim; 0 when it measures something else. `lb` is a mass on
 * the scale and a force on the spring tester: the reading decides. */
static double error_in(const Event *gauge, Dim dim) {
    const Unit *unit = gauge->unit->dim == dim ? gauge->unit : unit_find(gauge->by, dim);
    if (!unit || unit->dim != dim) return 0;
    return gauge->value / unit_diff_to_si(gauge->unit, 1) * unit_diff_to_si(unit, 1);
}

/* Whether the gauge was off on such a reading, taken with it. */
static bool was_off(const Job *j, const Event *gauge, const Reading *r) {
    int32_t day = j->entries[reading_entry(j, r)].date.day;
    bool meant = gauge->only[0] == TAG_NONE;
    for (int i = 0; i < 4; i++)
        meant |= gauge->only[i] == r->tag;
    if (!meant || r->flags & READ_WORDS || day < gauge->from.day || day > gauge->until.day)
        return false;
    if (gauge->only[0] == TAG_NONE && j->vocab->tags[r->tag].made_of != TAG_NONE)
        return false; /* picked from stock, not measured */
    Dim dim = j->vocab->tags[r->tag].dim;
    return gauge->relative ? dim != DIM_NUMBER : error_in(gauge, dim) != 0;
}

static void correct(const Job *j, const Event *gauge, Reading *r) {
    if (gauge->relative)
        r->value /= 1 + gauge->value;
    else
        r->value -= error_in(gauge, j->vocab->tags[r->tag].dim);
    r->flags |= READ_GAUGED;
    chain_value_changed(j, r);
}

typedef struct Gauge {
    const Event *line;
    bool named;   /* something was read with it, on whatever day */
    bool applies; /* and put right */
} Gauge;

static uint32_t gather_gauges(Binder *b, Gauge gauges[static GAUGES_MOST]) {
    Job *j = b->job;
    uint32_t count = 0;
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        if (e->kind != EVENT_GAUGE) continue;
        if (count == GAUGES_MOST) {
            Span span = e->source ? j->continues : e->span; /* it may stand in the log before */
            fault(b, TOO_MANY, (Str){b->source->text.p + span.off, span.len},
                  "this log tells of more than %d gauges that were off; from here on none is put "
                  "right",
                  GAUGES_MOST);
            break;
        }
        gauges[count++] = (Gauge){.line = e};
    }
    return count;
}

/* A slip in its name or its days: nothing is put right, and nobody would see it. */
static void say_unused(Binder *b, const Gauge *g) {
    if (g->applies || g->line->source != 0) return;
    fault(b, GAUGE_UNUSED, (Str){b->source->text.p + g->line->span.off, g->line->span.len},
          g->named
              ? "with `%.*s` nothing was read that this line puts right: mend its days, or what "
                "it is off on"
              : "nothing in this log is read with `%.*s`: mend the name here, or write `with = ` "
                "in the entries in which it was used",
          STR_ARG(g->line->text));
}

/* What a correction that names no instrument was read with: that of the reading whose place it
 * takes, else the last of that entry. */
static Str instrument_then(const Job *j, uint32_t i, const Str *with) {
    const Reading *r = &j->readings[i];
    uint32_t home = reading_entry(j, r), looked = 0;
    for (uint32_t k = chain_prev(j, i); k != NO_READING && ++looked < 4096; k = chain_prev(j, k)) {
        const Reading *old = &j->readings[k];
        if (reading_entry(j, old) != home) break;
        if (same_condition(old->at, r->at)) return with[k];
    }
    uint32_t from = j->entries[home].first_reading, end = j->entries[home + 1].first_reading;
    return end > from ? with[end - 1] : (Str){0};
}

/* Per reading, the instrument it was read with. */
static const Str *instruments(const Job *j, TagId tag) {
    Str *with = circumstances(j, tag, j->arena);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        if (!with[i].n && j->entries[j->readings[i].entry].corrects)
            with[i] = instrument_then(j, i, with);
    }
    return with;
}

/* How many readings of its entry stand above reading `late`, a `with = `, and would be put right
 * had it stood above them. */
static uint32_t missed_by(const Job *j, uint32_t late, const Event *gauge) {
    uint32_t missed = 0;
    for (uint32_t i = j->entries[j->readings[late].entry].first_reading; i < late; i++)
        missed += !(j->readings[i].flags & READ_STRUCK) && was_off(j, gauge, &j->readings[i]);
    return missed;
}

/* `with = HM2` below what was read with it: that counts from its line on. */
static void doubt_late(Binder *b, uint32_t late, const Str *with, const Gauge *gauges,
                       uint32_t count) {
    const Job *j = b->job;
    const Reading *r = &j->readings[late];
    uint32_t first = j->entries[r->entry].first_reading;
    if (r->source || r->flags & READ_STRUCK || late == first || with[late - 1].n) return;
    for (uint32_t g = 0; g < count; g++) {
        uint32_t missed =
            str_ieq(gauges[g].line->text, with[late]) ? missed_by(j, late, gauges[g].line) : 0;
        if (!missed) continue;
        fault(
            b, GAUGE_LATE, reading_text(j, r),
            "`with` counts for what stands below it, and %u reading%s of this entry stand%s above: "
            "write it above what was read with `%.*s`, which was off; with another gauge, name "
            "that above them",
            missed, missed == 1 ? "" : "s", missed == 1 ? "s" : "", STR_ARG(with[late]));
        return;
    }
}

void correct_gauges(Binder *b) {
    Job *j = b->job;
    Gauge gauges[GAUGES_MOST];
    uint32_t count = gather_gauges(b, gauges);
    TagId tag = j->vocab->roles[ROLE_WITH];
    if (!count || tag == TAG_NONE) return;
    const Str *with = instruments(j, tag);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        Reading *r = &j->readings[i];
        Str instrument = with[i];
        for (uint32_t g = 0; g < count && instrument.n; g++) {
            if (!str_ieq(gauges[g].line->text, instrument)) continue;
            gauges[g].named = true;
            if (!was_off(j, gauges[g].line, r)) continue;
            gauges[g].applies = true;
            correct(j, gauges[g].line, r);
        }
    }
    for (uint32_t i = 0; i < j->reading_count; i++) {
        if (j->readings[i].tag == tag) doubt_late(b, i, with, gauges, count);
    }
    for (uint32_t g = 0; g < count; g++)
        say_unused(b, &gauges[g]);
}
