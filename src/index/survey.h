/*
 * The files of a book as they are now. A stat takes a microsecond or two, and ten thousand of them
 * most of the time of a short command: a thread begins with them while the caller opens the index
 * and asks it, and the caller helps with what is left.
 */
#ifndef THOU_INDEX_SURVEY_H
#define THOU_INDEX_SURVEY_H

#include "base/arena.h"
#include "base/err.h"

typedef enum FileKind { FILE_JOB, FILE_CARD } FileKind;
enum { FILE_KINDS = 2 };

typedef struct FileForm {
    const char *folder, *suffix; /* in the book; with the dot */
} FileForm;
extern const FileForm file_forms[FILE_KINDS];

typedef struct Stamp { /* as it is stored: plain numbers of this machine */
    uint64_t file;     /* inode and device */
    uint64_t size, hash;
    int64_t mtime_ns, ctime_ns;
    uint32_t job; /* id; 0 of a card */
    uint32_t name;
    uint16_t name_len;
    uint8_t kind;
    bool absent;
} Stamp;

typedef struct Stamps {
    Stamp *items;
    uint32_t count, room;
    char *names; /* each with its suffix, and a NUL behind it */
    size_t names_size, names_room;
    int64_t renewed_ns; /* clock of that look */
} Stamps;

static inline Str stamp_name(const Stamps *s, const Stamp *f) {
    return (Str){s->names + f->name, f->name_len};
}
/* Takes out those of files that went away. */
void stamps_drop_absent(Stamps *s);
uint64_t stamp_file(uint64_t device, uint64_t inode);

typedef struct Survey Survey;

/* Begins; `book` is its folder, and must stay. */
Survey *survey_begin(const char *book);
/* Waits for the rest. The stamps (without hashes and jobs) live as long as the survey. Once. */
bool survey_end(Survey *s, Stamps *out, Err *err) __attribute__((warn_unused_result));
void survey_free(Survey *s); /* NULL is fine; one that has not ended is given up */

#endif
