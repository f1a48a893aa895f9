/* thou tag: what a name of the vocabulary means. */
#include "show/tag.h"

#include "cli/lookup.h"

enum { OPT_JSON, OPT_CSV, OPT_COUNT };
static const Option tag_options[OPT_COUNT] = {
    [OPT_JSON] = {"json", 0, OPTION_FLAG, NULL, "an object a line, for other programs"},
    [OPT_CSV] = {"csv", 0, OPTION_FLAG, NULL, "a line a name, for a spreadsheet"},
};

static void say_list(Run *run, const Vocab *v, const TagList *list, bool grouped) {
    Buf *b = &run->out.buf;
    if (run->args.options[OPT_JSON].given)
        table_json(b, tag_table(v, list->ids, list->count, run->arena));
    else if (run->args.options[OPT_CSV].given)
        table_csv(b, tag_table(v, list->ids, list->count, run->arena));
    else
        tag_list_text(b, v, list->ids, list->count, grouped, run->arena, (int)run->out.width,
                      run->out.colour);
}

/* What else has these words in its name: a short name is often the beginning of longer ones. */
static void say_others(Run *run, const Vocab *v, Str typed, TagId shown) {
    TagList all = lookup_tags(run, v, typed), others = {.ids = all.ids};
    for (uint32_t i = 0; i < all.count; i++)
        if (all.ids[i] != shown) others.ids[others.count++] = all.ids[i];
    if (!others.count) return;
    buf_puts(&run->out.buf, "\nAlso with these words\n");
    say_list(run, v, &others, false);
}

static void say_one(Run *run, const Vocab *v, Str typed, TagId id) {
    bool table = run->args.options[OPT_JSON].given || run->args.options[OPT_CSV].given;
    if (table) {
        say_list(run, v, &(TagList){&id, 1}, false);
        return;
    }
    tag_text(&run->out.buf, v, id, run->arena, (int)run->out.width, run->out.colour);
    say_others(run, v, typed, id);
}

static ExitCode run_tag(Run *run) {
    const Vocab *v;
    if (!lookup_vocab(run, &v)) return EXIT_TROUBLE;
    Str typed = lookup_joined(run, 0);
    if (!typed.n) {
        TagList all = lookup_all_tags(run, v);
        say_list(run, v, &all, true);
        return EXIT_FINE;
    }
    TagId id = vocab_find(v, typed);
    TagList list = lookup_tags(run, v, typed);
    if (id == TAG_NONE && list.count == 1) id = list.ids[0];
    if (id != TAG_NONE) {
        say_one(run, v, typed, id);
        return EXIT_FINE;
    }
    if (list.count) {
        say_list(run, v, &list, false);
        return EXIT_FINE;
    }
    Str near = vocab_near(v, typed, run->arena);
    complain("the vocabulary has no name '%.*s'%.*s", STR_ARG(typed), STR_ARG(near));
    return EXIT_FINDINGS;
}

const Command command_tag = {
    .name = "tag",
    .arguments = "[TAG|WORD...]",
    .summary = "what a name of the vocabulary means: unit, formula, limits, source",
    .help = "Without a word: every name there is, by group. With the words of a name: what it\n"
            "means, what it is read on, its unit and that of the other system, its formula\n"
            "and what uses it, its plausible range, how far two readings of it may lie apart,\n"
            "the checks and rules it takes part in, the shop's own limits and aims, and where\n"
            "all that comes from. Words that fit several names list these.\n\n"
            "In a book, the names are those of its shop.vocab too. Ends with 1 when there is\n"
            "no such name.\n",
    .options = tag_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = -1,
    .run = run_tag,
};
