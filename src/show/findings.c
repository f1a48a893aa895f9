#include "show/findings.h"

#include "base/utf8.h"

enum { LINE_WIDTH = 80, LINE_LEAST = 20, GUTTER = 4, TAB = 8 };

/* Findings come sorted, so the next line, and the next place in it, is looked for from the last one
 * on: a log may be one line of a megabyte. */
typedef struct Cursor {
    const Source *source;
    size_t start, next; /* of the line, and of the one behind it */
    uint32_t line;
    size_t counted; /* bytes of the line, and the characters they are */
    uint32_t characters;
} Cursor;

static const Str BOM = {"\xEF\xBB\xBF", 3};

static size_t next_line(const Source *source, size_t start) {
    size_t end = str_find_char(source->text, '\n', start);
    return end == SIZE_MAX ? SIZE_MAX : end + 1;
}

static void seek(Cursor *c, const Source *source, size_t off) {
    if (c->source != source || off < c->start)
        *c = (Cursor){.source = source, .next = next_line(source, 0), .line = 1};
    while (c->next <= off) {
        *c = (Cursor){source, c->next, next_line(source, c->next), c->line + 1, 0, 0};
    }
}

static Str line_of(const Cursor *c) {
    Str text = c->source->text;
    Str line = {text.p + c->start, (c->next == SIZE_MAX ? text.n : c->next - 1) - c->start};
    if (line.n && line.p[line.n - 1] == '\r') line.n--;
    /* a byte-order mark is no character to whoever looks for the place in an editor */
    return c->start == 0 && str_starts(line, BOM) ? str_skip(line, BOM.n) : line;
}

/* How many characters stand before byte `at` of the line. */
static uint32_t characters(Cursor *c, Str line, size_t at) {
    if (at < c->counted) c->counted = c->characters = 0;
    for (size_t len; c->counted < at; c->counted += len, c->characters++)
        utf8_next(str_skip((Str){line.p, at}, c->counted), &len);
    return c->characters;
}

/* A finding's place: its line, and the bytes of the line before and under the caret. */
typedef struct Place {
    uint32_t line, column;
    Str text, before, under;
} Place;

static Place place_of(Cursor *c, const Finding *f) {
    size_t off = f->span.off <= f->source->text.n ? f->span.off : f->source->text.n;
    seek(c, f->source, off);
    Place p = {.line = c->line, .text = line_of(c)};
    size_t from = f->source->text.n ? (size_t)(p.text.p - f->source->text.p) : 0;
    size_t at = off > from ? off - from : 0;
    if (at > p.text.n) at = p.text.n;
    size_t len = f->span.len < p.text.n - at ? f->span.len : p.text.n - at;
    p.before = (Str){p.text.p, at};
    p.under = (Str){p.text.p + at, len};
    p.column = characters(c, p.text, at) + 1;
    return p;
}

/* The text as a terminal shows it: tabs to the next stop, control characters and bytes that are no
 * text as one mark. */
static void add_visible(Buf *out, Str s, size_t *column) {
    for (size_t len; s.n; s = str_skip(s, len)) {
        uint32_t ch = utf8_next(s, &len);
        if (ch == '\t') {
            size_t to = (*column / TAB + 1) * TAB;
            buf_fill(out, ' ', to - *column);
            *column = to;
        } else if (ch < 0x20 || ch == 0x7f || (ch >= 0x80 && ch < 0xa0)) {
            buf_putc(out, '?');
            ++*column;
        } else if (ch == 0xFFFD && len == 1) {
            buf_puts(out, "\xEF\xBF\xBD");
            ++*column;
        } else {
            buf_add(out, (Str){s.p, len});
            *column += utf8_width((Str){s.p, len});
        }
    }
}

static size_t visible_width(Str s, size_t column) {
    size_t from = column;
    for (size_t len; s.n; s = str_skip(s, len)) {
        uint32_t ch = utf8_next(s, &len);
        if (ch == '\t')
            column = (column / TAB + 1) * TAB;
        else if (ch < 0xa0 || ch == 0xFFFD)
            column++;
        else
            column += utf8_width((Str){s.p, len});
    }
    return column - from;
}

/* Whether a text takes more columns; no more of it is looked at than tells. */
static bool wider(Str s, size_t most) {
    size_t looked = most * 4 + 4; /* the bytes of so many characters and one more */
    if (s.n <= looked) return visible_width(s, 0) > most;
    while (looked && ((uint8_t)s.p[looked] & 0xC0) == 0x80)
        looked--;
    return visible_width((Str){s.p, looked}, 0) > most || visible_width(s, 0) > most;
}

/* The line without its front, so that about `most` columns are left before byte `stop`. */
static Str cut_front(Str line, size_t stop, size_t most) {
    size_t from = stop, width = 0;
    while (from > 0) {
        size_t start = from - 1;
        while (start > 0 && from - start < 4 && ((uint8_t)line.p[start] & 0xC0) == 0x80)
            start--;
        width += visible_width((Str){line.p + start, from - start}, 0);
        if (width > most) break;
        from = start;
    }
    return str_skip(line, from);
}

static Str clip(Str line, size_t most) {
    size_t n = 0, column = 0;
    while (n < line.n) {
        size_t len;
        utf8_next(str_skip(line, n), &len);
        column += visible_width((Str){line.p + n, len}, column);
        if (column > most) break;
        n += len;
    }
    return (Str){line.p, n};
}

/* The line, cut around the caret when it is long, and the caret under it. */
static void add_excerpt(Buf *out, const Place *p, TextStyle style) {
    int width = style.width > LINE_LEAST ? style.width : style.width ? LINE_LEAST : LINE_WIDTH;
    const size_t most = (size_t)width - GUTTER - 2;
    bool cut_left = wider(p->text, most) && wider(p->before, most / 2);
    Str line = cut_left ? cut_front(p->text, p->before.n, most / 2) : p->text;
    size_t before = p->before.n - (p->text.n - line.n), column = 0;
    size_t room = most - (cut_left ? 3 : 0);
    bool cut_right = wider(line, room);
    if (cut_right) line = clip(line, room - 3);
    buf_puts(out, cut_left ? "  | ..." : "  | ");
    add_visible(out, line, &column);
    buf_puts(out, cut_right ? "...\n  | " : "\n  | ");
    if (before > line.n) before = line.n;
    size_t from = visible_width((Str){line.p, before}, 0);
    size_t under = p->under.n < line.n - before ? p->under.n : line.n - before;
    size_t carets = visible_width((Str){line.p + before, under}, from);
    buf_fill(out, ' ', from + (cut_left ? 3 : 0));
    if (style.colour) buf_puts(out, "\x1b[1m");
    buf_fill(out, '^', carets ? carets : 1);
    buf_puts(out, style.colour ? "\x1b[0m\n" : "\n");
}

static void add_level(Buf *out, Level level, bool colour) {
    if (colour) buf_puts(out, level == LEVEL_ERROR ? "\x1b[1;31m" : "\x1b[1;33m");
    buf_puts(out, level == LEVEL_ERROR ? "error:" : "warning:");
    if (colour) buf_puts(out, "\x1b[0m");
}

static void add_message(Buf *out, const Finding *f, const Place *p, bool colour) {
    size_t column = 0;
    add_visible(out, f->source->path, &column);
    buf_printf(out, ":%u:%u: ", p->line, p->column);
    add_level(out, f->kind->level, colour);
    buf_putc(out, ' ');
    add_visible(out, f->message, &column);
    buf_printf(out, " [%s]", f->kind->code);
}

void findings_text(Buf *out, const Findings *f, TextStyle style) {
    Cursor cursor = {0};
    Buf message = {0};
    for (uint32_t i = 0; i < f->count; i++) {
        Place p = place_of(&cursor, &f->items[i]);
        if (style.width) {
            buf_clear(&message);
            add_message(&message, &f->items[i], &p, style.colour);
            fold_text(out, buf_str(&message), style.width, GUTTER);
        } else {
            add_message(out, &f->items[i], &p, style.colour);
            buf_putc(out, '\n');
        }
        add_excerpt(out, &p, style);
    }
    if (message.failed) out->failed = true;
    buf_release(&message);
}

static void add_key(Buf *out, const char *key, Str value) {
    if (!value.n) return;
    buf_printf(out, ",\"%s\":", key);
    buf_json(out, value);
}

static Str job_of(Str path) {
    for (size_t i = path.n; i-- > 0;) {
        if (path.p[i] != '/') continue;
        path = str_skip(path, i + 1);
        break;
    }
    return str_ends(path, STR(".job")) ? (Str){path.p, path.n - 4} : (Str){0};
}

void findings_json(Buf *out, const Findings *f) {
    Cursor cursor = {0};
    for (uint32_t i = 0; i < f->count; i++) {
        const Finding *found = &f->items[i];
        Place p = place_of(&cursor, found);
        buf_puts(out, "{\"file\":");
        buf_json(out, found->source->path);
        buf_printf(out, ",\"line\":%u,\"col\":%u,\"level\":\"%s\"", p.line, p.column,
                   found->kind->level == LEVEL_ERROR ? "error" : "warning");
        add_key(out, "code", str_from(found->kind->code));
        add_key(out, "message", found->message);
        add_key(out, "job", job_of(found->source->path));
        add_key(out, "subject", found->subject);
        add_key(out, "tag", found->tag);
        add_key(out, "value", found->value);
        add_key(out, "unit", found->unit);
        add_key(out, "limit", found->limit);
        add_key(out, "by", found->by);
        add_key(out, "margin", found->margin);
        buf_puts(out, "}\n");
    }
}
