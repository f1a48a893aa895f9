#include "show/summary.h"

#include <math.h>

enum { LINE = 72, LONGEST = 400 };

/* Both in one unit: it is said once, at the end. */
static Str from_to(const Said *was, const Said *now, Arena *a) {
    bool one_unit = was->unit == now->unit;
    Str from = said_value(was, !one_unit, a), to = said_value(now, true, a);
    bool words = isnan(now->value) && !now->unit;
    const char *quote = words ? "'" : "";
    return arena_printf(a, "%s%.*s%s -> %s%.*s%s", quote, STR_ARG(from), quote, quote, STR_ARG(to),
                        quote);
}

static Str state_change(const Said *was, const Said *now, Arena *a) {
    bool struck = now->flags & READ_STRUCK, doubted = now->flags & READ_SUSPECT;
    Str value = said_value(&(Said){.text = now->text, .unit = now->unit}, true, a);
    const char *word = struck                     ? "struck"
                       : doubted                  ? "doubted"
                       : was->flags & READ_STRUCK ? "no longer struck"
                                                  : "no longer doubted";
    return arena_printf(a, "%s (%.*s)", word, STR_ARG(value));
}

Str summary_change(const Vocab *v, const Said *was, const Said *now, ChangeKind kind, Arena *a) {
    Str name = said_name(v, now ? now : was, a);
    Str text = {0};
    char day[DATE_TEXT];
    switch (kind) {
    case CHANGE_VALUE: {
        Str values = from_to(was, now, a);
        return arena_printf(a, "%.*s corrected %.*s", STR_ARG(name), STR_ARG(values));
    }
    case CHANGE_CONDITION: {
        Str before = said_name(v, was, a);
        return arena_printf(a, "%.*s corrected to %.*s", STR_ARG(before), STR_ARG(name));
    }
    case CHANGE_STATE: text = state_change(was, now, a); break;
    case CHANGE_MOVED:
        text = arena_printf(a, "moved to %s",
                            now->date.day == DAY_NONE ? "the head" : date_text(now->date, day));
        break;
    case CHANGE_REMOVED:
        text = said_value(was, true, a);
        return arena_printf(a, "%.*s taken out (%.*s)", STR_ARG(name), STR_ARG(text));
    default: text = arena_printf(a, "added"); break;
    }
    return arena_printf(a, "%.*s %.*s", STR_ARG(name), STR_ARG(text));
}

/* ---- counts -------------------------------------------------------------------------------------
 */

typedef struct Counts {
    uint32_t added[SAID_RULE + 1], removed[SAID_RULE + 1], moved;
    Str *corrections;
    uint32_t count, room;
} Counts;

static void correction(Counts *n, Str text, Arena *a) {
    arena_grow(a, n->corrections, n->count, n->room);
    n->corrections[n->count++] = text;
}

/* A reading that takes an older one's place, in a correcting entry or written again, is a
 * correction too, unless it says the same. */
static bool replaces_other(const SummaryFile *f, const Said *now) {
    if (f->how == SUMMARY_NEW || now->replaces == SAID_NONE) return false;
    const Said *was = &f->now.items[now->replaces];
    return !str_eq(was->text, now->text) || was->unit != now->unit;
}

static void count_added(Counts *n, const SummaryFile *f, const Said *now, Arena *a) {
    if (!replaces_other(f, now)) {
        n->added[now->kind]++;
        return;
    }
    const Said *other = &f->now.items[now->replaces];
    correction(n, summary_change(f->vocab, other, now, CHANGE_VALUE, a), a);
}

static void count_change(Counts *n, const SummaryFile *f, const Change *c, Arena *a) {
    switch (c->kind) {
    case CHANGE_ADDED: count_added(n, f, &f->now.items[c->now], a); break;
    case CHANGE_REMOVED: n->removed[f->old.items[c->was].kind]++; break;
    case CHANGE_MOVED: n->moved++; break;
    default: { /* the same thing in both, written over */
        const Said *was = &f->old.items[c->was], *now = &f->now.items[c->now];
        correction(n, summary_change(f->vocab, was, now, c->kind, a), a);
    }
    }
}

static void part(Buf *b, size_t start, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void part(Buf *b, size_t start, const char *format, ...) {
    va_list args;
    if (b->n > start) buf_puts(b, "; ");
    va_start(args, format);
    buf_vprintf(b, format, args);
    va_end(args);
}

static void number(Buf *b, size_t start, uint32_t n, SaidKind kind, const char *what) {
    static const char *const one[] = {"reading", "fact", "placement", "rule"};
    if (n) part(b, start, "%u %s%s %s", n, one[kind], n == 1 ? "" : "s", what);
}

static void corrections(Buf *b, size_t start, const Counts *n, size_t room) {
    uint32_t shown = 0;
    for (; shown < n->count; shown++) {
        if (shown && b->n + n->corrections[shown].n > room) break;
        part(b, start, "%.*s", STR_ARG(n->corrections[shown]));
    }
    if (shown < n->count) part(b, start, "%u more corrected", n->count - shown);
}

static void changed_file(Buf *out, const SummaryFile *f, size_t width, Arena *a) {
    size_t start = out->n;
    Counts n = {0};
    for (uint32_t i = 0; i < f->changes.count; i++)
        count_change(&n, f, &f->changes.items[i], a);
    number(out, start, n.added[SAID_READING], SAID_READING, "added");
    corrections(out, start, &n, start + width);
    number(out, start, n.removed[SAID_READING], SAID_READING, "taken out");
    if (n.moved) part(out, start, "%u moved to another entry", n.moved);
    for (SaidKind kind = SAID_FACT; kind <= SAID_RULE; kind++) {
        number(out, start, n.added[kind], kind, "added");
        number(out, start, n.removed[kind], kind, "taken out");
    }
    if (out->n == start) buf_puts(out, "notes changed, no reading");
}

static Str file_line(const SummaryFile *f, size_t width, Arena *a) {
    Buf b = {0};
    buf_printf(&b, "%.*s: ", STR_ARG(f->name));
    if (f->how == SUMMARY_GONE) buf_printf(&b, "%s taken out of the book", f->one);
    if (f->how == SUMMARY_NEW) buf_printf(&b, "%s begun", f->one);
    if (!f->vocab && f->how == SUMMARY_CHANGED) buf_printf(&b, "%s changed", f->one);
    bool more = f->vocab && f->how != SUMMARY_GONE;
    if (f->how == SUMMARY_NEW && more && f->changes.count) buf_puts(&b, "; ");
    if (more && (f->changes.count || f->how == SUMMARY_CHANGED))
        changed_file(&b, f, b.n < width ? width - b.n : 0, a);
    Str line = arena_str(a, buf_str(&b));
    buf_release(&b);
    return line;
}

SummaryLine summary_line(const SummaryFile *f, Arena *a) {
    SummaryLine line = {.one = f->one};
    Arena *own = arena_new();
    line.brief = arena_str(a, file_line(f, LINE, own));
    line.whole = arena_str(a, file_line(f, LONGEST, own));
    for (uint32_t i = 0; f->how != SUMMARY_GONE && i < f->changes.count; i++) {
        const Change *c = &f->changes.items[i];
        line.readings += c->kind == CHANGE_ADDED && f->now.items[c->now].kind == SAID_READING;
    }
    arena_free(own);
    return line;
}

/* ---- the whole message --------------------------------------------------------------------------
 */

/* "3 logs, 2 cards: 168 readings added" */
static void many_files(Buf *out, const SummaryLine *lines, uint32_t count) {
    static const char *const ones[] = {"log", "card", "map", "file"};
    uint32_t readings = 0;
    size_t start = out->n;
    for (size_t k = 0; k < sizeof ones / sizeof *ones; k++) {
        uint32_t n = 0;
        for (uint32_t i = 0; i < count; i++)
            n += strcmp(lines[i].one, ones[k]) == 0;
        if (n)
            buf_printf(out, "%s%u %s%s", out->n > start ? ", " : "", n, ones[k], n == 1 ? "" : "s");
    }
    for (uint32_t i = 0; i < count; i++)
        readings += lines[i].readings;
    if (readings) buf_printf(out, ": %u reading%s added", readings, readings == 1 ? "" : "s");
}

static void first_line(Buf *out, const SummaryLine *lines, uint32_t count) {
    size_t n = 0;
    for (uint32_t i = 0; i < count && n <= LINE; i++)
        n += lines[i].brief.n + (i ? 2 : 0);
    if (n > LINE && count > 1) {
        many_files(out, lines, count);
        return;
    }
    for (uint32_t i = 0; i < count; i++)
        buf_printf(out, "%s%.*s", i ? ". " : "", STR_ARG(lines[i].brief));
}

void summary_record(Buf *out, const SummaryLine *lines, uint32_t count, Str said) {
    bool told = !said.n && count == 1 && str_eq(lines[0].brief, lines[0].whole);
    if (said.n)
        buf_add(out, said);
    else
        first_line(out, lines, count);
    buf_putc(out, '\n');
    for (uint32_t i = 0; !told && i < count; i++)
        buf_printf(out, "%s%.*s\n", i ? "" : "\n", STR_ARG(lines[i].whole));
}
