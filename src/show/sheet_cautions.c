/* The cautions of the vocabulary that this job calls for, by what was read and by words in its log.
 */
#include "show/sheet_parts.h"

static bool is_word(char c) {
    return is_alpha(c) || is_digit(c) || (uint8_t)c >= 0x80;
}

static Str folded(Arena *a, Str text) {
    char *copy = arena_alloc(a, text.n);
    for (size_t i = 0; i < text.n; i++)
        copy[i] = to_lower(text.p[i]);
    return (Str){copy, text.n};
}

/* The word (or words) as a whole anywhere in the text; both in small letters. */
static bool says_word(Str text, Str word) {
    if (!word.n) return false;
    for (size_t at = 0; (at = str_find(text, word, at)) != SIZE_MAX; at++) {
        bool starts = at == 0 || !is_word(text.p[at - 1]);
        bool ends = at + word.n == text.n || !is_word(text.p[at + word.n]);
        if (starts && ends) return true;
    }
    return false;
}

/* `log`: its text in small letters. */
static bool applies(const Sheet *s, Str log, const Caution *c) {
    for (uint8_t i = 0; i < c->tag_count; i++) {
        if (s->j->chain->row[c->tags[i]] != CHAIN_NO_ROW) return true;
    }
    for (uint8_t i = 0; i < c->word_count; i++) {
        if (says_word(log, folded(s->a, c->words[i]))) return true;
    }
    return false;
}

void sheet_cautions(Sheet *s) {
    sheet_section(s, STR("Cautions"));
    sheet_say(
        s, 2, 2,
        STR("This sheet is computed from what the log says, and can be wrong where the log is. "
            "Whether a part is fit to run is the builder's decision."));
    Str log = folded(s->a, s->j->sources[0]->text);
    for (uint16_t i = 0; i < s->v->caution_count; i++) {
        const Caution *c = &s->v->cautions[i];
        if (!applies(s, log, c)) continue;
        Str text = arena_printf(s->a, "%.*s: %.*s", STR_ARG(c->name), STR_ARG(c->says));
        sheet_say(s, 2, 4, text);
    }
}
