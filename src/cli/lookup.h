/* Looking things up by words: names of the vocabulary, commands, codes of findings. */
#ifndef THOU_CLI_LOOKUP_H
#define THOU_CLI_LOOKUP_H

#include "cli/shelf.h"

typedef struct KindTable {
    const FindingKind *rows;
    const size_t *count;
} KindTable;
/* Every code a finding can have, room by room. */
extern const KindTable kind_tables[];
extern const size_t kind_table_count;

/* The vocabulary of the book at hand, else the built-in one. */
bool lookup_vocab(Run *run, const Vocab **out) __attribute__((warn_unused_result));
/* Arguments from `first` on as one text, as if they had been quoted. */
Str lookup_joined(Run *run, int first);
/* Whether each word of `typed` begins a word of `text`; case does not matter. */
bool lookup_matches(Str typed, Str text);

typedef struct TagList {
    TagId *ids;
    uint32_t count;
} TagList;
/* Tags that have these words in one of their names, or, where none has, in what they mean; in the
 * order of the vocabulary. */
TagList lookup_tags(Run *run, const Vocab *v, Str typed);
/* All of them, the groups one after another. */
TagList lookup_all_tags(Run *run, const Vocab *v);

#endif
