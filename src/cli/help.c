/* thou help: the commands, one of them, or whatever is called by a word. */
#include "cli/lookup.h"

#include "base/near.h"
#include "show/tag.h"

enum { TAGS_SHOWN = 24 };

static void heading(Run *run, const char *text, bool first) {
    if (!first) buf_putc(&run->out.buf, '\n');
    tone_text(&run->out.buf, str_from(text), TONE_HEAD, run->out.colour);
    buf_putc(&run->out.buf, '\n');
}

/* "  NAME  text", folded under the text; narrow terminals get the text on its own line. */
static void item(Run *run, const char *name, size_t column, const char *text) {
    Buf *b = &run->out.buf;
    size_t used = strlen(name), width = run->out.width;
    bool beside = width >= column + 30;
    buf_printf(b, "  %s", name);
    if (beside)
        buf_fill(b, ' ', used < column ? column - used : 1);
    else
        buf_puts(b, "\n    ");
    fold_text(b, str_from(text), (int)width, beside ? (int)column + 2 : 4);
}

static bool say_commands(Run *run, Str typed) {
    enum { COLUMN = 12 };
    bool any = false;
    for (int i = 0; i < command_count; i++) {
        const Command *c = commands[i];
        Str text = arena_printf(run->arena, "%s %s %s", c->name, c->summary, c->help);
        if (!lookup_matches(typed, text)) continue;
        if (!any) heading(run, "Commands (thou COMMAND -h says more)", true);
        any = true;
        item(run, c->name, COLUMN, c->summary);
    }
    return any;
}

static bool say_tags(Run *run, Str typed, bool first) {
    const Vocab *v;
    if (!lookup_vocab(run, &v)) {
        run->err = (Err){0}; /* help of the rest does not wait for shop.vocab */
        return false;
    }
    TagList list = lookup_tags(run, v, typed);
    if (!list.count) return false;
    heading(run, "Names (thou tag NAME says more)", first);
    uint32_t shown = list.count < TAGS_SHOWN ? list.count : TAGS_SHOWN;
    tag_list_text(&run->out.buf, v, list.ids, shown, false, run->arena, (int)run->out.width,
                  run->out.colour);
    if (shown < list.count)
        buf_printf(&run->out.buf, "  and %u more: thou tag %.*s\n", list.count - shown,
                   STR_ARG(typed));
    return true;
}

static bool say_codes(Run *run, Str typed, bool first) {
    enum { COLUMN = 22 };
    bool any = false;
    for (size_t i = 0; i < kind_table_count; i++) {
        for (size_t k = 0; k < *kind_tables[i].count; k++) {
            const FindingKind *kind = &kind_tables[i].rows[k];
            Str text = arena_printf(run->arena, "%s %s", kind->code, kind->title);
            if (!lookup_matches(typed, text)) continue;
            if (!any) heading(run, "Findings of thou check", first);
            any = true;
            text = arena_printf(run->arena, "%s: %s",
                                kind->level == LEVEL_ERROR ? "error" : "warning", kind->title);
            item(run, kind->code, COLUMN, text.p);
        }
    }
    return any;
}

static Str near_of(Run *run, Str typed) {
    Near near;
    const Vocab *v;
    near_start(&near, typed);
    for (int i = 0; i < command_count; i++)
        near_offer(&near, str_from(commands[i]->name));
    for (size_t i = 0; i < kind_table_count; i++)
        for (size_t k = 0; k < *kind_tables[i].count; k++)
            near_offer(&near, str_from(kind_tables[i].rows[k].code));
    if (!lookup_vocab(run, &v)) {
        run->err = (Err){0};
        return near_text(&near, run->arena);
    }
    for (TagId i = 0; i < v->tag_count; i++) {
        near_offer(&near, v->tags[i].name);
        for (uint8_t k = 0; k < v->tags[i].also_count; k++)
            near_offer(&near, v->tags[i].also[k]);
    }
    return near_text(&near, run->arena);
}

static ExitCode run_help(Run *run) {
    Str typed = lookup_joined(run, 0);
    if (!typed.n) {
        help_all(&run->out);
        return EXIT_FINE;
    }
    const Command *c = run->args.count == 1 ? command_named(run->args.words[0]) : NULL;
    if (c) {
        help_command(&run->out, c);
        return EXIT_FINE;
    }
    bool any = say_commands(run, typed);
    any |= say_tags(run, typed, !any);
    any |= say_codes(run, typed, !any);
    if (any) return EXIT_FINE;
    Str near = near_of(run, typed);
    err_set(&run->err, ERR_USAGE, "nothing is called '%.*s'%s%.*s (thou help lists the commands)",
            STR_ARG(typed), near.n ? "; " : "", STR_ARG(near));
    return EXIT_TROUBLE;
}

const Command command_help = {
    .name = "help",
    .arguments = "[COMMAND|WORD...]",
    .summary = "lists the commands, explains one, or finds what a word is about",
    .help = "With the name of a command: what it does, and its options. With other words: the\n"
            "commands, the names of the vocabulary and the findings of thou check that have\n"
            "these words.\n",
    .least = 0,
    .most = -1,
    .run = run_help,
};
