/*
 * Computed tags in an order in which each stands behind its inputs. Tags that need each other are
 * reported as whole rings; they stay out of the order.
 */
#include "base/buf.h"
#include "vocab/parts.h"

typedef struct Edge {
    TagId to;      /* the computed tag that needs it */
    uint32_t next; /* edge of the same input; 0 ends */
} Edge;

typedef struct Order {
    Vocab *v;
    Arena *scratch;
    Findings *findings;
    uint32_t *first; /* by input: its first edge */
    Edge *edges;     /* 0 is unused */
    uint32_t edge_count, edge_room;
    uint16_t *waits; /* by tag: inputs that are not in the order yet */
    bool *placed;    /* in the order, or in a ring that was reported */
    TagId *computed;
    uint16_t count, done; /* in the order; of those, whose users were told */
    TagId user;           /* whose inputs are being visited */
    TagId next;           /* of a ring: an input of `user` that is not placed */
} Order;

static void input_add(void *ctx, TagId tag) {
    Order *o = ctx;
    if (!o->v->tags[tag].is) return;
    arena_grow(o->scratch, o->edges, o->edge_count, o->edge_room);
    o->edges[o->edge_count] = (Edge){o->user, o->first[tag]};
    o->first[tag] = o->edge_count++;
    o->waits[o->user]++;
}

static void place(Order *o, TagId tag) {
    o->placed[tag] = true;
    o->v->tags[tag].order = o->count;
    o->computed[o->count++] = tag;
}

/* Tells the users of what was placed last, and places those that wait for nothing more. */
static void settle(Order *o) {
    for (; o->done < o->count; o->done++)
        for (uint32_t e = o->first[o->computed[o->done]]; e; e = o->edges[e].next)
            if (--o->waits[o->edges[e].to] == 0 && !o->placed[o->edges[e].to])
                place(o, o->edges[e].to);
}

static void input_left(void *ctx, TagId tag) {
    Order *o = ctx;
    if (o->next == TAG_NONE && o->v->tags[tag].is && !o->placed[tag]) o->next = tag;
}

/* Of the unplaced inputs of a tag, one; TAG_NONE when all are placed. */
static TagId waits_for(Order *o, TagId tag) {
    o->next = TAG_NONE;
    formula_inputs(o->v->tags[tag].is, input_left, o);
    return o->next;
}

/* A shop's text may not have its lines mapped yet. */
static unsigned line_of(const Source *source, uint32_t off) {
    unsigned line = 1;
    for (uint32_t i = 0; i < off; i++)
        line += source->text.p[i] == '\n';
    return line;
}

static void ring_report(Order *o, TagId start) {
    Buf names = {0};
    const Tag *first = &o->v->tags[start];
    TagId tag = start;
    do {
        const Tag *t = &o->v->tags[tag];
        buf_printf(&names, "'%.*s' (%.*s:%u) needs ", STR_ARG(t->name), STR_ARG(t->is_where->path),
                   line_of(t->is_where, t->is->span.off));
        tag = waits_for(o, tag);
    } while (tag != start);
    Str ring = buf_str(&names);
    finding_add(o->findings, &vocab_kinds[K_CYCLE], first->is_where, first->is->span,
                "formulas need each other: %.*s'%.*s'", STR_ARG(ring), STR_ARG(first->name));
    buf_release(&names);
}

/* Goes from input to input until it comes round; what it comes round to is on a ring. */
static TagId ring_find(Order *o, TagId tag) {
    bool *seen = arena_array(o->scratch, o->v->tag_count, sizeof *seen);
    while (!seen[tag]) {
        seen[tag] = true;
        tag = waits_for(o, tag);
    }
    return tag;
}

/* The ring's tags count as placed from now on, so that what hangs on them is not reported too. */
static void ring_out(Order *o, TagId start) {
    TagId tag = start;
    while (tag != TAG_NONE) {
        TagId next = waits_for(o, tag);
        o->placed[tag] = true;
        for (uint32_t e = o->first[tag]; e; e = o->edges[e].next)
            if (--o->waits[o->edges[e].to] == 0 && !o->placed[o->edges[e].to])
                place(o, o->edges[e].to);
        tag = next == start ? TAG_NONE : next;
    }
}

static bool has_range(const Tag *tag) {
    return tag->has_plausible;
}

static bool has_sets(const Tag *tag) {
    return tag->alike > 0 || tag->alike_part > 0;
}

static bool has_statement(const Tag *tag) {
    return tag->agrees > 0;
}

/* So that a check passes by what it has no question about. */
static const TagId *computed_with(const Vocab *v, bool (*has)(const Tag *), uint16_t *count) {
    TagId *tags = arena_array(v->arena, v->computed_count + 1u, sizeof *tags);
    *count = 0;
    for (uint16_t k = 0; k < v->computed_count; k++) {
        if (has(&v->tags[v->computed[k]])) tags[(*count)++] = v->computed[k];
    }
    return tags;
}

void order_tags(Vocab *v, Arena *scratch, Findings *findings) {
    size_t n = v->tag_count + 1u;
    Order o = {.v = v, .scratch = scratch, .findings = findings, .edge_count = 0};
    o.first = arena_array(scratch, n, sizeof *o.first);
    o.waits = arena_array(scratch, n, sizeof *o.waits);
    o.placed = arena_array(scratch, n, sizeof *o.placed);
    o.computed = arena_array(v->arena, n, sizeof *o.computed);
    arena_grow(scratch, o.edges, o.edge_count, o.edge_room);
    o.edge_count = 1;
    for (o.user = 0; o.user < v->tag_count; o.user++)
        formula_inputs(v->tags[o.user].is, input_add, &o);
    for (TagId tag = 0; tag < v->tag_count; tag++)
        if (v->tags[tag].is && o.waits[tag] == 0) place(&o, tag);
    settle(&o);
    for (TagId tag = 0; tag < v->tag_count; tag++) {
        if (!v->tags[tag].is || o.placed[tag]) continue;
        TagId start = ring_find(&o, tag);
        ring_report(&o, start);
        ring_out(&o, start);
        settle(&o);
        tag--; /* it may hang on another ring */
    }
    v->computed = o.computed;
    v->computed_count = o.count;
    v->ranged = computed_with(v, has_range, &v->ranged_count);
    v->compared = computed_with(v, has_sets, &v->compared_count);
    v->stated = computed_with(v, has_statement, &v->stated_count);
}
