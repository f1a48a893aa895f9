/* The table of commands, and what help says from its rows. */
#include "cli/command.h"

#include "base/near.h"
#include "show/table.h"

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

enum { COLUMN_MOST = 28, BESIDE_LEAST = 30, BELOW = 6, HELP_MOST = 80 };

/* `day|week|month` folds behind its bars where it has to. */
static void put_value(Buf *b, Str value, size_t column, size_t width) {
    while (value.n) {
        size_t bar = str_find_char(value, '|', 0);
        Str one = {value.p, bar == SIZE_MAX ? value.n : bar + 1};
        if (column + one.n > width) {
            buf_putc(b, '\n');
            buf_fill(b, ' ', BELOW);
            column = BELOW;
        }
        buf_add(b, one);
        column += one.n;
        value = str_skip(value, one.n);
    }
}

/* "  --at DATE    help", help in one column; below the option where there is no room beside it. */
static void option_line(Buf *b, const Option *o, size_t column, size_t width) {
    size_t start = b->n;
    buf_puts(b, "  ");
    if (o->letter) buf_printf(b, "-%c, ", o->letter);
    buf_printf(b, "--%s%s", o->name, o->value ? " " : "");
    if (o->value) put_value(b, str_from(o->value), b->n - start, width);
    size_t used = b->n - start;
    bool narrow = width < column + BESIDE_LEAST;
    size_t indent = narrow ? BELOW : column;
    if (narrow || used >= column) {
        buf_putc(b, '\n');
        used = 0;
    }
    buf_fill(b, ' ', indent - used);
    fold_text(b, str_from(o->help), (int)width, (int)indent);
}

static size_t option_width(const Option *o) {
    return 4 + strlen(o->name) + (o->letter ? 4 : 0) + (o->value ? strlen(o->value) + 1 : 0);
}

/* A line that begins with a blank is an example: as it stands where there is room for it. */
static void example(Buf *b, Str line, size_t width) {
    if (line.n <= width) {
        buf_printf(b, "%.*s\n", STR_ARG(line));
        return;
    }
    buf_puts(b, "  ");
    fold_text(b, str_trim(line), (int)width, BELOW);
}

/* The lines of a paragraph run together, and fold at the width of the screen. */
static void paragraphs(Buf *b, Str help, size_t width) {
    Buf flow = {0};
    while (help.n) {
        size_t end = str_find_char(help, '\n', 0);
        Str line = {help.p, end == SIZE_MAX ? help.n : end};
        help = str_skip(help, line.n + 1);
        bool flows = line.n && line.p[0] != ' ';
        if (flows) {
            buf_add(&flow, line);
            buf_putc(&flow, ' ');
        }
        if (flow.n && (!flows || !help.n)) {
            fold_text(b, buf_str(&flow), (int)width, 0);
            buf_clear(&flow);
        }
        if (!flows) example(b, line, width);
    }
    buf_release(&flow);
}

void help_command(Out *out, const Command *c) {
    Buf *b = &out->buf;
    size_t width =
        out->width < HELP_MOST ? out->width : HELP_MOST; /* longer lines are hard to read */
    buf_printf(b, "thou %s%s", c->name, c->arguments[0] ? " " : "");
    fold_text(b, str_from(c->arguments), (int)width, BELOW);
    buf_puts(b, "  ");
    fold_text(b, str_from(c->summary), (int)width, 2);
    buf_putc(b, '\n');
    paragraphs(b, str_from(c->help), width);
    buf_puts(b, "\nOptions\n");
    size_t column = 0;
    int count = c->option_count + common_option_count;
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < count; i++) {
            const Option *o =
                i < c->option_count ? &c->options[i] : &common_options[i - c->option_count];
            size_t wide = option_width(o) + 2;
            if (!o->help) continue;
            if (pass == 0 && wide > column && wide <= COLUMN_MOST) column = wide;
            if (pass == 1) option_line(b, o, column, width);
        }
    }
    out_settle(out);
}

void help_all(Out *out) {
    Buf *b = &out->buf;
    buf_puts(b, "thou COMMAND [OPTIONS] [ARGUMENTS]\n  ");
    fold_text(b, STR("The build history of an engine shop, in plain text logs."), (int)out->width,
              2);
    buf_putc(b, '\n');
    for (int i = 0; i < command_count; i++) {
        enum { NAMES = 13 };
        const Command *c = commands[i];
        buf_printf(b, "  %-10s ", c->name);
        fold_text(b, str_from(c->summary), (int)out->width, NAMES);
    }
    buf_putc(b, '\n');
    fold_text(b,
              STR("thou COMMAND -h says more of one command; thou help WORD finds what a word is "
                  "about; thou --version says which version this is."),
              (int)out->width, 0);
    out_settle(out);
}
