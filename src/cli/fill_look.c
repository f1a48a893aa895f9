/* The log with what was typed so far, looked at after each value. */
#include "cli/fill.h"

static const Door *door_in(const Fill *f, Arena *a) {
    BookDoor *through = arena_alloc(a, sizeof *through);
    *through = (BookDoor){.book = f->book, .arena = a};
    Door *door = arena_alloc(a, sizeof *door);
    *door = book_door(through);
    return door;
}

/* Two looks are alive: the one before a value and the one with it. */
const Look *fill_look(Fill *f) {
    f->turn = !f->turn;
    Arena *a = f->arenas[f->turn];
    arena_reset(a);
    Str entry = bench_entry(&f->bench, a);
    Str text = bench_joined(f->log.text, entry, a, &f->entry_at);
    return look_over(book_vocab(f->book), f->log.path, text, door_in(f, a), a);
}

bool fill_reread(Fill *f, bool *changed) {
    FileStamp now;
    *changed = false;
    if (!file_stamp(f->path, &now, &f->run->err)) return false;
    if (file_stamp_eq(&now, &f->stamp)) return true;
    if (!file_read(f->run->arena, f->path, &f->log.text, &f->stamp, &f->run->err)) return false;
    *changed = true;
    return true;
}

enum { NAMED_MOST = 3 };

typedef struct Names { /* "shim I1, shim E1 and 2 more" */
    Str text;
    uint32_t count;
} Names;

static void add_name(Fill *f, Names *n, Str key) {
    if (n->count++ >= NAMED_MOST) return;
    n->text = arena_printf(f->run->arena, "%.*s%s%.*s", STR_ARG(n->text), n->text.n ? ", " : "",
                           STR_ARG(key));
}

static Str names_text(Fill *f, const Names *n) {
    if (n->count <= NAMED_MOST) return n->text;
    return arena_printf(f->run->arena, "%.*s and %u more", STR_ARG(n->text), n->count - NAMED_MOST);
}

/* Kept as skipped: a second reading of what another has measured would take its place. */
bool fill_drop_answered(Fill *f, Str *dropped, Str *twice) {
    Names left_out = {0}, both = {0};
    bool ok = true;
    Arena *a = arena_new();
    bool **lacks = plan_lacking(&f->plan, &f->log, door_in(f, a), &f->asked, a);
    for (uint32_t i = 0; i < f->bench.count && ok; i++) {
        BenchCell *cell = &f->bench.cells[i];
        if (!bench_answered(cell, &f->plan, lacks) || cell->skipped) continue;
        add_name(f, cell->value.n ? &both : &left_out, cell->key);
        if (cell->value.n) continue;
        ok = bench_keep_skip(&f->bench, cell, &f->run->err);
        cell->skipped = ok;
    }
    arena_free(a);
    *dropped = names_text(f, &left_out);
    *twice = names_text(f, &both);
    return ok;
}

static Span in_text(const Fill *f, const BenchCell *cell) {
    return (Span){f->entry_at + cell->span.off, cell->span.len};
}

/* Whether the log would read the value at all; if not the cell is as it was. */
const Look *fill_try(Fill *f, BenchCell *cell, Str typed, const char **fault) {
    BenchCell old = *cell;
    *fault = bench_put(&f->bench, cell, typed);
    if (*fault) return NULL;
    const Look *now = fill_look(f);
    Span span = in_text(f, cell);
    const Finding *bad = look_fault(now, span);
    const PlanColumn *col = &f->plan.grids[cell->grid].columns[cell->column];
    bool reads =
        book_vocab(f->book)->tags[col->tag].kind != TAG_PLACEMENT && !str_eq(cell->value, STR("-"));
    if (!bad && (!reads || look_reading(now, span))) return now;
    *fault = bad ? arena_str(f->run->arena, bad->message).p
                 : "the log would not read it: is a block note (>>) open at its end?";
    *cell = old;
    f->turn = !f->turn; /* the look before is still the one to compare with */
    return NULL;
}
