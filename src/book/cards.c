/* Part cards, each read once for all threads, and the door through which a job asks for them. */
#include "book/internal.h"

#include "base/hash.h"

typedef struct CardSlot {
    uint64_t hash;
    Card *card; /* NULL: a free slot */
    bool there; /* false: looked for and not found */
} CardSlot;

struct CardTable {
    Arena *arena;
    CardSlot *slots;
    uint32_t room, used; /* room is a power of two, at most half of it used */
    BookFiles names;     /* of all cards, once one was asked for that is not there */
    bool listed;
};

enum { FIRST_ROOM = 64 };

struct CardTable *card_table_new(void) {
    Arena *arena = arena_new();
    struct CardTable *t = arena_alloc(arena, sizeof *t);
    t->arena = arena;
    t->room = FIRST_ROOM;
    t->slots = arena_array(arena, t->room, sizeof *t->slots);
    return t;
}

void card_table_free(struct CardTable *t) {
    if (t) arena_free(t->arena);
}

/* The slot of that name, or the free one where it belongs. */
static CardSlot *find_slot(struct CardTable *t, uint64_t hash, Str name) {
    uint32_t at = (uint32_t)hash & (t->room - 1);
    for (;; at = (at + 1) & (t->room - 1)) {
        CardSlot *slot = &t->slots[at];
        if (!slot->card || (slot->hash == hash && str_eq(slot->card->name, name))) return slot;
    }
}

static void grow(struct CardTable *t) {
    CardSlot *old = t->slots;
    uint32_t room = t->room;
    t->room *= 2;
    t->slots = arena_array(t->arena, t->room, sizeof *t->slots);
    for (uint32_t i = 0; i < room; i++) {
        if (old[i].card) *find_slot(t, old[i].hash, old[i].card->name) = old[i];
    }
}

/* Whether the file is there; one that cannot be read says so in card->err. */
static bool read_card(const Book *b, Card *card, Arena *a) {
    const char *path = book_file_path(b, BOOK_PARTS, card->name, SUFFIX_PART, a);
    if (!path || !file_exists(path)) return false;
    card->source.path = str_from(path);
    if (!file_read(a, path, &card->source.text, NULL, &card->err)) return true;
    source_map(&card->source, a);
    card->findings.arena = a;
    card->job = job_read(book_vocab(b), &card->source, true, NULL, a, &card->findings);
    findings_sort(&card->findings);
    return true;
}

static const CardSlot *slot_of(Book *b, Str name) {
    struct CardTable *t = b->cards;
    uint64_t hash = hash_bytes(name);
    CardSlot *slot = find_slot(t, hash, name);
    if (slot->card) return slot;
    if ((t->used + 1) * 2 > t->room) {
        grow(t);
        slot = find_slot(t, hash, name);
    }
    Card *card = arena_alloc(t->arena, sizeof *card);
    card->name = arena_str(t->arena, name);
    t->used++;
    *slot = (CardSlot){.hash = hash, .card = card, .there = read_card(b, card, t->arena)};
    return slot;
}

const Card *book_card(Book *b, Str name) {
    if (!b->folder) return NULL;
    pthread_mutex_lock(&b->lock);
    CardSlot slot = *slot_of(b, name);
    pthread_mutex_unlock(&b->lock);
    return slot.there && slot.card->job ? slot.card : NULL;
}

static int by_name(const void *a, const void *b) {
    return str_cmp((*(const Card *const *)a)->name, (*(const Card *const *)b)->name);
}

Cards book_cards_read(Book *b, Arena *a) {
    const struct CardTable *t = b->cards;
    Cards out = {.items = arena_array(a, t->used + 1, sizeof *out.items)};
    for (uint32_t i = 0; i < t->room; i++) {
        if (t->slots[i].card && t->slots[i].there) out.items[out.count++] = t->slots[i].card;
    }
    qsort(out.items, out.count, sizeof *out.items, by_name);
    return out;
}

static const Job *door_card(void *ctx, Str part_name) {
    const BookDoor *d = ctx;
    const Card *card = book_card(d->book, part_name);
    return card ? card->job : NULL;
}

/* The folder is listed once, however many logs name cards that are not there. One that cannot be
 * listed offers nothing. */
static void door_offer_cards(void *ctx, Near *near) {
    const BookDoor *d = ctx;
    Book *b = d->book;
    struct CardTable *t = b->cards;
    pthread_mutex_lock(&b->lock);
    Err err = {0};
    if (!t->listed && !book_cards(b, t->arena, &t->names, &err)) t->names = (BookFiles){0};
    t->listed = true;
    pthread_mutex_unlock(&b->lock);
    for (uint32_t i = 0; i < t->names.count; i++)
        near_offer(near, t->names.items[i].name);
}

/* A log that cannot be read is one that is not there: the job says so where it names it. */
static const Source *door_log(void *ctx, Str job_name) {
    const BookDoor *d = ctx;
    const char *path = book_job_path(d->book, job_name, d->arena);
    Err err = {0};
    Str text;
    if (!path || !file_exists(path) || !file_read(d->arena, path, &text, NULL, &err)) return NULL;
    Source *s = arena_alloc(d->arena, sizeof *s);
    *s = (Source){.path = str_from(path), .text = text};
    source_map(s, d->arena);
    return s;
}

Door book_door(BookDoor *d) {
    return (Door){.ctx = d, .log = door_log, .card = door_card, .offer_cards = door_offer_cards};
}
