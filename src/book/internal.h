/* What the files of this room share. */
#ifndef THOU_BOOK_INTERNAL_H
#define THOU_BOOK_INTERNAL_H

#include "book/book.h"
#include <pthread.h>

struct CardTable; /* cards.c */
struct VocabOnce; /* book.c */

struct Book {
    Arena *arena;       /* the folder, shop.vocab, findings of the vocabulary */
    const char *folder; /* NULL without a book */
    Source *shop;
    struct VocabOnce *vocab;
    pthread_mutex_t lock; /* over the cards */
    struct CardTable *cards;
};

/* FOLDER/PART, without a "./" in front. */
const char *book_path(const char *folder, const char *part, Arena *a);
/* FOLDER/DIR/NAME + suffix of this book; NULL when name cannot name a file there. */
const char *book_file_path(const Book *b, const char *dir, Str name, const char *suffix, Arena *a);

struct CardTable *card_table_new(void);
void card_table_free(struct CardTable *t);

#define SUFFIX_JOB ".job"
#define SUFFIX_PART ".part"

#endif
