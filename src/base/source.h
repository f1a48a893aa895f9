/*
 * A text as it was read, and where its lines are. Positions everywhere in thou are byte offsets
 * into `text`; line and column are worked out only when a message is shown.
 */
#ifndef THOU_BASE_SOURCE_H
#define THOU_BASE_SOURCE_H

#include "base/arena.h"

typedef struct Source {
    Str path;               /* as messages show it */
    Str text;               /* the whole file; a byte-order mark is part of it */
    const uint32_t *starts; /* offset of each line's first byte; made by source_map */
    uint32_t lines;         /* 0 until source_map */
} Source;

typedef struct Span { /* bytes [off, off + len) of a source */
    uint32_t off;
    uint32_t len;
} Span;

typedef struct Position {
    uint32_t line;   /* from 1 */
    uint32_t column; /* from 1, in characters (UTF-8 code points), a tab is one */
} Position;

void source_map(Source *s, Arena *a);                    /* once; later calls do nothing */
Position source_position(const Source *s, uint32_t off); /* needs source_map */
uint32_t source_line_at(const Source *s, uint32_t off);  /* its line alone, which is quicker */
Str source_line(const Source *s, uint32_t line);         /* without its end of line */
static inline Str source_slice(const Source *s, Span span) {
    return (Str){s->text.p + span.off, span.len};
}

#endif
