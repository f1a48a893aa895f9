#include "show/diff_parts.h"

#include <math.h>

/* ---- the table ----------------------------------------------------------------------------------
 */

typedef enum Column {
    COL_WHO,
    COL_TAG,
    COL_AT,
    COL_A,
    COL_B,
    COL_UNIT,
    COL_DIFF,
    COL_PERCENT
} Column;

static Table *new_table(const Diff *d) {
    Table *t = table_new(d->a);
    table_column(t, (TableColumn){.label = true}); /* the section says what it is */
    table_column(t, (TableColumn){.heading = STR("quantity"), .label = true});
    table_column(t, (TableColumn){.heading = STR("at"), .label = true});
    table_column(t, (TableColumn){.heading = STR("A"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("B"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("unit")});
    table_column(t, (TableColumn){.heading = STR("B\xC2\xA0-\xC2\xA0"
                                                 "A"),
                                  .align = ALIGN_POINT});
    table_column(t, (TableColumn){.heading = STR("%"), .align = ALIGN_POINT});
    return t;
}

static void add_row(const Diff *d, Table *t, const CompareRow *r, Str *last_who) {
    uint32_t row = table_row(t);
    Str who = diff_who(d, r);
    Tone tone = r->how == COMPARE_DOUBTED ? TONE_DOUBT : TONE_PLAIN;
    const Unit *unit = diff_unit(d, r);
    Str tag = d->v->tags[r->tag].name;
    if (r->kind == COMPARE_COMPUTED) tag = arena_printf(d->a, "= %.*s", STR_ARG(tag));
    if (!str_eq(who, *last_who)) table_put(t, row, COL_WHO, who, TONE_PLAIN);
    *last_who = who;
    table_put(t, row, COL_TAG, tag, TONE_PLAIN);
    table_put(t, row, COL_AT, diff_condition(d, r), TONE_PLAIN);
    table_put(t, row, COL_A, diff_side(d, r, 0), tone);
    table_put(t, row, COL_B, diff_side(d, r, 1), tone);
    if (unit) table_put(t, row, COL_UNIT, str_from(unit->name), TONE_PLAIN);
    table_put(t, row, COL_DIFF, diff_difference(d, r), TONE_PLAIN);
    table_put(t, row, COL_PERCENT, diff_percent(d, r), TONE_PLAIN);
}

/* ---- what is said beside it ---------------------------------------------------------------------
 */

typedef struct Counts {
    uint32_t same, not_again, only[2], doubted, changed;
    uint32_t unlisted; /* computed values that differ and are not asked for */
    bool computed, on_curve, nominal, carried, partial, suspect;
    Str curves; /* the tags that were compared through a curve */
    TagId last_curve;
} Counts;

static void count_marks(const Diff *d, Counts *n, const CompareRow *r) {
    n->computed |= r->kind == COMPARE_COMPUTED;
    for (int side = 0; side < 2; side++) {
        const CompareSide *s = &r->side[side];
        if (!s->there) continue;
        n->on_curve |= s->on_curve;
        n->nominal |= (s->st & V_NOMINAL) != 0;
        n->carried |= !s->on_curve && (s->st & (V_CARRIED | V_EXTENDED)) != 0;
        n->partial |= (s->st & V_PARTIAL) != 0;
        n->suspect |= (s->st & V_SUSPECT) != 0;
        if (!s->on_curve || r->tag == n->last_curve) continue;
        n->last_curve = r->tag;
        n->curves = arena_printf(d->a, "%.*s%s%.*s", STR_ARG(n->curves), n->curves.n ? ", " : "",
                                 STR_ARG(d->v->tags[r->tag].name));
    }
}

static Counts count(const Diff *d) {
    Counts n = {.last_curve = TAG_NONE, .curves = STR("")};
    for (uint32_t i = 0; i < d->c->count; i++) {
        const CompareRow *r = &d->c->rows[i];
        bool listed = diff_listed(d, r);
        if (listed) count_marks(d, &n, r);
        if (r->how == COMPARE_CHANGED && !diff_wanted(d, r)) n.unlisted++;
        if (r->how == COMPARE_CHANGED) n.changed++;
        if (r->how == COMPARE_DOUBTED) n.doubted++;
        if (r->kind == COMPARE_COMPUTED) continue;
        if (r->how == COMPARE_SAME && r->kind != COMPARE_PLACED) n.same++;
        if (r->how == COMPARE_NOT_AGAIN) n.not_again++;
        if (r->how == COMPARE_ONLY_A) n.only[0]++;
        if (r->how == COMPARE_ONLY_B) n.only[1]++;
    }
    return n;
}

static void say_line(const Diff *d, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void say_line(const Diff *d, const char *format, ...) {
    va_list args;
    va_start(args, format);
    fold_text(d->out, arena_vprintf(d->a, format, args), d->how->width, 2);
    va_end(args);
}

static void say_legend(const Diff *d, const Counts *n) {
    if (n->computed) say_line(d, "= computed from the readings.");
    if (n->on_curve)
        say_line(d,
                 "^ not read there: taken from the curve of its own readings, so that both are "
                 "compared at one condition (%.*s).",
                 STR_ARG(n->curves));
    if (n->suspect) say_line(d, "? doubted: nothing is worked out from it.");
    if (n->nominal) say_line(d, "* from a part card, not measured.");
    if (n->carried) say_line(d, "~ carried on from an older reading.");
    if (n->partial) say_line(d, "+ of the members that were read, not of all.");
}

/* The tags that only one side has, and of how many readings: "flow 10, chamber 6". */
static Str only_tags(const Diff *d, CompareHow how) {
    uint32_t *n = arena_array(d->a, d->v->tag_count + 1u, sizeof *n);
    Str text = STR("");
    for (uint32_t i = 0; i < d->c->count; i++) {
        const CompareRow *r = &d->c->rows[i];
        if (r->how == how && r->kind != COMPARE_COMPUTED) n[r->tag]++;
    }
    for (uint32_t t = 0; t < d->v->tag_count; t++) {
        if (!n[t]) continue;
        Str name = d->v->tags[t].name;
        text = arena_printf(d->a, "%.*s%s%.*s", STR_ARG(text), text.n ? ", " : "", STR_ARG(name));
        if (n[t] > 1) text = arena_printf(d->a, "%.*s (%u)", STR_ARG(text), n[t]);
    }
    return text;
}

static void say_rest(const Diff *d, const Counts *n) {
    if (n->changed + n->doubted == 0) say_line(d, "No reading differs.");
    if (n->unlisted)
        say_line(d, "%u computed value%s that no limit is set on differ%s too (--computed).",
                 n->unlisted, n->unlisted == 1 ? "" : "s", n->unlisted == 1 ? "s" : "");
    if (n->same) say_line(d, "%u read again to the same value.", n->same);
    if (n->not_again) say_line(d, "%u not read again.", n->not_again);
    for (int side = 0; side < 2 && !d->how->all; side++) {
        if (!n->only[side]) continue;
        say_line(d, "Only in %c: %.*s.", "AB"[side],
                 STR_ARG(only_tags(d, side ? COMPARE_ONLY_B : COMPARE_ONLY_A)));
    }
}

/* ---- all together -------------------------------------------------------------------------------
 */

/* Words can be long: they stand below the table. */
static void say_facts(const Diff *d, ClassId cls) {
    for (uint32_t i = 0; i < d->c->count; i++) {
        const CompareRow *r = &d->c->rows[i];
        if (r->cls != cls || r->kind != COMPARE_FACT || !diff_listed(d, r)) continue;
        Str who = diff_who(d, r), name = d->v->tags[r->tag].name;
        buf_puts(d->out, "  ");
        Str text = arena_printf(d->a, "%.*s%s%.*s: %.*s -> %.*s", STR_ARG(name), who.n ? " " : "",
                                (int)who.n, who.n ? who.p : "", STR_ARG(diff_side(d, r, 0)),
                                STR_ARG(diff_side(d, r, 1)));
        fold_text(d->out, text, d->how->width - 2, 4);
    }
}

static void class_section(const Diff *d, ClassId cls) {
    Table *t = new_table(d);
    Str last = STR("\n"); /* nobody's name */
    bool facts = false;
    for (uint32_t i = 0; i < d->c->count; i++) {
        const CompareRow *r = &d->c->rows[i];
        if (r->cls != cls || !diff_listed(d, r)) continue;
        facts |= r->kind == COMPARE_FACT;
        if (r->kind != COMPARE_FACT) add_row(d, t, r, &last);
    }
    if (!t->row_count && !facts) return;
    buf_putc(d->out, '\n');
    tone_text(d->out, cls == CLASS_ENGINE ? STR("engine") : d->v->classes[cls].plural, TONE_HEAD,
              d->how->colour);
    buf_putc(d->out, '\n');
    if (t->row_count) table_text(d->out, t, (TextStyle){d->how->width, d->how->colour, 2});
    if (facts) say_facts(d, cls);
}

static Diff diff_new(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how) {
    Diff d = {.out = out, .c = c, .e = {a, b}, .how = how, .a = arena_new()};
    d.j[0] = eval_job(a);
    d.j[1] = eval_job(b);
    d.v = d.j[1]->vocab;
    return d;
}

void diff_text(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how) {
    Diff d = diff_new(out, c, a, b, how);
    say_line(&d, "A  %.*s", STR_ARG(how->name[0]));
    say_line(&d, "B  %.*s", STR_ARG(how->name[1]));
    for (ClassId cls = 0; cls < d.v->class_count; cls++)
        class_section(&d, cls);
    Counts n = count(&d);
    buf_putc(out, '\n');
    say_legend(&d, &n);
    say_rest(&d, &n);
    arena_free(d.a);
}

void diff_json(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how) {
    Diff d = diff_new(out, c, a, b, how);
    table_json(out, diff_rows(&d));
    arena_free(d.a);
}

void diff_csv(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how) {
    Diff d = diff_new(out, c, a, b, how);
    table_csv(out, diff_rows(&d));
    arena_free(d.a);
}

bool diff_any(const Compare *c) {
    for (uint32_t i = 0; i < c->count; i++) {
        CompareHow how = c->rows[i].how;
        bool worked_out = c->rows[i].kind == COMPARE_COMPUTED;
        if (how == COMPARE_CHANGED || how == COMPARE_DOUBTED) return true;
        if (!worked_out && (how == COMPARE_ONLY_A || how == COMPARE_ONLY_B)) return true;
    }
    return false;
}
