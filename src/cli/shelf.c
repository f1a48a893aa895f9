#include "cli/shelf.h"

/* Each folder is opened once; NULL is the book with no folder. */
static bool open_folder(Run *run, const char *folder, Book **out) {
    if (!run->shelf) run->shelf = arena_alloc(run->arena, sizeof *run->shelf);
    Shelf *s = run->shelf;
    for (uint32_t i = 0; i < s->count; i++) {
        const char *have = book_folder(s->books[i]);
        if (have && folder ? strcmp(have, folder) == 0 : !have && !folder) {
            *out = s->books[i];
            return true;
        }
    }
    Book *b;
    if (!book_open(folder, &b, &run->err)) return false;
    arena_grow(run->arena, s->books, s->count, s->room);
    s->books[s->count++] = b;
    *out = b;
    return true;
}

void shelf_close(Run *run) {
    for (uint32_t i = 0; run->shelf && i < run->shelf->count; i++)
        book_close(run->shelf->books[i]);
    run->shelf = NULL;
}

const char *shelf_folder(Run *run) {
    const char *folder = run->args.book ? run->args.book : run->args.book_default;
    return folder ? folder : book_find(".", run->arena);
}

bool shelf_book(Run *run, Book **out) {
    const char *folder = shelf_folder(run);
    if (folder) return open_folder(run, folder, out);
    *out = NULL;
    return true;
}

bool shelf_need_book(Run *run, Book **out) {
    Book *b;
    if (!shelf_book(run, &b)) return false;
    if (!b)
        return err_set(&run->err, ERR_USAGE,
                       "there is no book here or in a folder above: name one with --book DIR, or "
                       "make one with thou start");
    *out = b;
    return true;
}

bool shelf_book_of(Run *run, const char *path, Book **out) {
    const char *folder = run->args.book;
    if (!folder) folder = book_find(book_folder_of(path, run->arena), run->arena);
    return open_folder(run, folder, out);
}

bool shelf_target(Run *run, const char *argument, Target *out) {
    Book *b;
    Target t = {0};
    if (!shelf_book(run, &b) || !book_resolve(b, argument, run->arena, &t.path, &run->err))
        return false;
    bool by_name = t.path != argument;
    if (!(by_name ? shelf_book(run, &t.book) : shelf_book_of(run, t.path, &t.book))) return false;
    *out = t;
    return true;
}
