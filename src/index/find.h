/*
 * Asking the index. A question is words (each looked for in notes, remarks, facts, titles, owners
 * and part names), conditions on readings and computed values, and filters. All of them must hold
 * on the same job, or, when that is asked, in jobs of the same engine.
 */
#ifndef THOU_INDEX_FIND_H
#define THOU_INDEX_FIND_H

#include "index/index.h"

enum { ASK_MOST = 32 }; /* words, and conditions, of one question */

typedef struct AskWord {
    Str text;
    bool exact; /* a phrase, or an item: its last word is whole */
    bool item;  /* S31#7: what was read on it and where it sat is meant, too */
} AskWord;

typedef struct Condition {
    Str typed;
    TagId tag;
    Str subject, at; /* empty: any; at as the index writes it */
    bool ever;       /* of where an item sits: where it sat, too */
    bool words;      /* a fact, or an item that sits there: text is compared, not range */
    Str text;
    int64_t low, high; /* thousandths of the tag's last shown place; both ends belong to it */
} Condition;

typedef struct Ask {
    AskWord words[ASK_MOST];
    Condition conditions[ASK_MOST];
    uint32_t word_count, condition_count;
    Str engine, part, owner, stage; /* empty: any */
    int32_t since, until;           /* days; INT32_MIN, INT32_MAX: any */
    bool ever;                      /* at any of its entries, not only as the log leaves it */
    bool same_place;                /* the conditions hold on the same place or item */
    bool same_engine;               /* they, and the words, may hold in different jobs of it */
    uint32_t limit;                 /* jobs given back; from 1 */
} Ask;

/* Adds what was typed: a condition when it has an operator with blanks around it (or < or >
 * anywhere), else words. ERR_USAGE says what is wrong with a condition. */
bool ask_add(Ask *ask, const Book *b, Str typed, Arena *a, Err *err)
    __attribute__((warn_unused_result));

/* Words that begin with a quantity and hold a number: `bind clearance under .070` was perhaps meant
 * as a condition. */
bool ask_word_compares(const Vocab *v, Str typed);

typedef enum MatchKind {
    MATCH_READING,
    MATCH_COMPUTED,
    MATCH_FACT,
    MATCH_PLACEMENT, /* subject: the place; value: the item */
    MATCH_NOTE,
    MATCH_TITLE,
    MATCH_REMARK,
} MatchKind;
const char *match_kind_name(MatchKind kind); /* "reading" */

typedef struct Match {
    MatchKind kind;
    uint32_t line;    /* 0: it stands on no line of this log */
    int32_t day;      /* of its entry; DAY_NONE */
    Str tag, subject; /* of readings, computed values, facts from conditions */
    Str value, unit;  /* as written; computed: as shown */
    Str corrected;    /* a gauge was off: the value that counts; `value` is what was read */
    Str at, at_unit;
    Str how;           /* "nominal", "so far", ...: what is to be known of it; empty */
    Str text;          /* of what matched by words: the line's part that is searched */
    const Span *marks; /* in text: the words that match */
    uint32_t mark_count;
    uint32_t order; /* in which it was found: by condition, place by place */
} Match;

typedef struct FoundJob {
    Str name, file, title, engine, owner; /* file: a path that can be opened from here */
    int32_t first, last;                  /* days; DAY_NONE */
    Match *matches;                       /* in the order of the file, computed values behind */
    uint32_t match_count, match_room;
} FoundJob;

typedef struct Found {
    FoundJob *jobs; /* of a question with words the best fitting first, else the newest */
    uint32_t count;
    bool more;     /* than the limit */
    bool by_words; /* the order */
} Found;

/* The word of a question that has no letter or digit to look for is ERR_USAGE. */
bool index_find(Index *x, const Ask *ask, Arena *a, Found *out, Err *err)
    __attribute__((warn_unused_result));
/* "did you mean ...?" for what found nothing, from jobs, engines, owners and parts; or empty. */
bool index_near(Index *x, const Ask *ask, Arena *a, Str *out, Err *err)
    __attribute__((warn_unused_result));

#endif
