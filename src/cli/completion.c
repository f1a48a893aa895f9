/* thou completion: prints what a shell completes thou's command lines with. */
#include "cli/completion.h"

#include "cli/lookup.h"

enum { OPT_WORDS, OPT_COUNT };
static const Option completion_options[OPT_COUNT] = {
    [OPT_WORDS] = {"words", 0, OPTION_CHOICE, "jobs|tags", NULL}, /* asked by what is printed */
};

/* ---- what stands where --------------------------------------------------------------------------
 */

static const struct {
    Str name;
    ArgKind kind;
} argument_names[] = {
    {{"JOB", 3}, ARG_JOBS},         {{"A", 1}, ARG_JOBS},     {{"B", 1}, ARG_JOBS},
    {{"OLD", 3}, ARG_JOBS},         {{"TAG", 3}, ARG_TAGS},   {{"NAME", 4}, ARG_NONE},
    {{"COMMAND", 7}, ARG_COMMANDS}, {{"FILE", 4}, ARG_FILES}, {{"DIR", 3}, ARG_FOLDERS},
};

static Argument argument_of(Str word) {
    Argument s = {.words = word};
    if (word.n && word.p[0] >= 'a' && word.p[0] <= 'z' && str_find_char(word, '|', 0) != SIZE_MAX) {
        s.kind = ARG_CHOICE;
        return s;
    }
    size_t bar = str_find_char(word, '|', 0); /* COMMAND|WORD: the first says what can be offered */
    if (bar != SIZE_MAX) word.n = bar;
    for (size_t i = 0; i < sizeof argument_names / sizeof *argument_names; i++)
        if (str_eq(argument_names[i].name, word)) s.kind = argument_names[i].kind;
    return s;
}

unsigned arguments_of(const Command *c, Argument list[ARGUMENT_MOST]) {
    unsigned count = 0;
    Str rest = str_from(c->arguments);
    for (Str word; (word = str_word(&rest)).n && count < ARGUMENT_MOST;) {
        while (word.n && word.p[0] == '[')
            word = str_skip(word, 1);
        while (word.n && word.p[word.n - 1] == ']')
            word.n--;
        bool repeated = str_ends(word, STR("..."));
        if (repeated) word.n -= 3;
        list[count] = argument_of(word);
        list[count++].repeated = repeated;
    }
    return count;
}

Argument option_argument(const Option *o) {
    if (o->kind == OPTION_CHOICE)
        return (Argument){.kind = ARG_CHOICE, .words = str_from(o->value)};
    return argument_of(str_from(o->kind == OPTION_WORD ? o->value : NULL));
}

Str argument_word(const Argument *s) {
    static const Str words[] = {
        [ARG_NONE] = {"none", 4},   [ARG_JOBS] = {"jobs", 4},
        [ARG_TAGS] = {"tags", 4},   [ARG_COMMANDS] = {"commands", 8},
        [ARG_FILES] = {"files", 5}, [ARG_FOLDERS] = {"folders", 7},
    };
    return s->kind == ARG_CHOICE ? s->words : words[s->kind];
}

const Option *command_option(const Command *c, int i) {
    for (int k = 0; k < c->option_count; k++)
        if (c->options[k].help && i-- == 0) return &c->options[k];
    return i < common_option_count ? &common_options[i] : NULL;
}

/* ---- words that the shells ask for --------------------------------------------------------------
 */

static bool say_jobs(Run *run) {
    Book *b;
    BookFiles jobs;
    if (!shelf_need_book(run, &b) || !book_jobs(b, run->arena, &jobs, &run->err)) return false;
    for (uint32_t i = 0; i < jobs.count; i++) {
        out_add(&run->out, jobs.items[i].name);
        out_add(&run->out, STR("\n"));
    }
    return true;
}

/* The word that goes on behind the typed ones, of which the last may be half a word. */
static Str next_word(Run *run, Str name) {
    int last = run->args.count - 1;
    Str word = str_word(&name);
    for (int i = 0; i < last; i++) {
        if (!word.n || !str_ieq(word, str_from(run->args.words[i]))) return (Str){0};
        word = str_word(&name);
    }
    Str typed = last < 0 ? str_none : str_from(run->args.words[last]);
    if (word.n < typed.n || !str_ieq((Str){word.p, typed.n}, typed)) return (Str){0};
    return word;
}

typedef struct Words {
    Str *items;
    uint32_t count, room;
} Words;

static void offer(Run *run, Words *words, Str name) {
    Str word = next_word(run, name);
    if (!word.n) return;
    for (uint32_t i = 0; i < words->count; i++)
        if (str_eq(words->items[i], word)) return;
    arena_grow(run->arena, words->items, words->count, words->room);
    words->items[words->count++] = word;
    out_add(&run->out, word);
    out_add(&run->out, STR("\n"));
}

static bool say_tags(Run *run) {
    const Vocab *v;
    Words words = {0};
    if (!lookup_vocab(run, &v)) return false;
    for (TagId i = 0; i < v->tag_count; i++) {
        offer(run, &words, v->tags[i].name);
        for (uint8_t k = 0; k < v->tags[i].also_count; k++)
            offer(run, &words, v->tags[i].also[k]);
    }
    return true;
}

static ExitCode run_completion(Run *run) {
    static void (*const shells[])(Buf *) = {completion_bash, completion_zsh, completion_fish};
    static const char *const names[] = {"bash", "zsh", "fish"};
    const OptionValue *words = &run->args.options[OPT_WORDS];
    if (words->given) {
        bool ok = words->number == 0 ? say_jobs(run) : say_tags(run);
        return ok ? EXIT_FINE : EXIT_TROUBLE;
    }
    const char *asked = run->args.count == 1 ? run->args.words[0] : "";
    for (size_t i = 0; i < sizeof shells / sizeof *shells; i++) {
        if (strcmp(names[i], asked) != 0) continue;
        shells[i](&run->out.buf);
        return EXIT_FINE;
    }
    err_set(&run->err, ERR_USAGE, "say for which shell: thou completion bash, zsh or fish");
    return EXIT_TROUBLE;
}

const Command command_completion = {
    .name = "completion",
    .arguments = "bash|zsh|fish",
    .summary = "prints what a shell needs to complete thou's command lines",
    .help = "The shell then completes commands, options and their values, the names of jobs,\n"
            "and names of the vocabulary word by word. make install puts them where shells\n"
            "look. To try it, or to keep it in your own start-up file:\n"
            "  bash   source <(thou completion bash)\n"
            "  zsh    source <(thou completion zsh)   (behind compinit)\n"
            "  fish   thou completion fish | source\n",
    .options = completion_options,
    .option_count = OPT_COUNT,
    .least = 0,
    .most = -1,
    .run = run_completion,
};
