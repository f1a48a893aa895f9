/*
 * The plan of a page: the places as they stand on the engine, seen from above, the front at the
 * top, with the readings that the vocabulary wants drawn. A scheme: banks side by side, in each its
 * places one below the other, and what is on a place at its sides, the first letter towards the
 * other bank.
 */
#include "show/sheet_parts.h"

enum {
    COLUMNS = 8,
    DRAWN = 8,    /* tags a place shows */
    HALF = 104,   /* from a column's middle to its edge */
    RADIUS = 27,  /* of a place */
    SMALL = 11,   /* of what is on it */
    AT_SIDE = 45, /* its middle from the place's */
    TEXT_AT = 60, /* where its readings begin */
    LINE = 12,    /* between two readings */
    LEAST = 2 * RADIUS + 5,
    HEAD = 40, /* above the first place of a column */
    FONT = 11,
};

typedef struct Column { /* a bank, a head that is on none, or all there is */
    SubjectId of;
    SubjectId *places;
    uint32_t count;
    double x, y; /* middle of its first place */
} Column;

typedef struct Plan {
    Sheet *s;
    Buf *out;
    ClassId root; /* the class on the engine itself: cylinder */
    ClassId side; /* what is on it and drawn at its sides: valve; CLASS_NONE */
    TagId at_root[DRAWN], at_side[DRAWN];
    uint32_t root_count, side_count;
    Column columns[COLUMNS];
    uint32_t column_count, left_out;
    double step, width, height;
    Arrangement arranged;
} Plan;

/* ---- what is drawn ----------------------------------------------------------------------------
 */

static ClassId root_of(const Vocab *v, ClassId cls) {
    while (v->classes[cls].up != CLASS_ENGINE)
        cls = v->classes[cls].up;
    return cls;
}

static bool any_value(Sheet *s, TagId tag) {
    const Col *c = eval_tag(s->e, tag);
    for (uint32_t i = 0; i < c->n; i++) {
        if (!(c->st[i] & V_MISSING)) return true;
    }
    return false;
}

static void choose_tags(Plan *p) {
    const Vocab *v = p->s->v;
    for (uint32_t tag = 0; tag < v->tag_count; tag++) {
        const Tag *t = &v->tags[tag];
        if (!t->drawn || root_of(v, t->of) != p->root || !any_value(p->s, (TagId)tag)) continue;
        if (t->of == p->root) {
            if (p->root_count < DRAWN) p->at_root[p->root_count++] = (TagId)tag;
        } else if (v->classes[t->of].up == p->root && (p->side == CLASS_NONE || p->side == t->of)) {
            p->side = t->of;
            if (p->side_count < DRAWN) p->at_side[p->side_count++] = (TagId)tag;
        }
    }
}

static Arrangement arrangement(const Sheet *s) {
    const Tag *t = &s->v->tags[s->v->roles[ROLE_LAYOUT]];
    Str said = state_words(s->s, s->v->roles[ROLE_LAYOUT], SUBJECT_ENGINE);
    for (uint8_t i = 0; i < t->choice_count && t->arranged; i++) {
        if (str_ieq(t->choices[i].name, said)) return t->arranged[i];
    }
    return ARRANGED_UPRIGHT;
}

/* ---- where things stand -----------------------------------------------------------------------
 */

static Column *column_for(Plan *p, SubjectId of) {
    for (uint32_t i = 0; i < p->column_count; i++) {
        if (p->columns[i].of == of) return &p->columns[i];
    }
    if (p->column_count == COLUMNS) return NULL;
    Column *c = &p->columns[p->column_count++];
    *c = (Column){.of = of};
    c->places = arena_array(p->s->a, p->s->j->classes[p->root].count, sizeof *c->places);
    return c;
}

/* Places by their banks; those of a head only while it is on none. */
static void sort_places(Plan *p) {
    const Sheet *s = p->s;
    const SubjectList *list = &s->j->classes[p->root];
    for (uint32_t i = 0; i < list->count; i++) {
        const Subject *subject = &s->j->subjects[list->ids[i]];
        if (subject->kind == SUBJECT_CARRIED && s->s->carried &&
            s->s->carried[list->ids[i]] != SUBJECT_NONE)
            continue;
        Column *c = column_for(p, subject->up);
        if (c)
            c->places[c->count++] = list->ids[i];
        else
            p->left_out++;
    }
}

/* Those on a place with one letter (by its rank), in the order of their suffixes. */
static uint32_t side_places(const Plan *p, SubjectId place, char letter, uint32_t *at) {
    if (p->side == CLASS_NONE) return 0;
    const SubjectList *list = &p->s->j->classes[p->side];
    uint32_t n = 0;
    for (uint32_t i = 0; i < list->count && n < DRAWN; i++) {
        const Subject *subject = &p->s->j->subjects[list->ids[i]];
        if (subject->up == place && subject->letter == letter) at[n++] = i;
    }
    return n;
}

/* Two columns side by side, the next two below. */
static void lay_out(Plan *p) {
    uint32_t at[DRAWN], most = 1;
    const char *letters = p->side == CLASS_NONE ? "" : p->s->v->classes[p->side].letters;
    for (uint32_t c = 0; c < p->column_count; c++) {
        for (uint32_t i = 0; i < p->columns[c].count; i++) {
            for (const char *l = letters; *l; l++) {
                uint32_t n = side_places(p, p->columns[c].places[i], *l, at);
                if (n > most) most = n;
            }
        }
    }
    p->step = most * (p->side_count * LINE + 8.0) + 8;
    if (p->step < LEAST) p->step = LEAST;
    p->height = 26;
    for (uint32_t c = 0; c < p->column_count; c += 2) {
        uint32_t rows = p->columns[c].count;
        for (uint32_t k = c; k < c + 2 && k < p->column_count; k++) {
            p->columns[k].x = HALF + (k - c) * 2.0 * HALF;
            p->columns[k].y = p->height + HEAD + p->step / 2 - 22;
            if (p->columns[k].count > rows) rows = p->columns[k].count;
        }
        p->height += HEAD - 22 + rows * p->step;
    }
    p->width = p->column_count > 1 ? 4.0 * HALF : 2.0 * HALF;
}

/* ---- drawing ----------------------------------------------------------------------------------
 */

static void number(Buf *out, const char *name, double v) {
    buf_printf(out, " %s=\"", name);
    buf_fixed(out, v, 1);
    buf_putc(out, '"');
}

static void circle(Buf *out, double x, double y, double r, const char *class) {
    buf_printf(out, "<circle class=\"%s\" fill=\"none\" stroke=\"black\"", class);
    number(out, "cx", x);
    number(out, "cy", y);
    number(out, "r", r);
    buf_puts(out, "/>");
}

static void stroke(Buf *out, double x0, double y0, double x1, double y1, const char *class) {
    buf_printf(out, "<line class=\"%s\" stroke=\"black\"", class);
    number(out, "x1", x0);
    number(out, "y1", y0);
    number(out, "x2", x1);
    number(out, "y2", y1);
    buf_puts(out, "/>");
}

static void words(Buf *out, double x, double y, const char *anchor, const char *class, Str text) {
    buf_printf(out, "<text text-anchor=\"%s\" class=\"%s\"", anchor, class);
    number(out, "x", x);
    number(out, "y", y);
    buf_putc(out, '>');
    buf_html(out, text);
    buf_puts(out, "</text>");
}

/* A value with its marks; what breaks a limit is bold and has a sign behind it. */
static void value(Plan *p, TagId tag, uint32_t i, double x, double y, const char *anchor) {
    Sheet *s = p->s;
    Value own = sheet_value(s, tag, i);
    Str text = sheet_under(s, &own, say_unit(s->j, tag, s->how->system).unit).text;
    const Verdict *v = sheet_verdict(s, tag, s->j->classes[s->v->tags[tag].of].ids[i]);
    const char *class = own.tone == TONE_DIM ? "dim" : own.tone == TONE_DOUBT ? "doubt" : "v";
    if (v && v->kind == VERDICT_BROKEN) {
        class = v->accepted ? "accepted" : "bad";
        s->marked[v->accepted ? MARK_ACCEPTED : MARK_BROKEN] = true;
        text = arena_printf(s->a, "%.*s%s", STR_ARG(text), v->accepted ? "a" : "!");
    }
    words(p->out, x, y, anchor, class, text);
}

/* Their own names stand in the small circles; readings outside, from above in the caption's order.
 */
static void draw_side(Plan *p, SubjectId place, char letter, double x, double y, int way) {
    uint32_t at[DRAWN], n = side_places(p, place, letter, at);
    double block = p->side_count * LINE + 8.0, top = y - n * block / 2;
    for (uint32_t k = 0; k < n; k++, top += block) {
        double middle = top + block / 2;
        Str name = subject_name(p->s->j, p->s->j->classes[p->side].ids[at[k]], p->s->a);
        size_t colon = str_find_char(name, ':', 0);
        if (colon != SIZE_MAX) name = str_skip(name, colon + 1); /* its head is said above */
        circle(p->out, x + way * AT_SIDE, middle, SMALL, "small");
        words(p->out, x + way * AT_SIDE, middle + 3.2, "middle", "name", name);
        for (uint32_t t = 0; t < p->side_count; t++)
            value(p, p->at_side[t], at[k], x + way * TEXT_AT,
                  middle + 4 + (t - (p->side_count - 1) / 2.0) * LINE, way < 0 ? "end" : "start");
        buf_putc(p->out, '\n');
    }
}

static void draw_place(Plan *p, SubjectId place, double x, double y, bool mirrored) {
    Sheet *s = p->s;
    const Subject *subject = &s->j->subjects[place];
    circle(p->out, x, y, RADIUS, "bore");
    double line = y + 5 - p->root_count * LINE / 2.0;
    words(p->out, x, line, "middle", "number", arena_printf(s->a, "%u", subject->number));
    for (uint32_t t = 0; t < p->root_count; t++)
        value(p, p->at_root[t], s->s->index[place], x, line + LINE * (t + 1.0), "middle");
    buf_putc(p->out, '\n');
    const char *letters = p->side == CLASS_NONE ? "" : s->v->classes[p->side].letters;
    for (int i = 0; letters[i]; i++)
        draw_side(p, place, letters[i], x, y, (i % 2 == 0) == mirrored ? 1 : -1);
}

/* How the banks stand, seen from the front. */
static void draw_layout(const Plan *p, double x, double y) {
    static const struct {
        double x0, y0, x1, y1;
    } ends[] = {[ARRANGED_UPRIGHT] = {0, -15, 0, -15},
                [ARRANGED_VEE] = {-10, -12, 10, -12},
                [ARRANGED_OPPOSED] = {-15, 0, 15, 0}};
    stroke(p->out, x, y, x + ends[p->arranged].x0, y + ends[p->arranged].y0, "bank");
    stroke(p->out, x, y, x + ends[p->arranged].x1, y + ends[p->arranged].y1, "bank");
    circle(p->out, x, y, 2.5, "crank");
}

static Str column_name(const Plan *p, const Column *c) {
    const Sheet *s = p->s;
    if (c->of == SUBJECT_ENGINE) return (Str){0};
    const Subject *of = &s->j->subjects[c->of];
    Str name = subject_name(s->j, c->of, s->a);
    return arena_printf(s->a, "%.*s %.*s%s", STR_ARG(s->v->classes[of->cls].name), STR_ARG(name),
                        of->kind == SUBJECT_CARRIER ? ", not on the engine yet" : "");
}

static void draw(Plan *p) {
    words(p->out, p->width / 2, 14, "middle", "front", STR("front"));
    draw_layout(p, p->width - 18, 20);
    bool two = p->column_count > 1;
    for (uint32_t c = 0; c < p->column_count; c++) {
        Column *col = &p->columns[c];
        words(p->out, col->x, col->y - p->step / 2 - 4, "middle", "of", column_name(p, col));
        if (two && c % 2 == 1)
            stroke(p->out, 2 * HALF, col->y - p->step / 2, 2 * HALF,
                   col->y + (col->count - .5) * p->step, "grid");
        for (uint32_t i = 0; i < col->count; i++)
            draw_place(p, col->places[i], col->x, col->y + i * p->step, two && c % 2 == 0);
    }
}

/* ---- the figure -------------------------------------------------------------------------------
 */

static void list_tags(const Plan *p, Buf *b, const TagId *tags, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        const char *unit = say_unit(p->s->j, tags[i], p->s->how->system).unit->name;
        buf_printf(b, "%s%.*s%s%s%s", i ? ", " : "", STR_ARG(p->s->v->tags[tags[i]].name),
                   unit[0] ? " (" : "", unit, unit[0] ? ")" : "");
    }
}

static void write_caption(const Plan *p, Buf *out) {
    const Vocab *v = p->s->v;
    Buf b = {0};
    buf_puts(&b, "Seen from above; a scheme, not to scale. ");
    if (p->root_count) {
        buf_printf(&b, "In each %.*s: its number, ", STR_ARG(v->classes[p->root].name));
        list_tags(p, &b, p->at_root, p->root_count);
        buf_puts(&b, ". ");
    }
    if (p->side_count) {
        buf_printf(&b, "At each %.*s, from above: ", STR_ARG(v->classes[p->side].name));
        list_tags(p, &b, p->at_side, p->side_count);
        buf_puts(&b, ". ");
    }
    if (p->left_out)
        buf_printf(&b, "%u more have no room here and stand in the tables.", p->left_out);
    buf_puts(out, "<figcaption>");
    buf_html(out, str_trim(buf_str(&b)));
    buf_puts(out, "</figcaption>\n");
    buf_release(&b);
}

static void write_plan(Sheet *s, ClassId root) {
    Buf drawing = {0};
    Plan p = {.s = s, .out = &drawing, .root = root, .side = CLASS_NONE};
    choose_tags(&p);
    if (!p.root_count && !p.side_count) return;
    p.arranged = arrangement(s);
    sort_places(&p);
    if (!p.column_count) return;
    lay_out(&p);
    draw(&p);
    Str title = arena_printf(s->a, "plan of the %.*s", STR_ARG(s->v->classes[root].plural));
    page_figure(s);
    buf_printf(s->out,
               "<figure class=\"plan\">\n<svg viewBox=\"0 0 %.0f %.0f\" role=\"img\" style=\"",
               p.width, p.height);
    buf_puts(s->out, "width:");
    buf_fixed(s->out, p.width / FONT, 2);
    buf_printf(s->out, "em\" font-size=\"%d\" aria-label=\"", FONT);
    buf_html(s->out, title);
    buf_puts(s->out, "\">\n");
    buf_add(s->out, buf_str(&drawing));
    buf_puts(s->out, "</svg>\n");
    write_caption(&p, s->out);
    buf_puts(s->out, "</figure>\n");
    s->out->failed = s->out->failed || drawing.failed;
    buf_release(&drawing);
}

/* A plan for each class on the engine that has something to draw. */
void sheet_plan(Sheet *s) {
    bool done[CLASS_MOST] = {0};
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        if (!s->v->tags[tag].drawn) continue;
        ClassId root = root_of(s->v, s->v->tags[tag].of);
        if (!done[root]) write_plan(s, root);
        done[root] = true;
    }
}
