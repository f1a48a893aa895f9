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

/* Whether the log ever seats it, or reads a place on it: then it is a head that waits. */
static bool is_used(const Job *j, SubjectId head) {
    for (uint32_t i = 0; i < j->event_count; i++) {
        if (j->events[i].kind == EVENT_CARRY && j->events[i].subject == head) return true;
    }
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind == SUBJECT_CARRIED && j->subjects[id].up == head) return true;
    }
    return false;
}

void check_heads(Check *c) {
    const Job *j = c->job;
    for (SubjectId id = 0; id < j->subject_count; id++) {
        if (j->subjects[id].kind != SUBJECT_CARRIER || is_used(j, id)) continue;
        Str name = subject_name(j, id, c->arena);
        for (TagId tag = 0; tag < j->vocab->tag_count; tag++) {
            uint32_t i = chain_last(j, tag, id);
            if (i == NO_READING || !counts_here(c, i) || !sets_something_aside(j->vocab, tag))
                continue;
            doubt(
                c, HEAD_LOOSE, i,
                "the log never says where %.*s sits, so what was read at the cylinders stays in "
                "force as if this had not been done; seat it (`head %.*s = 1 2 3 4`, or its bank), "
                "or mend the name",
                STR_ARG(name), STR_ARG(name));
        }
    }
}
