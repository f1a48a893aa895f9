#include "cli/lookup.h"

#include "compute/check.h"
#include "log/line.h"

static const size_t one = 1;
const KindTable kind_tables[] = {
    {line_kinds, &line_kinds_count},   {bind_kinds, &bind_kinds_count},
    {vocab_kinds, &vocab_kinds_count}, {check_kinds, &check_kinds_count},
    {&finding_too_many, &one},
};
const size_t kind_table_count = sizeof kind_tables / sizeof *kind_tables;

bool lookup_vocab(Run *run, const Vocab **out) {
    Book *b;
    if (!shelf_book(run, &b)) return false;
    if (!b && !shelf_book_of(run, ".", &b)) return false;
    if (!book_need_vocab(b, &run->err)) return false;
    *out = book_vocab(b);
    return true;
}

Str lookup_joined(Run *run, int first) {
    Str text = {0};
    for (int i = first; i < run->args.count; i++)
        text = arena_printf(run->arena, "%.*s%s%s", STR_ARG(text), i > first ? " " : "",
                            run->args.words[i]);
    return str_trim(text);
}

static bool begins_word(Str text, Str word) {
    for (size_t i = 0; i + word.n <= text.n; i++) {
        bool start = i == 0 || !(is_alpha(text.p[i - 1]) || is_digit(text.p[i - 1]));
        if (start && str_ieq((Str){text.p + i, word.n}, word)) return true;
    }
    return false;
}

bool lookup_matches(Str typed, Str text) {
    for (Str word; (word = str_word(&typed)).n;)
        if (!begins_word(text, word)) return false;
    return true;
}

static bool named(const Tag *t, Str typed) {
    if (lookup_matches(typed, t->name)) return true;
    for (uint8_t i = 0; i < t->also_count; i++)
        if (lookup_matches(typed, t->also[i])) return true;
    return false;
}

TagList lookup_tags(Run *run, const Vocab *v, Str typed) {
    TagList list = {.ids = arena_array(run->arena, v->tag_count + 1u, sizeof *list.ids)};
    for (int pass = 0; pass < 2 && !list.count; pass++) {
        for (TagId i = 0; i < v->tag_count; i++) {
            const Tag *t = &v->tags[i];
            if (pass == 0 ? named(t, typed) : lookup_matches(typed, t->says))
                list.ids[list.count++] = i;
        }
    }
    return list;
}

/* Those of one group, from the first on. */
static void take_group(const Vocab *v, Str group, bool *taken, TagList *list) {
    for (TagId i = 0; i < v->tag_count; i++) {
        if (taken[i] || !str_eq(v->tags[i].group, group)) continue;
        taken[i] = true;
        list->ids[list->count++] = i;
    }
}

TagList lookup_all_tags(Run *run, const Vocab *v) {
    TagList list = {.ids = arena_array(run->arena, v->tag_count + 1u, sizeof *list.ids)};
    bool *taken = arena_array(run->arena, v->tag_count + 1u, sizeof *taken);
    for (TagId i = 0; i < v->tag_count; i++)
        if (v->tags[i].group.n && !taken[i]) take_group(v, v->tags[i].group, taken, &list);
    take_group(v, (Str){0}, taken, &list); /* those that items and banks bring come last */
    return list;
}
