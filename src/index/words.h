/*
 * Words as FTS5 itself cuts them: a question's words and the lines they are found in go through
 * the same tokenizer as the index, and no text of a person ever reaches its query language but as
 * quoted tokens.
 */
#ifndef THOU_INDEX_WORDS_H
#define THOU_INDEX_WORDS_H

#include "index/find.h"
#include "index/internal.h"

typedef struct Token {
    Str text; /* folded */
    uint32_t off, end;
} Token;

typedef struct Tokens {
    Token *items;
    uint32_t count, room;
} Tokens;

typedef struct Tokenizer Tokenizer;
bool tokenizer_new(Index *x, Arena *a, Tokenizer **out, Err *err)
    __attribute__((warn_unused_result));
void tokenizer_free(Tokenizer *t);
/* Adds the tokens of a text; offsets are moved by `base`. */
bool tokenize(Tokenizer *t, Str text, uint32_t base, Arena *a, Tokens *out);

typedef struct WordQuery {
    Tokens tokens;
    bool begins; /* the last token is a beginning */
    bool item;
} WordQuery;

/* The words of a question; ERR_USAGE for one without a token. */
bool word_queries(Tokenizer *t, const Ask *ask, Arena *a, WordQuery **out, Err *err)
    __attribute__((warn_unused_result));
/* As an FTS5 expression: "tok" "tok" * AND ...; of all that are no items. */
Str word_expression(const WordQuery *queries, uint32_t count, Arena *a);
Str phrase_expression(const WordQuery *query, Arena *a); /* of one */

/* Adds the lines of a log that hold any of the words, with marks; found says which were there. What
 * is added is copied into `a`; all else, the log too, may be gone afterwards with `scratch`. */
bool word_matches(Tokenizer *t, const WordQuery *queries, uint32_t count, const Book *b,
                  const Source *s, Arena *scratch, Arena *a, FoundJob *job, bool found[ASK_MOST]);

#endif
