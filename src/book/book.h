/*
 * The book: a folder with `jobs/NAME.job`, `parts/NAME.part` and `shop.vocab`. Here it is found,
 * listed and read; the vocabulary and the cards are read once and shared by all threads. Nothing
 * is written here, and neither the environment nor the clock is looked at.
 *
 * Paths begin with the book's folder as it was given or found ("", "..", "/home/kl/shop"), so that
 * messages show what an editor can open from where the person stands. Failures of the machine
 * (a folder that cannot be listed, a file that cannot be opened) are Err; what is wrong in a file
 * are findings.
 */
#ifndef THOU_BOOK_BOOK_H
#define THOU_BOOK_BOOK_H

#include "base/file.h"
#include "compute/job.h"

typedef struct Book Book;

#define BOOK_JOBS "jobs"
#define BOOK_PARTS "parts"
#define BOOK_SHOP "shop.vocab"
#define BOOK_IMPORTS "imports" /* how the columns of a CSV come into a log, a file each */
/* What the program keeps for itself; can be deleted at any time but for fill/, whose values stand
 * nowhere else. */
#define BOOK_STORE ".thou"

/* The nearest folder, from `start` upwards, that holds jobs/, shop.vocab or .thou. Text in `a`;
 * NULL when there is none. */
const char *book_find(const char *start, Arena *a);
/* The folder a file is in ("." when its path names none), where book_find starts for a lone file.
 */
const char *book_folder_of(const char *path, Arena *a);

/* Reads shop.vocab, if there is one, over the built-in vocabulary. folder NULL: no book, for a
 * lone file: there are no jobs and no cards. Give back with book_close. */
bool book_open(const char *folder, Book **out, Err *err) __attribute__((warn_unused_result));
void book_close(Book *b);               /* NULL is fine */
const char *book_folder(const Book *b); /* NULL without a book */

/* The vocabulary, and what is wrong in shop.vocab; both made when first asked for, by any thread.
 * With errors there, nothing may be computed: book_need_vocab then says so in *err. */
const Vocab *book_vocab(const Book *b);
const Findings *book_vocab_findings(const Book *b);
bool book_need_vocab(const Book *b, Err *err) __attribute__((warn_unused_result));
uint64_t book_vocab_hash(const Book *b); /* vocab_hash of it, for which it need not be made */

typedef struct BookFile {
    Str name;         /* "26-014" */
    const char *path; /* "jobs/26-014.job" */
} BookFile;

typedef struct BookFiles {
    BookFile *items; /* by name, byte for byte, however the system lists them */
    uint32_t count;
} BookFiles;

/* Every job, every card. A folder that is not there has none; names that begin with a dot are
 * passed over. */
bool book_jobs(const Book *b, Arena *a, BookFiles *out, Err *err)
    __attribute__((warn_unused_result));
bool book_cards(const Book *b, Arena *a, BookFiles *out, Err *err)
    __attribute__((warn_unused_result));
/* Where a job of this name stands or would stand; NULL when the name cannot be one (empty, a dot
 * in front, a slash in it). */
const char *book_job_path(const Book *b, Str name, Arena *a);
/* "26-014" of "jobs/26-014.job". */
Str book_name_of(const char *path);

/* What a person calls a job: its name, else a path, else a part of a name that only one job has.
 * The path of its file; ERR_USAGE with the candidates, or the nearest names. `b` may be NULL. */
bool book_resolve(const Book *b, const char *argument, Arena *a, const char **path, Err *err)
    __attribute__((warn_unused_result));

/* A card, read on first use and the same for all threads from then on. */
typedef struct Card {
    Str name;
    Source source;
    const Job *job;
    Findings findings; /* sorted */
    Err err;           /* why it could not be read, although it is there; else ERR_NONE */
} Card;

/* NULL when the book has no such card (or could not read it: see book_cards_read). Any thread. */
const Card *book_card(Book *b, Str name);
/* Those that were asked for and are there, by name. Not while other threads ask for more. */
typedef struct Cards {
    const Card **items;
    uint32_t count;
} Cards;
Cards book_cards_read(Book *b, Arena *a);

/* The book as a job sees it. One a thread; what `continues` reads goes into `arena`, which must
 * outlive the job. `a` may be reset between jobs. */
typedef struct BookDoor {
    Book *book;
    Arena *arena;
} BookDoor;
Door book_door(BookDoor *d); /* d must outlive the Door */

#endif
