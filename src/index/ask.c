/* What a person typed as a condition or as words. */
#include "base/number.h"
#include "index/find.h"
#include "index/internal.h"
#include "vocab/range.h"

#include <math.h>

typedef enum Op { OP_NONE, OP_LESS, OP_AT_MOST, OP_MORE, OP_AT_LEAST, OP_IS, OP_WITHIN } Op;

static const struct {
    Str text;
    Op op;
} ops[] = {
    {{"<=", 2}, OP_AT_MOST}, {{">=", 2}, OP_AT_LEAST}, {{"<", 1}, OP_LESS},
    {{">", 1}, OP_MORE},     {{" = ", 3}, OP_IS},
};

/* The first operator from the left. */
static Op find_op(Str s, size_t *at, size_t *len) {
    for (size_t i = 0; i < s.n; i++) {
        for (size_t k = 0; k < sizeof ops / sizeof *ops; k++) {
            if (!str_starts(str_skip(s, i), ops[k].text)) continue;
            *at = i;
            *len = ops[k].text.n;
            return ops[k].op;
        }
    }
    return OP_NONE;
}

static bool bad(Err *err, Str typed, const char *format, ...) __attribute__((format(printf, 3, 4)));
static bool bad(Err *err, Str typed, const char *format, ...) {
    char text[400];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return err_set(err, ERR_USAGE, "'%.*s': %s", STR_ARG(typed), text);
}

static const char which_ops[] =
    "a value is compared with < <= > >= = or V .. V, with a blank on either side";

/* Where what others write for an operator stands: `=>`, `==`, `!=`, `=` without blanks, and the
 * signs of print; SIZE_MAX. */
static size_t op_like(Str text) {
    static const Str signs[] = {{"=", 1}, {"!", 1}, {"\u2264", 3}, {"\u2265", 3}, {"\u2260", 3}};
    size_t first = SIZE_MAX;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t at = str_find(text, signs[i], 0);
        if (at < first) first = at;
    }
    return first;
}

/* Behind the name of a quantity it is no word that a note could hold: nothing would be found. */
static bool op_misspelt(const Vocab *v, Str typed, size_t at) {
    Str rest;
    TagId tag = vocab_match(v, str_before(typed, at), &rest);
    return tag != TAG_NONE && v->tags[tag].kind == TAG_NUMBER;
}

bool ask_word_compares(const Vocab *v, Str typed) {
    Str rest;
    TagId tag = vocab_match(v, typed, &rest);
    if (tag == TAG_NONE || v->tags[tag].kind != TAG_NUMBER) return false;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        Number n;
        if (number_read(word, &n) == NUMBER_OK) return true;
    }
    return false;
}

/* `TAG SUBJECT V .. V`: the range begins at the number before the dots. */
static bool split_within(Str s, Str *left, Str *range) {
    size_t dots = str_find(s, STR(" .. "), 0);
    if (dots == SIZE_MAX) return false;
    for (size_t i = dots; i-- > 0;) {
        bool start = i == 0 || is_blank(s.p[i - 1]);
        bool digit = is_digit(s.p[i]) || s.p[i] == '.' || s.p[i] == '-' || s.p[i] == '+';
        if (!start || !digit) continue;
        *left = str_trim((Str){s.p, i});
        *range = str_skip(s, i);
        return true;
    }
    return false;
}

static bool at_of(Condition *c, const Tag *tag, Str at, Arena *a, Err *err) {
    at = str_trim(at);
    for (uint8_t i = 0; i < tag->spot_count; i++) {
        if (!str_ieq(tag->spots[i], at)) continue;
        c->at = tag->spots[i];
        return true;
    }
    double si;
    RangeFault fault;
    if (!tag->has_curve)
        return bad(err, c->typed, "%.*s is no curve, so nothing can stand behind @",
                   STR_ARG(tag->name));
    if (!range_value(at, tag->over->dim, tag->over, false, a, &si, &fault))
        return bad(err, c->typed, "%.*s", STR_ARG(fault.text));
    c->at = digest_at(tag, si, false, a);
    return true;
}

static bool name_of(Condition *c, const Vocab *v, Str left, Arena *a, Err *err) {
    Str at = {0}, rest;
    size_t mark = str_find_char(left, '@', 0);
    if (mark != SIZE_MAX) {
        at = str_skip(left, mark + 1);
        left = str_trim((Str){left.p, mark});
    }
    c->tag = vocab_match(v, left, &rest);
    if (c->tag == TAG_NONE) {
        Str near = vocab_near(v, left, a);
        return bad(err, c->typed, "the vocabulary has no name '%.*s'%.*s", STR_ARG(left),
                   STR_ARG(near));
    }
    if (v->tags[c->tag].unindexed)
        return bad(err, c->typed,
                   "%.*s is only a step to other quantities, which the index does not keep",
                   STR_ARG(v->tags[c->tag].name));
    c->subject = str_trim(rest);
    if (op_like(c->subject) != SIZE_MAX) return bad(err, c->typed, "%s", which_ops);
    for (size_t i = 0; i < c->subject.n; i++) {
        if (is_blank(c->subject.p[i]))
            return bad(err, c->typed, "'%.*s' is no place or item", STR_ARG(c->subject));
    }
    return mark == SIZE_MAX || at_of(c, &v->tags[c->tag], at, a, err);
}

static bool is_fact(const Tag *tag) {
    return tag->kind == TAG_WORDS || tag->kind == TAG_CHOICE || tag->kind == TAG_PART ||
           tag->kind == TAG_SET || tag->kind == TAG_DATE;
}

/* Strict bounds move by one count: a thousandth of the last shown place is the least difference. */
static bool range_of(Condition *c, const Tag *tag, Op op, Str right, Arena *a, Err *err) {
    Range r;
    double si;
    RangeFault fault;
    bool within = op == OP_WITHIN || (op == OP_IS && str_find(right, STR(" .. "), 0) != SIZE_MAX) ||
                  (op == OP_IS && str_find(right, STR(" +/- "), 0) != SIZE_MAX);
    c->low = INT64_MIN;
    c->high = INT64_MAX - 1;
    bool ok = within ? range_parse(right, tag->dim, tag->unit, a, &r, &fault)
                     : range_value(right, tag->dim, tag->unit, false, a, &si, &fault);
    if (!ok) return bad(err, c->typed, "%.*s", STR_ARG(fault.text));
    if (within) {
        c->low = thousandths(tag, r.low);
        c->high = thousandths(tag, r.high);
        return true;
    }
    int64_t v = thousandths(tag, si);
    if (op == OP_LESS || op == OP_AT_MOST || op == OP_IS) c->high = op == OP_LESS ? v - 1 : v;
    if (op == OP_MORE || op == OP_AT_LEAST || op == OP_IS) c->low = op == OP_MORE ? v + 1 : v;
    return true;
}

static bool value_of(Condition *c, const Vocab *v, Op op, Str right, Arena *a, Err *err) {
    const Tag *tag = &v->tags[c->tag];
    if (right.n == 0) return bad(err, c->typed, "nothing stands behind the operator");
    if (tag->kind == TAG_NUMBER) return range_of(c, tag, op, right, a, err);
    if (tag->kind == TAG_PLACEMENT && op == OP_IS && str_ieq(right, STR("none")))
        return bad(err, c->typed, "an empty place is not kept: say which item sat there");
    if (!is_fact(tag) && tag->kind != TAG_PLACEMENT)
        return bad(err, c->typed, "%.*s cannot be compared; look for it by its words",
                   STR_ARG(tag->name));
    if (op != OP_IS) return bad(err, c->typed, "%.*s is no number: ask with =", STR_ARG(tag->name));
    c->words = true;
    c->text = right;
    return true;
}

static bool add_condition(Ask *ask, const Vocab *v, Str typed, Op op, Str left, Str right, Arena *a,
                          Err *err) {
    if (ask->condition_count == ASK_MOST)
        return err_set(err, ERR_LIMIT, "no more than %d conditions at once", ASK_MOST);
    Condition c = {.typed = typed};
    if (!name_of(&c, v, str_trim(left), a, err) || !value_of(&c, v, op, str_trim(right), a, err))
        return false;
    ask->conditions[ask->condition_count++] = c;
    return true;
}

static bool add_words(Ask *ask, const Book *b, Str typed, Err *err) {
    if (ask->word_count == ASK_MOST)
        return err_set(err, ERR_LIMIT, "no more than %d words at once", ASK_MOST);
    bool phrase = false;
    for (size_t i = 0; i < typed.n; i++)
        phrase = phrase || is_blank(typed.p[i]) || typed.p[i] == '"';
    Str set;
    bool item = !phrase && item_word(typed, &set);
    if (item && !set.n)
        return bad(err, typed, "every set has one: write which set before it, as S31%.*s",
                   STR_ARG(typed));
    if (item && !book_need_vocab(b, err)) return false;
    ask->words[ask->word_count++] = (AskWord){typed, phrase || item, item};
    return true;
}

bool ask_add(Ask *ask, const Book *b, Str typed, Arena *a, Err *err) {
    size_t at = 0, len = 0;
    Str trimmed = str_trim(typed), left, right;
    if (trimmed.n == 0)
        return err_set(err, ERR_USAGE, "an empty word finds nothing: say what to look for");
    Op op = find_op(trimmed, &at, &len);
    if (op != OP_NONE) {
        left = (Str){trimmed.p, at};
        right = str_skip(trimmed, at + len);
    } else if (split_within(trimmed, &left, &right) && left.n) {
        op = OP_WITHIN;
    }
    size_t like = op_like(trimmed);
    if (op == OP_NONE && like == SIZE_MAX) return add_words(ask, b, trimmed, err);
    if (!book_need_vocab(b, err)) return false;
    const Vocab *v = book_vocab(b);
    if (op != OP_NONE) return add_condition(ask, v, trimmed, op, left, right, a, err);
    if (op_misspelt(v, trimmed, like)) return bad(err, trimmed, "%s", which_ops);
    return add_words(ask, b, trimmed, err);
}
