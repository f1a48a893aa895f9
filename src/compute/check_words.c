/*
 * Facts in words of which the vocabulary says more: usual words, which others ask for, and orders
 * of places, in which each stands once.
 */
#include "compute/check_parts.h"

#include "base/near.h"

/* Of two slips in a short word, another word is made; words with a number (`dyno 2`) are told apart
 * by it. */
static bool is_slip(Str words, Str usual) {
    unsigned most = words.n < 4 ? 0 : words.n < 9 ? 1 : 2;
    for (size_t i = 0; i < words.n; i++) {
        if (is_digit(words.p[i])) return false;
    }
    return near_distance(words, usual, most) <= most;
}

static void check_usual(Check *c, const Tag *tag, uint32_t i) {
    Str words = reading_text(c->job, &c->job->readings[i]);
    Near near;
    near_start(&near, words);
    for (uint8_t k = 0; k < tag->usual_count; k++) {
        if (str_ieq(words, tag->usual[k])) return;
        if (is_slip(words, tag->usual[k])) near_offer(&near, tag->usual[k]);
    }
    if (!near.count) return;
    doubt(c, WORDS_NEAR, i, "`%.*s` is nearly a usual `%.*s`, and is not found by it: %.*s",
          STR_ARG(words), STR_ARG(tag->name), STR_ARG(near_text(&near, c->arena)));
}

enum { PLACES_MOST = 256 };

typedef struct Order {
    uint32_t count;                 /* of numbers */
    bool beyond;                    /* one of them is no place's */
    uint8_t times[PLACES_MOST + 1]; /* that each stands in it, up to 2 */
} Order;

/* Bytes of what stands between two numbers; 0. */
static size_t mark_length(Str s) {
    if (is_blank(s.p[0]) || s.p[0] == '-' || s.p[0] == ',') return 1;
    return str_starts(s, STR("\u2013")) ? 3 : 0;
}

/* What is larger than any place's is as good as that. */
static int take_number(Str *rest) {
    int number = 0;
    for (; rest->n && is_digit(rest->p[0]); *rest = str_skip(*rest, 1)) {
        number = number * 10 + (rest->p[0] - '0');
        if (number > PLACES_MOST) number = PLACES_MOST + 1;
    }
    return number;
}

/* `1-8-4-3-6-5-7-2`; false of other words, and of digits with nothing between. */
static bool read_order(Str words, int places, Order *out) {
    *out = (Order){0};
    for (Str rest = words; rest.n;) {
        size_t mark = mark_length(rest);
        if (!mark && !is_digit(rest.p[0])) return false;
        rest = str_skip(rest, mark);
        if (mark) continue;
        int number = take_number(&rest);
        out->count++;
        if (number < 1 || number > places)
            out->beyond = true;
        else if (out->times[number] < 2)
            out->times[number]++;
    }
    return out->count > 1;
}

/* How many places of the class the engine has; 0: not known. */
static int places_of(Check *c, const Class *k) {
    if (k->count == TAG_NONE) return k->fixed;
    const Col *count = eval_tag(c->e, k->count);
    bool known = count->n == 1 && !(count->st[0] & V_MISSING);
    return known && count->v[0] >= 1 && count->v[0] <= PLACES_MOST ? (int)count->v[0] : 0;
}

/* "2, 7": the places that stand in it so often. */
static Str such(const Order *order, int places, uint8_t times, Arena *a) {
    Str text = {0};
    for (int i = 1; i <= places; i++) {
        if (order->times[i] != times) continue;
        text = arena_printf(a, "%.*s%s%d", STR_ARG(text), text.n ? ", " : "", i);
    }
    return text;
}

static void check_order(Check *c, const Tag *tag, uint32_t i) {
    const Class *k = &c->job->vocab->classes[tag->orders];
    int places = places_of(c, k);
    Order order;
    if (!places || !read_order(reading_text(c->job, &c->job->readings[i]), places, &order)) return;
    Str twice = such(&order, places, 2, c->arena), never = such(&order, places, 0, c->arena);
    if (order.beyond)
        doubt(c, ORDER_FORM, i,
              "`%.*s` has a number that is none of the %d %.*s: each stands in it "
              "once",
              STR_ARG(tag->name), places, STR_ARG(k->plural));
    else if (twice.n || never.n)
        doubt(c, ORDER_FORM, i, "`%.*s` has %.*s%s%s%.*s%s: each of the %d %.*s stands in it once",
              STR_ARG(tag->name), STR_ARG(twice), twice.n ? " twice" : "",
              twice.n && never.n ? ", and " : "", STR_ARG(never), never.n ? " not at all" : "",
              places, STR_ARG(k->plural));
}

static void check_fact(Check *c, const Tag *tag, uint32_t i) {
    const Reading *r = &c->job->readings[i];
    if (r->source != 0 || r->flags & READ_BAD) return;
    if (tag->usual_count) check_usual(c, tag, i);
    if (tag->orders != CLASS_NONE) check_order(c, tag, i);
}

void check_words(Check *c) {
    const Job *j = c->job;
    for (uint32_t row = 0; row < j->chain->row_count; row++) {
        TagId id = j->chain->tags[row];
        const Tag *tag = &j->vocab->tags[id];
        if (!tag->usual_count && tag->orders == CLASS_NONE) continue;
        for (SubjectId s = 0; s < j->subject_count; s++) {
            for (uint32_t i = chain_last(j, id, s); i != NO_READING; i = chain_prev(j, i))
                check_fact(c, tag, i);
        }
    }
}
