#include "book/plan_parts.h"

#include <math.h>

/* ---- grids and columns ----------------------------------------------------------------------- */

/* "heights" as "Heights". */
static Str titled(Arena *a, Str name) {
    Str out = arena_str(a, name);
    if (!out.n || out.p[0] < 'a' || out.p[0] > 'z') return out;
    return arena_printf(a, "%c%.*s", out.p[0] - 32, STR_ARG(str_skip(out, 1)));
}

PlanGrid *plan_grid(Planner *p, ClassId rows, const Form *form) {
    Plan *plan = p->plan;
    arena_grow(p->a, plan->grids, plan->count, plan->room);
    PlanGrid *g = &plan->grids[plan->count++];
    ClassKind kind = p->v->classes[rows].kind;
    *g = (PlanGrid){.form = form, .rows = rows};
    g->as_lines = rows == CLASS_ENGINE || (kind != CLASS_PLACE && kind != CLASS_ITEM);
    if (form) g->title = titled(p->a, form->name);
    return g;
}

static Str head_of(const Planner *p, const PlanColumn *c) {
    const Tag *tag = &p->v->tags[c->tag];
    Buf b = {0};
    buf_add(&b, tag->name);
    if (c->spot != SPOT_NONE) buf_printf(&b, " %.*s", STR_ARG(tag->spots[c->spot]));
    if (c->unit && c->unit->name[0]) buf_printf(&b, " %s", c->unit->name);
    if (c->at_text.n) buf_printf(&b, " @ %.*s", STR_ARG(c->at_text));
    Str head = arena_str(p->a, buf_str(&b));
    buf_release(&b);
    return head;
}

PlanColumn *plan_column(Planner *p, PlanGrid *g, TagId tag, uint8_t spot, double at, Str at_text) {
    arena_grow(p->a, g->columns, g->column_count, g->column_room);
    PlanColumn *c = &g->columns[g->column_count++];
    *c = (PlanColumn){.tag = tag, .spot = spot, .at = at, .at_text = at_text};
    if (p->v->tags[tag].kind == TAG_NUMBER) c->unit = say_unit(p->job, tag, SYSTEM_NONE).unit;
    c->head = head_of(p, c);
    if (!g->title.n) g->title = titled(p->a, p->v->tags[tag].name);
    return c;
}

void plan_want(Planner *p, PlanGrid *g, bool all) {
    g->wanted = arena_array(p->a, (size_t)g->row_count * g->column_count + 1, 1);
    g->lacks = arena_array(p->a, (size_t)g->row_count * g->column_count + 1, 1);
    for (uint32_t r = 0; r < g->row_count; r++) {
        for (uint32_t c = 0; c < g->column_count; c++) {
            uint32_t at = r * g->column_count + c;
            g->lacks[at] = plan_lacks(p, g, r, &g->columns[c]);
            g->wanted[at] = all || g->lacks[at];
        }
    }
}

Str plan_key(const Plan *p, const PlanGrid *g, uint32_t row, uint32_t column, Arena *a) {
    const PlanColumn *c = &g->columns[column];
    const Tag *tag = &p->job->vocab->tags[c->tag];
    Buf b = {0};
    buf_add(&b, tag->name);
    if (g->labels[row].n) buf_printf(&b, " %.*s", STR_ARG(g->labels[row]));
    if (c->spot != SPOT_NONE) buf_printf(&b, " %.*s", STR_ARG(tag->spots[c->spot]));
    if (c->at_text.n) buf_printf(&b, " @ %.*s", STR_ARG(c->at_text));
    Str key = arena_str(a, buf_str(&b));
    buf_release(&b);
    return key;
}

/* ---- forms ----------------------------------------------------------------------------------- */

/* How often the same curve stands before this column: its second column is its second point. */
static uint32_t nth_point(const Form *form, uint32_t column) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < column; i++)
        n += form->columns[i].tag == form->columns[column].tag;
    return n;
}

/* The log has a reading of it, or a dash where one is to stand. */
static bool is_begun(const Planner *p, TagId tag) {
    if (p->job->chain->row[tag] != CHAIN_NO_ROW) return true;
    for (uint32_t i = 0; i < p->job->dash_count; i++) {
        if (p->job->dashes[i].tag == tag) return true;
    }
    return false;
}

static bool form_begun(const Planner *p, const Form *form) {
    for (uint32_t i = 0; i < form->column_count; i++) {
        if (is_begun(p, form->columns[i].tag)) return true;
    }
    return false;
}

void plan_form(Planner *p, const Form *form, bool all) {
    PlanGrid *g = plan_grid(p, form->rows, form);
    for (uint32_t i = 0; i < form->column_count; i++) {
        const FormColumn *c = &form->columns[i];
        const Tag *tag = &p->v->tags[c->tag];
        double at = NAN;
        Str text = {0};
        if (!all && tag->kind != TAG_PLACEMENT && !is_begun(p, c->tag)) continue;
        if (tag->has_curve) plan_condition(p, c->tag, nth_point(form, i), &at, &text);
        plan_column(p, g, c->tag, c->spot, at, text);
    }
    plan_rows(p, g);
    plan_want(p, g, p->ask->what.n || p->ask->blank);
}

/* Of a log that has begun with some of the grids what these lack; of one that has begun with none
 * all of them. */
static void plan_forms(Planner *p) {
    const Vocab *v = p->v;
    bool any = false;
    for (uint16_t i = 0; i < v->form_count; i++)
        any |= form_begun(p, &v->forms[i]);
    for (uint16_t i = 0; i < v->form_count; i++) {
        const Form *form = &v->forms[i];
        if (!form->column_count) continue;
        if (any && !p->ask->blank && !form_begun(p, form)) {
            arena_grow(p->a, p->plan->not_begun, p->plan->not_begun_count, p->plan->not_begun_room);
            p->plan->not_begun[p->plan->not_begun_count++] = form->name;
            continue;
        }
        plan_form(p, form, !any || p->ask->blank);
    }
}

static bool in_forms(const Vocab *v, TagId tag) {
    for (uint16_t i = 0; i < v->form_count; i++) {
        for (uint32_t k = 0; k < v->forms[i].column_count; k++)
            if (v->forms[i].columns[k].tag == tag) return true;
    }
    return false;
}

/* Dashes of quantities that no form has: a shop's own template may ask for anything. */
static void plan_dashes(Planner *p) {
    for (uint16_t i = 0; i < p->v->tag_count; i++) {
        const Tag *tag = &p->v->tags[i];
        ClassKind kind = p->v->classes[tag->of].kind;
        bool dashed = false;
        for (uint32_t d = 0; d < p->job->dash_count && !dashed; d++)
            dashed = p->job->dashes[d].tag == i;
        if (!dashed || tag->has_curve || in_forms(p->v, i) || tag->of == CLASS_ENGINE) continue;
        if (kind != CLASS_PLACE && kind != CLASS_ITEM) continue;
        PlanGrid *g = plan_grid(p, tag->of, NULL);
        plan_column(p, g, i, SPOT_NONE, NAN, (Str){0});
        plan_rows(p, g);
        plan_want(p, g, false);
    }
}

/* ---- the log, its layout made whole ---------------------------------------------------------- */

/* Items come to be when a line names them. Lines that read nothing (`bind height #1..14 = -`) stand
 * in a copy of the text, which is bound and never written. */
static Str with_probes(Planner *p, Str text) {
    Buf b = {0};
    buf_add(&b, text);
    buf_puts(&b, "\n\n<<\n");
    Str rest = p->ask->what, entry;
    while (what_next(&rest, &entry))
        buf_add(&b, what_probe(p->v, entry, p->a));
    Str out = arena_str(p->a, buf_str(&b));
    buf_release(&b);
    return out;
}

static void read_probed(Planner *p, const Source *log, const Door *door) {
    Source *source = arena_alloc(p->a, sizeof *source);
    *source = (Source){.path = log->path, .text = with_probes(p, log->text)};
    Findings *unsaid = arena_alloc(p->a, sizeof *unsaid);
    unsaid->arena = p->a;
    p->job = job_read(p->v, source, false, door, p->a, unsaid);
    for (ClassId c = 0; c < p->v->class_count; c++) {
        if (p->v->classes[c].kind == CLASS_PLACE) (void)job_places(p->job, c);
    }
    p->s = state_at(p->job, INT32_MAX, p->a);
    p->e = eval_new(p->s, p->a);
    p->plan->job = p->job;
}

bool plan_make(const Vocab *v, const Source *log, const Door *door, const PlanAsk *ask, Arena *a,
               Plan *out, Err *err) {
    Plan plan = {0};
    Planner p = {.v = v, .ask = ask, .a = a, .plan = &plan, .err = err};
    read_probed(&p, log, door);
    Str rest = ask->what, entry;
    while (what_next(&rest, &entry)) {
        if (!plan_what(&p, entry)) return false;
    }
    if (!ask->what.n) {
        plan_forms(&p);
        if (!ask->blank) plan_dashes(&p);
    }
    for (uint32_t i = 0; i < plan.count; i++) {
        if (!plan.grids[i].wanted) plan_want(&p, &plan.grids[i], true);
    }
    *out = plan;
    return true;
}

/* Items that the log has not named yet are no place of it. */
static SubjectId place_named(Job *j, const PlanGrid *g, uint32_t row) {
    SubjectList list = {0};
    if (g->rows == CLASS_ENGINE) return SUBJECT_ENGINE;
    bool found = job_subjects(j, g->rows, g->labels[row], &list) && list.count == 1;
    return found ? list.ids[0] : SUBJECT_NONE;
}

bool **plan_lacking(const Plan *plan, const Source *log, const Door *door, const PlanAsk *ask,
                    Arena *a) {
    Plan now = {0};
    Planner p = {.v = plan->job->vocab, .ask = ask, .a = a, .plan = &now};
    bool **lacks = arena_array(a, plan->count + 1, sizeof *lacks);
    read_probed(&p, log, door);
    for (uint32_t i = 0; i < plan->count; i++) {
        PlanGrid g = plan->grids[i];
        g.places = arena_array(a, g.row_count + 1, sizeof *g.places);
        for (uint32_t r = 0; r < g.row_count; r++)
            g.places[r] = place_named(p.job, &g, r);
        plan_want(&p, &g, false);
        lacks[i] = g.lacks;
    }
    return lacks;
}
