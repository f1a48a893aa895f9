/* Which book a command works on, and the jobs that its arguments mean. */
#ifndef THOU_CLI_SHELF_H
#define THOU_CLI_SHELF_H

#include "book/book.h"
#include "cli/command.h"

/* The book of --book, of THOU_BOOK, or from here upwards; *out is NULL when there is none. */
bool shelf_book(Run *run, Book **out) __attribute__((warn_unused_result));
/* The same, but no book is an error that says what to do. */
bool shelf_need_book(Run *run, Book **out) __attribute__((warn_unused_result));
/* The folder of that book, which need not be a book yet; NULL when there is none. */
const char *shelf_folder(Run *run);
/* The book of a lone file: --book, else the one it stands in, else one with no folder. What
 * THOU_BOOK says does not matter here: another shop's units must not be read into the file. */
bool shelf_book_of(Run *run, const char *path, Book **out) __attribute__((warn_unused_result));

typedef struct Target {
    Book *book; /* maybe one with no folder */
    const char *path;
} Target;
/* What a JOB argument means. */
bool shelf_target(Run *run, const char *argument, Target *out) __attribute__((warn_unused_result));

typedef struct Shelf {
    Book **books;
    uint32_t count, room;
} Shelf;
void shelf_close(Run *run);

#endif
