#include "base/source.h"
#include "base/utf8.h"

#define BOM STR("\xEF\xBB\xBF")

void source_map(Source *s, Arena *a) {
    if (s->lines) return;
    uint32_t lines = 1;
    for (size_t at = 0; (at = str_find_char(s->text, '\n', at)) != SIZE_MAX && ++at < s->text.n;)
        lines++;
    uint32_t *starts = arena_array(a, lines, sizeof *starts);
    size_t at = 0;
    for (uint32_t i = 1; i < lines; i++) {
        at = str_find_char(s->text, '\n', at) + 1;
        starts[i] = (uint32_t)at;
    }
    s->starts = starts;
    s->lines = lines;
}

/* The index of the last line that starts at or before off. */
static uint32_t line_index(const Source *s, uint32_t off) {
    uint32_t low = 0, high = s->lines;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (s->starts[middle] <= off)
            low = middle;
        else
            high = middle;
    }
    return low;
}

uint32_t source_line_at(const Source *s, uint32_t off) {
    return line_index(s, off) + 1;
}

Position source_position(const Source *s, uint32_t off) {
    if (off > s->text.n) off = (uint32_t)s->text.n;
    uint32_t line = line_index(s, off);
    Str before = {s->text.p + s->starts[line], off - s->starts[line]};
    /* A byte-order mark is no character to whoever looks for the place in an editor. */
    if (line == 0 && str_starts(before, BOM)) before = str_skip(before, BOM.n);
    uint32_t column = 1;
    while (before.n) {
        size_t len;
        utf8_next(before, &len);
        before = str_skip(before, len);
        column++;
    }
    return (Position){line + 1, column};
}

Str source_line(const Source *s, uint32_t line) {
    if (line == 0 || line > s->lines) return (Str){0};
    size_t from = s->starts[line - 1];
    size_t to = line < s->lines ? s->starts[line] : s->text.n;
    if (to > from && s->text.p[to - 1] == '\n') to--;
    if (to > from && s->text.p[to - 1] == '\r') to--;
    return (Str){s->text.p + from, to - from};
}
