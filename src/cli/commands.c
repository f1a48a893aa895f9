/* The table of commands, and what help says from its rows. */
#include "cli/command.h"

#include "base/near.h"

#define COMMAND_ROW(name) &command_##name,
const Command *const commands[] = {COMMANDS(COMMAND_ROW)};
const int command_count = sizeof commands / sizeof *commands;

const Command *command_named(const char *name) {
    for (int i = 0; i < command_count; i++) {
        if (strcmp(commands[i]->name, name) == 0) return commands[i];
    }
    return NULL;
}

Str command_near(const char *typed, Arena *a) {
    Near near;
    near_start(&near, str_from(typed));
    for (int i = 0; i < command_count; i++)
        near_offer(&near, str_from(commands[i]->name));
    Str text = near_text(&near, a);
    return text.n ? arena_printf(a, "; %.*s", STR_ARG(text)) : text;
}

/* "  --at DATE    help", help in one column. */
static void option_line(Buf *b, const Option *o, size_t column) {
    size_t start = b->n;
    buf_puts(b, "  ");
    if (o->letter) buf_printf(b, "-%c, ", o->letter);
    buf_printf(b, "--%s%s%s", o->name, o->value ? " " : "", o->value ? o->value : "");
    size_t used = b->n - start;
    buf_fill(b, ' ', used < column ? column - used : 1);
    buf_printf(b, "%s\n", o->help);
}

static size_t option_width(const Option *o) {
    return 4 + strlen(o->name) + (o->letter ? 4 : 0) + (o->value ? strlen(o->value) + 1 : 0);
}

void help_command(Out *out, const Command *c) {
    Buf *b = &out->buf;
    buf_printf(b, "thou %s%s%s\n  %s\n\n%s\nOptions\n", c->name, c->arguments[0] ? " " : "",
               c->arguments, c->summary, c->help);
    size_t column = 0;
    int count = c->option_count + common_option_count;
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < count; i++) {
            const Option *o =
                i < c->option_count ? &c->options[i] : &common_options[i - c->option_count];
            if (!o->help) continue;
            if (pass == 0 && option_width(o) + 2 > column) column = option_width(o) + 2;
            if (pass == 1) option_line(b, o, column);
        }
    }
    out_settle(out);
}

void help_all(Out *out) {
    Buf *b = &out->buf;
    buf_puts(b, "thou COMMAND [OPTIONS] [ARGUMENTS]\n"
                "  The build history of an engine shop, in plain text logs.\n\n");
    for (int i = 0; i < command_count; i++) {
        const Command *c = commands[i];
        buf_printf(b, "  %-10s %s\n", c->name, c->summary);
    }
    buf_puts(
        b,
        "\nthou COMMAND -h says more of one command; thou --version says which version this is.\n");
    out_settle(out);
}
