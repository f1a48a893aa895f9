/* The cautions of the vocabulary that this job calls for, by what was read and by words in its log.
 */
#include "show/sheet_parts.h"

static bool is_word(char c) {
    return is_alpha(c) || is_digit(c) || (uint8_t)c >= 0x80;
}

static bool same_folded(const char *text, Str word) {
    for (size_t i = 0; i < word.n; i++) {
        if (to_lower(text[i]) != to_lower(word.p[i])) return false;
    }
    return true;
}

/* The word (or words) as a whole anywhere in the text, whatever its case. */
static bool says_word(Str text, Str word) {
    if (!word.n) return false;
    for (size_t i = 0; i + word.n <= text.n; i++) {
        if (!same_folded(text.p + i, word)) continue;
        bool starts = i == 0 || !is_word(text.p[i - 1]);
        bool ends = i + word.n == text.n || !is_word(text.p[i + word.n]);
        if (starts && ends) return true;
    }
    return false;
}

static bool applies(const Sheet *s, const Caution *c) {
    for (uint8_t i = 0; i < c->tag_count; i++) {
        if (s->j->chain->row[c->tags[i]] != CHAIN_NO_ROW) return true;
    }
    for (uint8_t i = 0; i < c->word_count; i++) {
        if (says_word(s->j->sources[0]->text, c->words[i])) return true;
    }
    return false;
}

void sheet_cautions(Sheet *s) {
    sheet_section(s, STR("Cautions"));
    sheet_say(
        s, 2, 2,
        STR("This sheet is computed from what the log says, and can be wrong where the log is. "
            "Whether a part is fit to run is the builder's decision."));
    for (uint16_t i = 0; i < s->v->caution_count; i++) {
        const Caution *c = &s->v->cautions[i];
        if (!applies(s, c)) continue;
        Str text = arena_printf(s->a, "%.*s: %.*s", STR_ARG(c->name), STR_ARG(c->says));
        sheet_say(s, 2, 4, text);
    }
}
