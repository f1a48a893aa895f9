/*
 * The manual: a page for each command and one for the program, from the table of commands; the page
 * of the format ends with the vocabulary. `manual DIR FORMAT-HEAD` writes thou.1, thou-COMMAND.1
 * and thou-log.5 into DIR; FORMAT-HEAD is the text in front of the vocabulary, in the language of
 * man.
 */
#include "cli/lookup.h"

#include "base/file.h"
#include "cli/completion.h"
#include "show/tag.h"

static void fail(const char *what, const char *path) {
    complain("%s: %s", path, what);
    exit(EXIT_TROUBLE);
}

/* Text as roff takes it: a backslash, a hyphen, and a point or quote at the start of a line. */
static void text(Buf *b, Str s) {
    bool start = b->n == 0 || b->p[b->n - 1] == '\n';
    if (start && s.n && (s.p[0] == '.' || s.p[0] == '\'')) buf_puts(b, "\\&");
    for (size_t i = 0; i < s.n; i++) {
        switch (s.p[i]) {
        case '\\': buf_puts(b, "\\e"); break;
        case '-': buf_puts(b, "\\-"); break;
        case '\'': buf_puts(b, "\\(aq"); break;
        case '^': buf_puts(b, "\\(ha"); break;
        case '~': buf_puts(b, "\\(ti"); break;
        default: buf_putc(b, s.p[i]);
        }
    }
}

static void text_line(Buf *b, Str s) {
    text(b, s);
    buf_putc(b, '\n');
}

static Str next_line(Str *rest) {
    size_t end = str_find_char(*rest, '\n', 0);
    Str line = {rest->p, end == SIZE_MAX ? rest->n : end};
    *rest = str_skip(*rest, line.n + 1);
    return line;
}

/* Paragraphs flow; lines that begin with a blank are examples and stay as they are. */
static void paragraphs(Buf *b, Str help) {
    bool example = false, gap = false;
    while (help.n) {
        Str line = next_line(&help);
        bool indented = line.n && line.p[0] == ' ';
        if (example && !indented) buf_puts(b, ".fi\n.RE\n");
        if (!line.n) gap = true;
        if (gap && line.n && !indented) buf_puts(b, ".PP\n");
        if (!example && indented) buf_puts(b, ".PP\n.RS 4\n.nf\n");
        if (example && !indented && line.n && !gap) buf_puts(b, ".PP\n");
        if (line.n) gap = false;
        example = indented;
        if (line.n) text_line(b, indented ? str_skip(line, 2) : line);
    }
    if (example) buf_puts(b, ".fi\n.RE\n");
}

static void head(Buf *b, const char *name, const char *section, const char *summary) {
    buf_printf(b, ".\\\" Made from the program's own tables; mend it there.\n");
    buf_printf(b, ".TH \"%s\" %s \"\" \"thou %s\" \"thou\"\n.nh\n.ad l\n.SH NAME\n", name, section,
               THOU_VERSION);
    text(b, str_from(name));
    buf_puts(b, " \\- ");
    text_line(b, str_from(summary));
}

static void options(Buf *b, const Command *c) {
    const Option *o;
    buf_puts(b, ".SH OPTIONS\n");
    for (int i = 0; (o = command_option(c, i)); i++) {
        buf_puts(b, ".TP\n");
        if (o->letter) buf_printf(b, "\\fB\\-%c\\fR, ", o->letter);
        buf_puts(b, "\\fB\\-\\-");
        text(b, str_from(o->name));
        buf_puts(b, "\\fR");
        if (o->value) {
            buf_puts(b, " \\fI");
            text(b, str_from(o->value));
            buf_puts(b, "\\fR");
        }
        buf_putc(b, '\n');
        text_line(b, str_from(o->help));
    }
}

static void exit_status(Buf *b) {
    buf_puts(b, ".SH EXIT STATUS\n.TP\n0\nFine.\n.TP\n1\nErrors in what was written, or nothing "
                "found.\n.TP\n2\nTrouble with the command line, a file, the repository or the "
                "index.\n");
}

static void command_page(Buf *b, const Command *c, Arena *a) {
    Str name = arena_printf(a, "thou-%s", c->name);
    head(b, name.p, "1", c->summary);
    buf_puts(b, ".SH SYNOPSIS\n\\fBthou ");
    text(b, str_from(c->name));
    buf_puts(b, "\\fR [\\fIOPTIONS\\fR]");
    if (c->arguments[0]) {
        buf_puts(b, " \\fI");
        text(b, str_from(c->arguments));
        buf_puts(b, "\\fR");
    }
    buf_puts(b, "\n.SH DESCRIPTION\n");
    paragraphs(b, str_from(c->help));
    options(b, c);
    exit_status(b);
    buf_puts(b, ".SH SEE ALSO\n.BR thou (1),\n.BR thou\\-log (5)\n");
}

static void program_page(Buf *b) {
    head(b, "thou", "1", "the build history of an engine shop, in plain text logs");
    buf_puts(b, ".SH SYNOPSIS\n\\fBthou\\fR \\fICOMMAND\\fR [\\fIOPTIONS\\fR] [\\fIARGUMENTS\\fR]\n"
                ".br\n\\fBthou \\-\\-version\\fR\n.SH DESCRIPTION\n"
                "A book is a folder: logs in jobs/, part cards in parts/, the shop's own names and "
                "limits in shop.vocab. The logs are the only truth, written with any editor; "
                ".thou/ holds what the program keeps for itself and can be deleted at any time, "
                "but for .thou/fill: what was typed with\n.BR thou\\-fill (1)\nand is not in a "
                "log yet stands nowhere else. "
                "The book is the one of\n.BR \\-\\-book ,\nelse of THOU_BOOK, else the nearest one "
                "from the working folder upwards.\n.PP\n"
                "The answer goes to standard output, messages to standard error, in the form "
                "FILE:LINE:COLUMN that editors jump to.\n.SH COMMANDS\n");
    for (int i = 0; i < command_count; i++) {
        buf_puts(b, ".TP\n\\fBthou\\-");
        text(b, str_from(commands[i]->name));
        buf_puts(b, "\\fR(1)\n");
        text_line(b, str_from(commands[i]->summary));
    }
    exit_status(b);
    buf_puts(b, ".SH ENVIRONMENT\n.TP\nTHOU_BOOK\nThe book's folder.\n.TP\nNO_COLOR\nNo colour, "
                "whatever the terminal can do.\n.TP\nCOLUMNS\nHow wide the answer may be; else as "
                "wide as the terminal, else 80.\n.SH SEE ALSO\n.BR thou\\-log (5)\n");
}

static void vocabulary(Buf *b, Run *run, const Vocab *v) {
    TagList all = lookup_all_tags(run, v);
    Str group = {0};
    buf_puts(b,
             ".SH VOCABULARY\nThe built-in names, by group. A book's shop.vocab may add to them "
             "and change them; \\fBthou tag\\fR \\fINAME\\fR says all there is to say of one.\n");
    for (uint32_t i = 0; i < all.count; i++) {
        const Tag *t = &v->tags[all.ids[i]];
        if (i == 0 || !str_eq(t->group, group)) {
            group = t->group;
            buf_puts(b, ".SS ");
            text_line(b, group.n ? group : STR("places and items"));
        }
        buf_puts(b, ".TP\n\\fB");
        text(b, t->name);
        buf_puts(b, "\\fR (");
        text(b, tag_value_kind(t, run->arena));
        buf_puts(b, ")\n");
        if (t->also_count) {
            buf_puts(b, "Also ");
            for (uint8_t k = 0; k < t->also_count; k++) {
                if (k) buf_puts(b, ", ");
                text(b, t->also[k]);
            }
            buf_puts(b, ".\n");
        }
        if (t->of != CLASS_ENGINE) {
            buf_puts(b, "Of each ");
            text(b, v->classes[t->of].name);
            buf_puts(b, t->says.n ? ": " : ".");
        }
        text_line(b, t->says);
    }
    buf_puts(b, ".SH SEE ALSO\n.BR thou (1),\n.BR thou\\-tag (1),\n.BR thou\\-check (1)\n");
}

static void format_page(Buf *b, Run *run, const char *head_path) {
    Findings f = {.arena = run->arena};
    Vocab *v = vocab_load(NULL, &f);
    Str prose;
    if (!file_read(run->arena, head_path, &prose, NULL, &run->err)) fail(run->err.text, head_path);
    head(b, "thou-log", "5", "logs of engine builds: lines, readings, limits, vocabulary");
    buf_add(b, prose);
    vocabulary(b, run, v);
    vocab_free(v);
}

static void save(const char *folder, const char *name, Buf *b) {
    char path[4096];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    if (!f || b->failed || fwrite(b->p, 1, b->n, f) != b->n || fclose(f) != 0)
        fail("could not be written", path);
    buf_clear(b);
}

int main(int argc, char **argv) {
    if (argc != 3) fail("usage: manual DIR FORMAT-HEAD", "manual");
    Run run = {.arena = arena_new()};
    Buf b = {0};
    program_page(&b);
    save(argv[1], "thou.1", &b);
    for (int i = 0; i < command_count; i++) {
        command_page(&b, commands[i], run.arena);
        Str name = arena_printf(run.arena, "thou-%s.1", commands[i]->name);
        save(argv[1], name.p, &b);
    }
    format_page(&b, &run, argv[2]);
    save(argv[1], "thou-log.5", &b);
    buf_release(&b);
    arena_free(run.arena);
    return 0;
}
