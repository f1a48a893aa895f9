/* The text of a log that is searched by words: notes, titles, remarks and facts. */
#include "base/number.h"
#include "index/internal.h"

void said_start(SaidReader *r, const Source *s) {
    *r = (SaidReader){0};
    line_start(&r->lines, s, NULL);
}

/* Whether what stands behind the equals sign begins as numbers do. */
static bool is_numbers(Str right) {
    Number n;
    Str word = str_word(&right);
    if (str_ieq(word, STR("each")) || str_eq(word, STR("-"))) return true;
    if (number_read(word, &n) == NUMBER_NONE) return false;
    for (size_t i = n.len; i < word.n; i++) { /* a unit may stand glued: .500in, 15" */
        bool unit = is_alpha(word.p[i]) || word.p[i] == '"' || word.p[i] == ',' ||
                    word.p[i] == '?' || word.p[i] == '%';
        if (!unit) return false;
    }
    return true;
}

static bool is_rule(Str left) {
    Str word = str_word(&left);
    return str_ieq(word, STR("limit")) || str_ieq(word, STR("aim"));
}

static bool body_of(const SaidReader *r, Said *out) {
    const Line *l = &r->line;
    switch (l->kind) {
    case LINE_NOTE: *out = (Said){.kind = SAID_NOTE, .text = l->body}; break;
    case LINE_HEADING: *out = (Said){.kind = SAID_TITLE, .text = l->body}; break;
    case LINE_READING:
        if (is_rule(l->left)) return false;
        *out = (Said){.kind = SAID_FACT, .text = l->right, .name = l->left};
        out->numbers = is_numbers(l->right);
        out->shown = (Str){l->left.p, (size_t)(l->right.p + l->right.n - l->left.p)};
        return out->text.n > 0;
    case LINE_GRID:
    case LINE_BLANK:
    case LINE_BROKEN:
    case LINE_END: return false;
    }
    out->shown = out->text;
    return out->text.n > 0;
}

static bool next_is_note(SaidReader *r) {
    line_next(&r->lines, &r->next);
    r->looked_ahead = true;
    return r->next.kind == LINE_NOTE;
}

static void advance(SaidReader *r) {
    if (r->looked_ahead)
        r->line = r->next;
    else
        line_next(&r->lines, &r->line);
    r->looked_ahead = false;
}

bool said_next(SaidReader *r, Said *out) {
    enum { BEFORE_LINE, BEFORE_REMARK };
    for (;;) {
        if (r->stage == BEFORE_REMARK) {
            r->stage = BEFORE_LINE;
            if (r->line.remark.n && r->line.kind != LINE_NOTE) {
                *out = (Said){.kind = SAID_REMARK, .text = r->line.remark, .shown = r->line.remark};
                return true;
            }
        }
        advance(r);
        if (r->line.kind == LINE_END) return false;
        r->stage = BEFORE_REMARK;
        if (!body_of(r, out)) continue;
        out->goes_on = out->kind == SAID_NOTE && next_is_note(r);
        return true;
    }
}

bool said_is_value(const Vocab *v, const Said *said) {
    TagId tag = vocab_match(v, said->name, NULL);
    return said->numbers && tag != TAG_NONE && v->tags[tag].kind == TAG_NUMBER;
}

static bool separates(char c) {
    return c == '-' || c == '.' || c == '/' || c == '_';
}

static bool is_word_byte(char c) {
    return is_alpha(c) || is_digit(c) || (c & 0x80);
}

static Str without_marks_before(Str word) {
    while (word.n && !is_word_byte(word.p[0]))
        word = str_skip(word, 1);
    return word;
}

bool squeezed_starts(Str word, char first) {
    word = without_marks_before(word);
    return word.n && to_lower(word.p[0]) == first;
}

void squeeze_add(Buf *out, Str word) {
    word = without_marks_before(word);
    while (word.n && !is_word_byte(word.p[word.n - 1]))
        word.n--;
    bool separated = false, digit = false;
    for (size_t i = 0; i < word.n; i++) {
        separated = separated || separates(word.p[i]);
        digit = digit || is_digit(word.p[i]);
        if (!separates(word.p[i]) && !is_word_byte(word.p[i])) return;
    }
    if (!separated || !digit) return;
    buf_putc(out, ' ');
    for (size_t i = 0; i < word.n; i++) {
        if (is_word_byte(word.p[i])) buf_putc(out, to_lower(word.p[i]));
    }
}

void squeeze_all(Buf *out, Str text) {
    for (size_t i = 0; i < text.n; i++) {
        if (is_word_byte(text.p[i])) buf_putc(out, to_lower(text.p[i]));
    }
}
