/* Notes that were meant as a head or a row of a grid, whose bars touch their cells or are missing.
 */
#include "compute/bind.h"

/* `valve|installed height|shim` has no bar that is one: the grid would be lost. */
static bool bars_unspaced(Binder *b, Str note) {
    size_t bar = str_find_char(note, '|', 0);
    if (bar == SIZE_MAX || line_ruled(note)) return false;
    Str first = str_trim((Str){note.p, bar});
    bool head = first.n && (first.p[0] == '@' || vocab_class(b->v, first) != CLASS_NONE);
    if (!head && !b->grid->on) return false;
    fault(b, BARS_UNSPACED, note,
          head ? "this reads like a grid's head, but a bar needs a blank on either side"
               : "this reads like a row of the grid above, but a bar needs a blank on either side");
    return true;
}

/* The first word of a grid's row: a place or an item, or a point of curves under a corner. */
static bool starts_row(const Binder *b, Str word) {
    Number n;
    if (b->grid->corner) return number_read(word, &n) == NUMBER_OK;
    return looks_like_subject(b, word);
}

/* Bytes of what other programs put between cells; 0. `¦` is on the key of some keyboards' bar. */
static size_t parts_cells(Str s) {
    if (s.n && (s.p[0] == ',' || s.p[0] == ';')) return 1;
    return str_starts(s, STR("\u00A6")) ? 2 : 0;
}

/* A bar that was missed: `]` and `\\` lie beside it. */
static bool lone_mark(Str word) {
    return word.n == 1 && !is_alpha(word.p[0]) && !is_digit(word.p[0]) && word.p[0] != '-';
}

/* The next word of a row; with `glued`, also between marks that part cells: `E1,1.721,.015`. */
static Str row_word(Str *rest, bool glued) {
    Str word = str_word(rest);
    for (size_t i = 1; i < word.n; i++) {
        size_t mark = parts_cells(str_skip(word, i));
        if (!mark || (!glued && i + mark < word.n)) continue;
        if (glued)
            *rest = (Str){word.p + i + mark, (size_t)(rest->p + rest->n - word.p) - i - mark};
        word.n = i;
    }
    return word;
}

/* Whether the note is as many values as the grid above has columns. */
static bool fills_row(const Binder *b, Str note, bool glued) {
    Str rest = note, word = row_word(&rest, glued);
    uint32_t cells = 0;
    if (!starts_row(b, word)) return false;
    while ((word = row_word(&rest, glued)).n) {
        if (cell_value(word))
            cells++;
        else if (!parts_cells(word) && !lone_mark(word) && (!cells || !unit_find(word, DIM_NUMBER)))
            return false;
    }
    return cells == b->grid->count;
}

/* `valve,installed height in,shim`: a class, and a name behind what parts cells elsewhere. */
static bool head_unbarred(Binder *b, Str note) {
    for (size_t i = 1; i < note.n; i++) {
        char c = note.p[i];
        if (c != ',' && c != ';' && c != '\t' && c != '\xC2') continue;
        size_t mark = c == '\t' ? 1 : parts_cells(str_skip(note, i));
        if (!mark) continue;
        Str rest;
        if (vocab_class(b->v, str_before(note, i)) == CLASS_NONE ||
            vocab_match(b->v, str_trim(str_skip(note, i + mark)), &rest) == TAG_NONE)
            return false;
        fault(
            b, BARS_UNSPACED, note,
            "this reads like a grid's head, but its cells are not parted by ` | `: write them so, "
            "or put > before it if it is a note");
        return true;
    }
    return false;
}

/* `E2 #4 1.720` under a grid's head, as it comes out of a spreadsheet: a row without its bars. */
static bool bars_missing(Binder *b, Str note) {
    if (!b->grid->on || b->grid->broken) return head_unbarred(b, note);
    if (!fills_row(b, note, false) && !fills_row(b, note, true)) return head_unbarred(b, note);
    fault(b, BARS_UNSPACED, note,
          "this reads like a row of the grid above, but has no bars: part its cells with ` | `, or "
          "put > before it if it is a note");
    return true;
}

bool grid_unbarred(Binder *b, Str note) {
    return bars_unspaced(b, note) || bars_missing(b, note);
}
