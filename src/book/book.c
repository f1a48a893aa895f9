/* Finding a book, opening it, and where its files are. */
#include "book/internal.h"

#include <dirent.h>
#include <errno.h>
#include <stdatomic.h>
#include <sys/stat.h>

/* The vocabulary, made when somebody first asks for it: a search by words never does. */
struct VocabOnce {
    pthread_mutex_t lock;
    atomic_bool made;
    Vocab *vocab;
    Findings findings;
};

const char *book_path(const char *folder, const char *part, Arena *a) {
    size_t n = strlen(folder);
    if (n == 0 || strcmp(folder, ".") == 0) return arena_printf(a, "%s", part).p;
    return arena_printf(a, "%s%s%s", folder, folder[n - 1] == '/' ? "" : "/", part).p;
}

const char *book_folder_of(const char *path, Arena *a) {
    const char *slash = strrchr(path, '/');
    if (!slash) return ".";
    if (slash == path) return "/";
    return arena_str(a, (Str){path, (size_t)(slash - path)}).p;
}

static bool is_book(const char *folder, Arena *a) {
    struct stat st;
    if (stat(book_path(folder, BOOK_JOBS, a), &st) == 0 && S_ISDIR(st.st_mode)) return true;
    return file_exists(book_path(folder, BOOK_SHOP, a)) ||
           file_exists(book_path(folder, BOOK_STORE, a));
}

static bool ends_in_dots(const char *folder) {
    const char *slash = strrchr(folder, '/');
    const char *last = slash ? slash + 1 : folder;
    return strcmp(last, ".") == 0 || strcmp(last, "..") == 0;
}

/* By its name where it has one, so that paths stay as short as a person would write them. */
static const char *parent_of(const char *folder, Arena *a) {
    size_t n = strlen(folder);
    while (n > 1 && folder[n - 1] == '/')
        n--;
    folder = arena_str(a, (Str){folder, n}).p;
    if (strcmp(folder, ".") == 0) return "..";
    if (ends_in_dots(folder)) return arena_printf(a, "%s/..", folder).p;
    return book_folder_of(folder, a);
}

static bool same_folder(const char *a, const char *b) {
    struct stat x, y;
    return stat(a, &x) == 0 && stat(b, &y) == 0 && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

const char *book_find(const char *start, Arena *a) {
    const char *folder = start[0] ? start : ".";
    while (!is_book(folder, a)) {
        const char *parent = parent_of(folder, a);
        if (same_folder(folder, parent) || !file_exists(parent)) return NULL;
        folder = parent;
    }
    return folder;
}

/* A missing shop.vocab is no failure, one that cannot be read is. */
static bool read_shop(Book *b, Err *err) {
    const char *path = book_path(b->folder, BOOK_SHOP, b->arena);
    if (!file_exists(path)) return true;
    Str text;
    if (!file_read(b->arena, path, &text, NULL, err)) return false;
    b->shop = arena_alloc(b->arena, sizeof *b->shop);
    *b->shop = (Source){.path = str_from(path), .text = text};
    source_map(b->shop, b->arena);
    return true;
}

bool book_open(const char *folder, Book **out, Err *err) {
    struct stat st;
    if (folder && (stat(folder, &st) != 0 || !S_ISDIR(st.st_mode)))
        return err_set(err, ERR_USAGE, "there is no folder '%s' to be a book", folder);
    Arena *arena = arena_new();
    Book *b = arena_alloc(arena, sizeof *b);
    *b = (Book){.arena = arena, .cards = card_table_new()};
    b->vocab = arena_alloc(arena, sizeof *b->vocab);
    b->vocab->findings.arena = arena;
    pthread_mutex_init(&b->vocab->lock, NULL);
    pthread_mutex_init(&b->lock, NULL);
    if (folder) b->folder = arena_str(arena, str_from(folder)).p;
    if (folder && !read_shop(b, err)) {
        book_close(b);
        return false;
    }
    *out = b;
    return true;
}

void book_close(Book *b) {
    if (!b) return;
    card_table_free(b->cards);
    vocab_free(b->vocab->vocab);
    pthread_mutex_destroy(&b->vocab->lock);
    pthread_mutex_destroy(&b->lock);
    arena_free(b->arena);
}

const char *book_folder(const Book *b) {
    return b->folder;
}

static void make_vocab(struct VocabOnce *once, const Source *shop) {
    pthread_mutex_lock(&once->lock);
    if (!atomic_load(&once->made)) {
        once->vocab = vocab_load(shop, &once->findings);
        findings_sort(&once->findings);
        atomic_store(&once->made, true);
    }
    pthread_mutex_unlock(&once->lock);
}

static const struct VocabOnce *vocab_of(const Book *b) {
    if (!atomic_load(&b->vocab->made)) make_vocab(b->vocab, b->shop);
    return b->vocab;
}

const Vocab *book_vocab(const Book *b) {
    return vocab_of(b)->vocab;
}

const Findings *book_vocab_findings(const Book *b) {
    return &vocab_of(b)->findings;
}

bool book_need_vocab(const Book *b, Err *err) {
    return !book_vocab_findings(b)->errors ||
           err_set(err, ERR_USAGE, "shop.vocab has errors: put it right first (thou check)");
}

uint64_t book_vocab_hash(const Book *b) {
    return vocab_hash(b->shop);
}

const char *book_file_path(const Book *b, const char *dir, Str name, const char *suffix, Arena *a) {
    bool bad = name.n == 0 || name.n > 200 || name.p[0] == '.' || memchr(name.p, '/', name.n) ||
               memchr(name.p, '\0', name.n);
    if (bad || !b->folder) return NULL;
    Str file = arena_printf(a, "%s/%.*s%s", dir, STR_ARG(name), suffix);
    return book_path(b->folder, file.p, a);
}

const char *book_job_path(const Book *b, Str name, Arena *a) {
    return book_file_path(b, BOOK_JOBS, name, SUFFIX_JOB, a);
}

Str book_name_of(const char *path) {
    const char *slash = strrchr(path, '/');
    Str name = str_from(slash ? slash + 1 : path);
    static const char *const suffixes[] = {SUFFIX_JOB, SUFFIX_PART};
    for (size_t i = 0; i < 2; i++) {
        Str suffix = str_from(suffixes[i]);
        if (name.n > suffix.n && str_ends(name, suffix)) name.n -= suffix.n;
    }
    return name;
}
