/* The command line, read by the command's own table. */
#include "cli/command.h"

#include "base/near.h"
#include <stdlib.h>
#include <string.h>

const Option common_options[] = {
    {"book", 0, OPTION_WORD, "DIR",
     "the book's folder; else THOU_BOOK, else the nearest one from here upwards"},
    {"help", 'h', OPTION_FLAG, NULL, "this text"},
};
enum { COMMON_BOOK, COMMON_HELP, COMMON_COUNT };
const int common_option_count = COMMON_COUNT;

typedef struct Reader {
    const Command *command;
    Args *args;
    OptionValue common[COMMON_COUNT];
    int argc, at;
    char **argv;
    Arena *arena;
    Err *err;
} Reader;

static bool usage(Reader *r, const char *format, ...) __attribute__((format(printf, 2, 3)));
static bool usage(Reader *r, const char *format, ...) {
    va_list list;
    va_start(list, format);
    Str text = arena_vprintf(r->arena, format, list);
    va_end(list);
    return err_set(r->err, ERR_USAGE, "%.*s (thou %s -h says more)", STR_ARG(text),
                   r->command->name);
}

static const Option *row(const Command *c, int i) {
    return i < c->option_count ? &c->options[i] : &common_options[i - c->option_count];
}

static OptionValue *value_of(Reader *r, int i) {
    int own = r->command->option_count;
    return i < own ? &r->args->options[i] : &r->common[i - own];
}

static int find_option(const Reader *r, Str name, char letter) {
    for (int i = 0; i < r->command->option_count + COMMON_COUNT; i++) {
        const Option *o = row(r->command, i);
        if (letter ? o->letter == letter : str_eq(str_from(o->name), name)) return i;
    }
    return -1;
}

static bool unknown(Reader *r, const char *typed, Str name) {
    Near near;
    near_start(&near, name);
    for (int i = 0; i < r->command->option_count + COMMON_COUNT; i++)
        near_offer(&near, str_from(row(r->command, i)->name));
    for (unsigned i = 0; i < near.count; i++)
        near.names[i] = arena_printf(r->arena, "--%.*s", STR_ARG(near.names[i]));
    Str text = near_text(&near, r->arena);
    return usage(r, "thou %s has no option '%s'%s%.*s", r->command->name, typed, text.n ? "; " : "",
                 STR_ARG(text));
}

static bool read_count(Reader *r, const Option *o, OptionValue *v) {
    enum { MOST = 1000 };
    v->number = 0;
    for (const char *p = v->text; *p; p++) {
        if (is_digit(*p) && v->number <= MOST) v->number = v->number * 10 + (unsigned)(*p - '0');
        if (!is_digit(*p)) v->number = MOST + 1;
    }
    if (v->number >= 1 && v->number <= MOST) return true;
    return usage(r, "--%s wants a whole number from 1 to %d, not '%s'", o->name, MOST, v->text);
}

static bool read_date(Reader *r, const Option *o, OptionValue *v) {
    Str text = str_from(v->text);
    size_t len = 0;
    switch (date_read(text, &v->date, &len)) {
    case DATE_OK:
        if (len == text.n && v->date.minute < 0) return true;
        break;
    case DATE_NO_SUCH_DAY: return usage(r, "--%s: there is no day '%s'", o->name, v->text);
    case DATE_NONE:
    case DATE_MALFORMED: break;
    }
    return usage(r, "--%s wants a date as 2026-03-04, not '%s'", o->name, v->text);
}

static bool read_choice(Reader *r, const Option *o, OptionValue *v) {
    Str rest = str_from(o->value), typed = str_from(v->text);
    for (v->number = 0;; v->number++) {
        size_t bar = str_find_char(rest, '|', 0);
        Str word = {rest.p, bar == SIZE_MAX ? rest.n : bar};
        if (str_eq(word, typed)) return true;
        if (bar == SIZE_MAX) break;
        rest = str_skip(rest, bar + 1);
    }
    return usage(r, "--%s wants %s, not '%s'", o->name, o->value, v->text);
}

static bool read_value(Reader *r, const Option *o, OptionValue *v) {
    switch (o->kind) {
    case OPTION_COUNT: return read_count(r, o, v);
    case OPTION_DATE: return read_date(r, o, v);
    case OPTION_CHOICE: return read_choice(r, o, v);
    case OPTION_FLAG:
    case OPTION_WORD: break;
    }
    return true;
}

/* `glued` is what stood behind the equals sign (or the letter); NULL for none. */
static bool take(Reader *r, int i, const char *glued) {
    const Option *o = row(r->command, i);
    OptionValue *v = value_of(r, i);
    if (v->given) return usage(r, "--%s stands there twice", o->name);
    v->given = true;
    if (o->kind == OPTION_FLAG) return glued ? usage(r, "--%s takes no value", o->name) : true;
    if (!glued && r->at + 1 < r->argc) glued = r->argv[++r->at];
    if (!glued) return usage(r, "--%s wants a value: --%s %s", o->name, o->name, o->value);
    v->text = glued;
    return read_value(r, o, v);
}

static bool take_long(Reader *r, const char *typed) {
    Str name = str_from(typed + 2);
    size_t equals = str_find_char(name, '=', 0);
    const char *glued = equals == SIZE_MAX ? NULL : name.p + equals + 1;
    if (glued) name.n = equals;
    int i = find_option(r, name, 0);
    return i < 0 ? unknown(r, typed, name) : take(r, i, glued);
}

static bool take_short(Reader *r, const char *typed) {
    int i = find_option(r, (Str){0}, typed[1]);
    return i < 0 ? unknown(r, typed, str_from(typed + 1)) : take(r, i, typed[2] ? typed + 2 : NULL);
}

static bool count_words(Reader *r) {
    const Command *c = r->command;
    const Args *args = r->args;
    if (args->help) return true;
    if (args->count < c->least)
        return usage(r, "something is missing: thou %s %s", c->name, c->arguments);
    if (c->most >= 0 && args->count > c->most)
        return usage(r, "'%s' is one word too many: thou %s %s", args->words[c->most], c->name,
                     c->arguments);
    return true;
}

bool options_read(const Command *c, int argc, char **argv, Args *args, Arena *a, Err *err) {
    Args got = {.words = arena_array(a, (size_t)argc + 1, sizeof *got.words)};
    Reader r = {.command = c, .args = &got, .argc = argc, .argv = argv, .arena = a, .err = err};
    bool only_words = false;
    for (; r.at < argc; r.at++) {
        char *typed = argv[r.at];
        if (only_words || typed[0] != '-' || typed[1] == '\0')
            got.words[got.count++] = typed;
        else if (strcmp(typed, "--") == 0)
            only_words = true;
        else if (typed[1] == '-' ? !take_long(&r, typed) : !take_short(&r, typed))
            return false;
    }
    got.help = r.common[COMMON_HELP].given;
    got.book = r.common[COMMON_BOOK].text;
    got.book_default = getenv("THOU_BOOK");
    if (got.book_default && !got.book_default[0]) got.book_default = NULL;
    if (!count_words(&r)) return false;
    *args = got;
    return true;
}
