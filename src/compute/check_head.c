/*
 * Work on a head that sits nowhere: what it sets aside (the chambers, once it was milled) is known
 * of the cylinders, and stays in force there, for nobody said that this head is theirs.
 */
#include "compute/check_parts.h"

static bool sets_something_aside(const Vocab *v, TagId work) {
    for (TagId t = 0; t < v->tag_count; t++) {
        for (uint8_t i = 0; i < v->tags[t].set_aside_count; i++) {
            if (v->tags[t].set_aside_by[i] == work) return true;
        }
    }
    return false;
}

typedef struct Heads {   /* per subject */
    bool *seated;        /* the log says where it sits, or sat */
    bool *held;          /* it has a place that was read */
    uint32_t *read;      /* the newest reading in this log on a place of it, + 1 */
    const Event *unread; /* the first line that seats one on which nothing was read; NULL */
} Heads;

static Heads gather_heads(Check *c) {
    const Job *j = c->job;
    Heads h = {arena_array(c->arena, j->subject_count, sizeof *h.seated),
               arena_array(c->arena, j->subject_count, sizeof *h.held),
               arena_array(c->arena, j->subject_count, sizeof *h.read), NULL};
    bool *own = arena_array(c->arena, j->subject_count, sizeof *own);
    for (uint32_t i = 0; i < j->reading_count; i++) {
        const Subject *s = &j->subjects[j->readings[i].subject];
        if (s->kind == SUBJECT_CARRIER) own[j->readings[i].subject] = true;
        if (s->kind == SUBJECT_CARRIED && counts_here(c, i)) h.read[s->home] = i + 1;
    }
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind == SUBJECT_CARRIED) h.held[j->subjects[id].home] = true;
    }
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        if (e->kind != EVENT_CARRY || j->subjects[e->subject].kind != SUBJECT_CARRIER) continue;
        h.seated[e->subject] = true;
        bool read = own[e->subject] || h.held[e->subject];
        if (!h.unread && !read && e->source == 0 && e->subject2 != SUBJECT_NONE) h.unread = e;
    }
    return h;
}

static void name_work(Check *c, SubjectId head) {
    const Job *j = c->job;
    Str kind = j->vocab->classes[j->subjects[head].cls].name,
        name = subject_name(j, head, c->arena);
    for (TagId tag = 0; tag < j->vocab->tag_count; tag++) {
        uint32_t i = chain_last(j, tag, head);
        if (i == NO_READING || !counts_here(c, i) || !sets_something_aside(j->vocab, tag)) continue;
        doubt(
            c, HEAD_LOOSE, i,
            "the log never says where %.*s %.*s sits, so what was read at the cylinders stays in "
            "force as if this had not been done; seat it (`%.*s %.*s = 1 2 3 4`, or its bank), or "
            "mend the name",
            STR_ARG(kind), STR_ARG(name), STR_ARG(kind), STR_ARG(name));
    }
}

/* Whether some head sits at every place that one can sit at. */
static bool all_seated(const Check *c, ClassId held) {
    const State *s = c->e->state;
    for (uint32_t i = 0; s->carrier && i < c->job->place_count[held]; i++) {
        if (s->carrier[class_subject(c->e, held, i)] == SUBJECT_NONE) return false;
    }
    return s->carrier && c->job->place_count[held];
}

/* `chamber BB:1 = 60.1 cc`, and B has its bank. */
static void name_spare(Check *c, SubjectId head, uint32_t read) {
    const Job *j = c->job;
    const Class *k = &j->vocab->classes[j->subjects[head].cls];
    if (!read || !all_seated(c, k->holds)) return;
    Str kind = k->name, name = subject_name(j, head, c->arena);
    doubt(
        c, HEAD_LOOSE, read - 1,
        "the log never says where %.*s %.*s sits, and every place has a head: what was read on it "
        "counts for none; mend the name, or put > before a spare one's lines",
        STR_ARG(kind), STR_ARG(name));
}

/* `head BB = left`, and what waits for its bank was read on B. */
static void name_renamed(Check *c, SubjectId head, const Event *e) {
    const Job *j = c->job;
    Str kind = j->vocab->classes[j->subjects[head].cls].name,
        name = subject_name(j, head, c->arena), other = subject_name(j, e->subject, c->arena);
    doubt_at(c, HEAD_LOOSE, e->span,
             "nothing was read on %.*s %.*s, and %.*s %.*s, which was measured, sits nowhere: is "
             "%.*s the same as %.*s?",
             STR_ARG(kind), STR_ARG(other), STR_ARG(kind), STR_ARG(name), STR_ARG(other),
             STR_ARG(name));
}

static bool has_heads(const Job *j) {
    for (ClassId k = 0; k < j->vocab->class_count; k++) {
        if (j->vocab->classes[k].kind == CLASS_CARRIER && j->classes[k].count) return true;
    }
    return false;
}

void check_heads(Check *c) {
    const Job *j = c->job;
    if (!has_heads(j)) return;
    Heads h = gather_heads(c);
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind != SUBJECT_CARRIER || h.seated[id]) continue;
        if (!h.held[id])
            name_work(c, id);
        else if (h.unread)
            name_renamed(c, id, h.unread);
        else
            name_spare(c, id, h.read[id]);
    }
}
