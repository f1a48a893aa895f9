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

/* Which heads the log ever seats, or reads a place on: those wait for their bank. */
static const bool *heads_used(Check *c) {
    const Job *j = c->job;
    bool *used = arena_array(c->arena, j->subject_count, sizeof *used);
    for (uint32_t i = 0; i < j->event_count; i++) {
        if (j->events[i].kind == EVENT_CARRY) used[j->events[i].subject] = true;
    }
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind == SUBJECT_CARRIED) used[j->subjects[id].up] = true;
    }
    return used;
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

/* Whether anything was read on the head itself or on a place of it. */
static bool head_read(const Job *j, SubjectId head) {
    for (uint32_t row = 0; row < j->chain->rows; row++) {
        if (chain_last(j, j->chain->tags[row], head) != NO_READING) return true;
    }
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind == SUBJECT_CARRIED && j->subjects[id].home == head) return true;
    }
    return false;
}

/* The line that seats a head on which nothing was read; NULL. */
static const Event *seats_unread(const Job *j) {
    for (uint32_t i = 0; i < j->event_count; i++) {
        const Event *e = &j->events[i];
        bool seats = e->kind == EVENT_CARRY && e->source == 0 && e->subject2 != SUBJECT_NONE &&
                     j->subjects[e->subject].kind == SUBJECT_CARRIER;
        if (seats && !head_read(j, e->subject)) return e;
    }
    return NULL;
}

static bool is_seated(const Job *j, SubjectId head) {
    for (uint32_t i = 0; i < j->event_count; i++) {
        if (j->events[i].kind == EVENT_CARRY && j->events[i].subject == head) return true;
    }
    return false;
}

/* Whether some head sits at every place that one can sit at. */
static bool all_seated(const Check *c, ClassId held) {
    const State *s = c->e->state;
    for (uint32_t i = 0; s->carrier && i < c->job->place_count[held]; i++) {
        if (s->carrier[class_subject(c->e, held, i)] == SUBJECT_NONE) return false;
    }
    return s->carrier && c->job->place_count[held];
}

/* The newest reading in this log of a place of the head. */
static uint32_t read_on(const Check *c, SubjectId head) {
    const Job *j = c->job;
    for (uint32_t i = j->reading_count; i-- > 0;) {
        const Subject *s = &j->subjects[j->readings[i].subject];
        if (s->kind == SUBJECT_CARRIED && s->home == head && counts_here(c, i)) return i;
    }
    return NO_READING;
}

/* `chamber BB:1 = 60.1 cc`, and B has its bank. */
static void name_spare(Check *c, SubjectId head) {
    const Job *j = c->job;
    const Class *k = &j->vocab->classes[j->subjects[head].cls];
    uint32_t i = all_seated(c, k->holds) ? read_on(c, head) : NO_READING;
    if (i == NO_READING) return;
    Str kind = k->name, name = subject_name(j, head, c->arena);
    doubt(
        c, HEAD_LOOSE, i,
        "the log never says where %.*s %.*s sits, and every place has a head: what was read on it "
        "counts for none; mend the name, or put > before a spare one's lines",
        STR_ARG(kind), STR_ARG(name));
}

/* `head BB = left`, and what waits for its bank was read on B. */
static void name_unseated(Check *c, SubjectId head) {
    const Job *j = c->job;
    if (!head_read(j, head)) return;
    const Event *e = seats_unread(j);
    if (!e) {
        name_spare(c, head);
        return;
    }
    Str kind = j->vocab->classes[j->subjects[head].cls].name,
        name = subject_name(j, head, c->arena), other = subject_name(j, e->subject, c->arena);
    doubt_at(c, HEAD_LOOSE, e->span,
             "nothing was read on %.*s %.*s, and %.*s %.*s, which was measured, sits nowhere: is "
             "%.*s the same as %.*s?",
             STR_ARG(kind), STR_ARG(other), STR_ARG(kind), STR_ARG(name), STR_ARG(other),
             STR_ARG(name));
}

void check_heads(Check *c) {
    const Job *j = c->job;
    const bool *used = NULL;
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind != SUBJECT_CARRIER) continue;
        if (!used) used = heads_used(c);
        if (!used[id]) name_work(c, id);
        if (!is_seated(j, id)) name_unseated(c, id);
    }
}
