/* What is missing: places that lack what their neighbours have, and what cannot be computed, and
 * why. */
#include "show/sheet_parts.h"

#include "compute/fitted.h"

enum { PLACES_SHOWN = 8 };

static bool missing_at(const Col *c, uint32_t i) {
    return (c->st[i] & V_MISSING) != 0;
}

static bool is_wanted(const Sheet *s, TagId tag) { /* a limit or an aim asks for it */
    for (uint32_t i = 0; i < s->s->force_count; i++) {
        if (s->s->forces[i].tag == tag && s->s->forces[i].kind != EVENT_ACCEPT &&
            !s->s->forces[i].shop)
            return true;
    }
    return false;
}

static void add_places(Sheet *s, Buf *b, ClassId cls, const uint32_t *at, uint32_t n,
                       uint32_t all) {
    if (cls == CLASS_ENGINE) return;
    if (n == all && n > 1) {
        buf_printf(b, " at all %u %.*s", n, STR_ARG(s->v->classes[cls].plural));
        return;
    }
    for (uint32_t i = 0; i < n && i < PLACES_SHOWN; i++)
        buf_printf(b, "%s%.*s", i ? ", " : " ",
                   STR_ARG(subject_name(s->j, s->j->classes[cls].ids[at[i]], s->a)));
    if (n > PLACES_SHOWN) buf_printf(b, " and %u more", n - PLACES_SHOWN);
}

/* ---- places that lack what their neighbours have
 * ------------------------------------------------- */

static uint32_t lacking(Sheet *s, TagId tag, char letter, uint32_t *at) {
    const Tag *t = &s->v->tags[tag];
    const Col *c = eval_tag(s->e, tag);
    uint32_t n = 0, all = 0, doubted = 0;
    for (uint32_t i = 0; i < s->j->place_count[t->of]; i++) {
        if (s->j->subjects[s->j->classes[t->of].ids[i]].letter != letter) continue;
        all++;
        if (c->st[i] & V_SUSPECT)
            doubted++;
        else if (missing_at(c, i))
            at[n++] = i;
    }
    return n && 2 * (n + doubted) <= all ? n : 0; /* at least half have it */
}

static bool write_gaps(Sheet *s) {
    bool any = false;
    uint32_t *at = arena_array(s->a, s->j->subject_count, sizeof *at);
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        const Tag *t = &s->v->tags[tag];
        if (t->kind != TAG_NUMBER || t->has_curve || t->is || sheet_skips(s, t)) continue;
        if (s->v->classes[t->of].kind != CLASS_PLACE || t->of == CLASS_ENGINE) continue;
        if (s->j->chain->row[tag] == CHAIN_NO_ROW) continue;
        const char *letters = s->v->classes[t->of].letters;
        for (size_t i = 0; i < strlen(letters) || i == 0; i++) {
            uint32_t n = lacking(s, (TagId)tag, letters[0] ? letters[i] : 0, at);
            if (!n) continue;
            Buf line = {0};
            buf_printf(&line, "%.*s:", STR_ARG(t->name));
            add_places(s, &line, t->of, at, n, UINT32_MAX);
            if (!any) sheet_section(s, STR("Missing"));
            any = true;
            sheet_say(s, 2, 4, buf_str(&line));
            buf_release(&line);
        }
    }
    return any;
}

/* ---- what cannot be computed
 * --------------------------------------------------------------------- */

typedef struct Reasons { /* of one tag: the places where it is missing for want of one other */
    TagId tag, blame;
    const uint32_t *at;
    uint32_t n, all;
} Reasons;

/* Places where the tag is missing because `blame` is. */
static Reasons reasons(Sheet *s, TagId tag, TagId blame) {
    const Tag *t = &s->v->tags[tag];
    const Col *c = eval_tag(s->e, tag);
    uint32_t *at = arena_array(s->a, c->n + 1, sizeof *at), n = 0;
    uint32_t places = s->v->classes[t->of].kind == CLASS_ITEM ? c->n : s->j->place_count[t->of];
    for (uint32_t i = 0; i < c->n; i++) {
        if (!missing_at(c, i) || (c->st[i] & V_SUSPECT) || c->from[i] != blame) continue;
        if (s->j->subjects[s->j->classes[t->of].ids[i]].kind == SUBJECT_CARRIED) continue;
        at[n++] = i;
    }
    return (Reasons){tag, blame, at, n, places};
}

/* Worth a line: somebody asked for it, or other places have it. */
static bool is_expected(Sheet *s, TagId tag) {
    const Tag *t = &s->v->tags[tag];
    if (!t->is || t->kind != TAG_NUMBER) return false;
    if (is_wanted(s, tag)) return true;
    const Col *c = eval_tag(s->e, tag);
    uint32_t there = 0;
    for (uint32_t i = 0; i < c->n; i++)
        there += !missing_at(c, i);
    return 2 * there >= c->n && there < c->n;
}

static bool same_places(const Reasons *a, const Reasons *b) {
    return a->n == b->n && memcmp(a->at, b->at, a->n * sizeof *a->at) == 0;
}

/* Whether the formula asks for an older reading of the tag than the one that stands. */
static bool asks_past(const Formula *f, TagId tag) {
    if (!f) return false;
    if ((f->kind == F_FIRST || f->kind == F_PREVIOUS) && f->tag == tag) return true;
    return asks_past(f->a, tag) || asks_past(f->b, tag);
}

/* "no lobe lift at I2: valve lift, open height" */
static void write_reasons(Sheet *s, const Reasons *all, uint32_t count, bool *done) {
    for (uint32_t i = 0; i < count; i++) {
        if (done[i]) continue;
        const Reasons *r = &all[i];
        ClassId of = s->v->tags[r->tag].of;
        Buf line = {0};
        const Formula *is = s->v->tags[r->tag].is;
        bool fitted = fitted_asked(is, r->blame);
        buf_printf(&line, "%s%.*s%s, so not computed%s",
                   fitted                    ? ""
                   : asks_past(is, r->blame) ? "no earlier "
                                             : "no ",
                   STR_ARG(s->v->tags[r->blame].name),
                   fitted ? " not known for all of the time it was fitted" : "",
                   of == CLASS_ENGINE ? "" : " for");
        if (of != CLASS_ENGINE && r->n == r->all && r->n > 1)
            buf_printf(&line, " all %u %.*s", r->n, STR_ARG(s->v->classes[of].plural));
        else
            add_places(s, &line, of, r->at, r->n, UINT32_MAX);
        const char *before = ": ";
        for (uint32_t k = i; k < count; k++) {
            if (done[k] || all[k].blame != r->blame || s->v->tags[all[k].tag].of != of ||
                !same_places(r, &all[k]))
                continue;
            done[k] = true;
            buf_printf(&line, "%s%.*s", before, STR_ARG(s->v->tags[all[k].tag].name));
            before = ", ";
        }
        sheet_say(s, 2, 4, buf_str(&line));
        buf_release(&line);
    }
}

void sheet_missing(Sheet *s) {
    bool any = write_gaps(s);
    Reasons *all = NULL;
    uint32_t count = 0, room = 0;
    bool *tried = arena_array(s->a, s->v->tag_count, sizeof *tried);
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        if (!is_expected(s, (TagId)tag)) continue;
        const Col *c = eval_tag(s->e, (TagId)tag);
        memset(tried, 0, s->v->tag_count * sizeof *tried);
        for (uint32_t i = 0; i < c->n; i++) {
            uint32_t blame = c->from[i];
            if (!missing_at(c, i) || (c->st[i] & V_SUSPECT) || blame >= s->v->tag_count ||
                blame == tag || tried[blame])
                continue;
            tried[blame] = true;
            Reasons r = reasons(s, (TagId)tag, (TagId)blame);
            if (!r.n) continue;
            arena_grow(s->a, all, count, room);
            all[count++] = r;
        }
    }
    if (!count) return;
    if (!any) sheet_section(s, STR("Missing"));
    write_reasons(s, all, count, arena_array(s->a, count, sizeof(bool)));
}
