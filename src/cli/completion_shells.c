/* The table of commands in the words of each shell, in front of or behind that shell's own text. */
#include "cli/completion.h"

#include "vocab/texts.h"

#define TEXT(name) ((Str){(const char *)(name), name##_size})

static const char made[] =
    "# Completion of thou's command lines, made by `thou completion %s`.\n\n";

/* With the characters of `odd` behind a backslash; in single quotes as all three shells read them.
 */
static void quoted(Buf *out, const char *text, const char *odd, const char *quote) {
    for (; *text; text++) {
        if (*text == '\'') {
            buf_puts(out, quote);
            continue;
        }
        if (strchr(odd, *text)) buf_putc(out, '\\');
        buf_putc(out, *text);
    }
}

static void add_arguments(Buf *out, const Command *c, const char *quote) {
    Argument list[ARGUMENT_MOST];
    unsigned count = arguments_of(c, list);
    for (unsigned i = 0; i < count; i++)
        buf_printf(out, "%s%s%.*s%s%s", i ? " " : "", quote, STR_ARG(argument_word(&list[i])),
                   list[i].repeated ? "+" : "", quote);
}

/* ---- bash --------------------------------------------------------------------------------------
 */

static void bash_command(Buf *out, const Command *c) {
    const Option *o;
    buf_printf(out, "    %s)\n        options='", c->name);
    for (int i = 0; (o = command_option(c, i)); i++)
        buf_printf(out, "%s--%s", i ? " " : "", o->name);
    buf_puts(out, "'\n        values='");
    for (int i = 0, n = 0; (o = command_option(c, i)); i++) {
        Argument s = option_argument(o);
        if (o->kind == OPTION_FLAG) continue;
        Str word = argument_word(&s);
        buf_printf(out, "%s--%s:%.*s", n++ ? " " : "", o->name, STR_ARG(word));
        if (o->letter) buf_printf(out, " -%c:%.*s", o->letter, STR_ARG(word));
    }
    buf_puts(out, "'\n        slots='");
    add_arguments(out, c, "");
    buf_puts(out, "'\n        ;;\n");
}

void completion_bash(Buf *out) {
    buf_printf(out, made, "bash");
    buf_puts(out, "_thou_table() { # [COMMAND]: sets what it takes; without, says all commands\n"
                  "    case $1 in\n");
    for (int i = 0; i < command_count; i++)
        bash_command(out, commands[i]);
    buf_puts(out, "    '') echo '");
    for (int i = 0; i < command_count; i++)
        buf_printf(out, "%s%s", i ? " " : "", commands[i]->name);
    buf_puts(out, "' ;;\n    *) options= values= slots= ;;\n    esac\n}\n\n");
    buf_add(out, TEXT(text_complete_bash));
}

/* ---- zsh ---------------------------------------------------------------------------------------
 */

static const char zsh_quote[] = "'\\''";

/* The action behind a slot; the message in front of it is the slot's own word. */
static void zsh_action(Buf *out, const Argument *s) {
    static const char *const actions[] = {
        [ARG_NONE] = " ",          [ARG_JOBS] = "_thou_jobs",
        [ARG_TAGS] = "_thou_tags", [ARG_COMMANDS] = "_thou_commands",
        [ARG_FILES] = "_files",    [ARG_FOLDERS] = "_files -/"};
    if (s->kind != ARG_CHOICE) {
        buf_puts(out, actions[s->kind]);
        return;
    }
    buf_putc(out, '(');
    for (size_t i = 0; i < s->words.n; i++)
        buf_putc(out, s->words.p[i] == '|' ? ' ' : s->words.p[i]);
    buf_putc(out, ')');
}

static void zsh_option(Buf *out, const Option *o) {
    buf_puts(out, " \\\n            '");
    if (o->letter)
        buf_printf(out, "(-%c --%s)'{-%c,--%s}'", o->letter, o->name, o->letter, o->name);
    if (!o->letter) buf_printf(out, "--%s%s", o->name, o->kind == OPTION_FLAG ? "" : "=");
    buf_putc(out, '[');
    quoted(out, o->help, "[]", zsh_quote);
    buf_putc(out, ']');
    if (o->kind != OPTION_FLAG) {
        Argument s = option_argument(o);
        buf_printf(out, ":%s:", s.kind == ARG_CHOICE ? o->name : o->value);
        zsh_action(out, &s);
    }
    buf_putc(out, '\'');
}

static void zsh_command(Buf *out, const Command *c) {
    const Option *o;
    Argument list[ARGUMENT_MOST];
    unsigned count = arguments_of(c, list);
    buf_printf(out, "    %s)\n        _arguments -s -S", c->name);
    for (int i = 0; (o = command_option(c, i)); i++)
        zsh_option(out, o);
    for (unsigned i = 0; i < count; i++) {
        Argument *s = &list[i];
        bool rest = s->repeated || s->kind == ARG_TAGS;
        buf_puts(out, " \\\n            '");
        if (rest)
            buf_puts(out, s->kind == ARG_TAGS ? "*:::" : "*:");
        else
            buf_printf(out, "%u:", i + 1);
        buf_add(out, s->kind == ARG_CHOICE ? STR("word") : argument_word(s));
        buf_putc(out, ':');
        zsh_action(out, s);
        buf_putc(out, '\'');
        if (rest) break;
    }
    buf_puts(out, "\n        ;;\n");
}

void completion_zsh(Buf *out) {
    buf_puts(out, "#compdef thou\n");
    buf_printf(out, made, "zsh");
    buf_puts(out, "_thou_commands() {\n    local -a commands=(\n");
    for (int i = 0; i < command_count; i++) {
        buf_printf(out, "        '%s:", commands[i]->name);
        quoted(out, commands[i]->summary, ":", zsh_quote);
        buf_puts(out, "'\n");
    }
    buf_puts(out, "    )\n    _describe command commands\n}\n\n"
                  "_thou_arguments() { # COMMAND\n    case $1 in\n");
    for (int i = 0; i < command_count; i++)
        zsh_command(out, commands[i]);
    buf_puts(out, "    esac\n}\n\n");
    buf_add(out, TEXT(text_complete_zsh));
}

/* ---- fish --------------------------------------------------------------------------------------
 */

static const char fish_quote[] = "\\'";

static void fish_option(Buf *out, const Command *c, const Option *o) {
    buf_printf(out, "complete -c thou -n '__thou_is %s' -l %s", c->name, o->name);
    if (o->letter) buf_printf(out, " -s %c", o->letter);
    if (o->kind != OPTION_FLAG) {
        Argument s = option_argument(o);
        buf_printf(out, " -x -a '(__thou_kind \"%.*s\")'", STR_ARG(argument_word(&s)));
    }
    buf_puts(out, " -d '");
    quoted(out, o->help, "\\", fish_quote);
    buf_puts(out, "'\n");
}

static void fish_command(Buf *out, const Command *c) {
    const Option *o;
    for (int i = 0; (o = command_option(c, i)); i++)
        fish_option(out, c, o);
    if (!c->arguments[0]) return;
    buf_printf(out, "complete -c thou -n '__thou_is %s' -a '(__thou_slot \"", c->name);
    for (int i = 0, n = 0; (o = command_option(c, i)); i++) {
        if (o->kind == OPTION_FLAG) continue;
        buf_printf(out, "%s--%s", n++ ? " " : "", o->name);
        if (o->letter) buf_printf(out, " -%c", o->letter);
    }
    buf_puts(out, "\" ");
    add_arguments(out, c, "\"");
    buf_puts(out, ")'\n");
}

void completion_fish(Buf *out) {
    buf_printf(out, made, "fish");
    buf_puts(out, "function __thou_commands\n");
    for (int i = 0; i < command_count; i++) {
        buf_printf(out, "    printf '%%s\\t%%s\\n' %s '", commands[i]->name);
        quoted(out, commands[i]->summary, "\\", fish_quote);
        buf_puts(out, "'\n");
    }
    buf_puts(out, "end\n\n");
    buf_add(out, TEXT(text_complete_fish));
    for (int i = 0; i < command_count; i++)
        fish_command(out, commands[i]);
}
