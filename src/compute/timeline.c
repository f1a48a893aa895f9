#include "compute/timeline.h"

void timeline_init(Timeline *t, Arena *arena) {
    *t = (Timeline){.arena = arena, .own = {arena_new(), arena_new()}};
}

void timeline_release(Timeline *t) {
    arena_free(t->own[0]);
    arena_free(t->own[1]);
    t->own[0] = t->own[1] = NULL;
}

/* Names of subjects are of the version's own arena, and so is what is made of them. */
static bool is_made(const Said *s) {
    return s->kind == SAID_PLACED || s->kind == SAID_RULE;
}

static Said kept(Timeline *t, const Said *s) {
    Said out = *s;
    out.subject = s->subject.n ? arena_str(t->arena, s->subject) : (Str){0};
    if (is_made(s)) out.text = arena_str(t->arena, s->text);
    if (s->head.n) out.head = arena_str(t->arena, s->head);
    return out;
}

static void add_step(Timeline *t, ChangeKind kind, uint32_t version, const Said *was,
                     const Said *now, bool in_log) {
    arena_grow(t->arena, t->steps, t->step_count, t->step_room);
    t->steps[t->step_count++] =
        (TimelineStep){kind, version, in_log, kept(t, was), kept(t, now ? now : was)};
}

static uint32_t add_line(Timeline *t, const Said *said, uint32_t version) {
    arena_grow(t->arena, t->lines, t->line_count, t->line_room);
    t->lines[t->line_count] =
        (TimelineLine){.said = kept(t, said), .first = version, .last = version};
    return t->line_count++;
}

/* A new line that takes an older one's place is a correction of it, unless it says the same. */
static void note_replacement(Timeline *t, const SaidList *now, const Said *said, uint32_t version) {
    if (said->replaces == SAID_NONE) return;
    const Said *was = &now->items[said->replaces];
    if (str_eq(was->text, said->text) && was->unit == said->unit) return;
    add_step(t, CHANGE_VALUE, version, was, said, true);
}

static void play_change(Timeline *t, const SaidList *now, const Change *c, uint32_t version,
                        uint32_t *line_of) {
    if (c->kind == CHANGE_ADDED) {
        const Said *added = &now->items[c->now];
        line_of[c->now] = add_line(t, added, version);
        note_replacement(t, now, added, version);
        return;
    }
    const Said *said = c->now == SAID_NONE ? NULL : &now->items[c->now];
    const Said *was = &t->before.items[c->was];
    TimelineLine *line = &t->lines[t->line_of[c->was]];
    add_step(t, c->kind, version, was, said, false);
    line->last = version;
    line->removed = c->kind == CHANGE_REMOVED;
    if (said) line->said = kept(t, said);
}

/* Where a line stands moves with what is written above it. */
static void carry_on(Timeline *t, const SaidList *now, const Changes *c, uint32_t *line_of) {
    for (uint32_t i = 0; i < now->count; i++) {
        if (c->was[i] == SAID_NONE) continue;
        line_of[i] = t->line_of[c->was[i]];
        Said *said = &t->lines[line_of[i]].said;
        Str subject = said->subject, text = said->text, head = said->head;
        *said = now->items[i];
        said->subject = subject;
        said->head = head;
        if (is_made(said)) said->text = text;
    }
}

void timeline_add(Timeline *t, const Job *j, uint32_t version) {
    Arena *a = t->own[1];
    SaidList now = said_by(j, a);
    Changes c = changes_between(&t->before, &now, a);
    uint32_t *line_of = arena_array(a, now.count + 1, sizeof *line_of);
    carry_on(t, &now, &c, line_of);
    for (uint32_t i = 0; i < c.count; i++)
        play_change(t, &now, &c.items[i], version, line_of);
    t->before = now;
    t->line_of = t->order = line_of;
    t->order_count = now.count;
    t->own[1] = t->own[0];
    t->own[0] = a;
    arena_reset(t->own[1]);
}
