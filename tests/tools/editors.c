/*
 * What editors colour a log with, from the vocabulary and the shape of lines that src/log/line.c
 * reads. `editors DIR` writes the generated files of format/editors into DIR; `editors --kinds
 * FILE` says what the scanner makes of each line, which the editors are held to.
 */
#include "cli/lookup.h"

#include "base/file.h"
#include "log/line.h"

typedef struct Dialect {
    const char *open, *close, * or, *bar, *equals, *dot;
} Dialect;
static const Dialect vim = {"%(", ")", "|", "\\|", "\\=", "\\."};
static const Dialect emacs = {"\\\\(?:", "\\\\)", "\\\\|", "|", "=", "\\\\."};
static const Dialect posix = {"(", ")", "|", "[|]", "=", "[.]"};
static const Dialect textmate = {"(?:", ")", "|", "[|]", "=", "[.]"};

#define BLANK "[[:blank:]]"

/* A word that is no lone `=` or `|`, and the blanks behind it: what may stand before a separator.
 */
static void words_before(Buf *b, const Dialect *d) {
    buf_printf(b, "%s%s[^=|[:blank:]][^[:blank:]]*%s[=|][^[:blank:]]+%s" BLANK "+%s*", d->open,
               d->open, d->or, d->close, d->close);
}

static void reading(Buf *b, const Dialect *d) {
    buf_puts(b, "^" BLANK "*");
    words_before(b, d);
    buf_printf(b, "%s%s" BLANK ".*%s$%s", d->equals, d->open, d->or, d->close);
}

static void grid(Buf *b, const Dialect *d) {
    buf_printf(b, "^" BLANK "*%s%s[^[:blank:]]%s", d->open, d->bar, d->or);
    words_before(b, d);
    buf_printf(b, "%s%s" BLANK "%s$%s%s.*$", d->bar, d->open, d->or, d->close, d->close);
}

static void heading(Buf *b, const Dialect *d) {
    buf_printf(b, "^" BLANK "*[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]%s" BLANK ".*%s$%s",
               d->open, d->or, d->close);
}

/* ---- alternatives -------------------------------------------------------------------------------
 */

typedef struct Names {
    Str *items;
    uint32_t count, room;
} Names;

static void add(Names *n, Arena *a, Str s) {
    for (uint32_t i = 0; i < n->count; i++)
        if (str_ieq(n->items[i], s)) return;
    if (!s.n) return;
    arena_grow(a, n->items, n->count, n->room);
    n->items[n->count++] = s;
}

/* The longest first: the first alternative that fits is taken. */
static int longer(const void *x, const void *y) {
    const Str *a = x, *b = y;
    if (a->n != b->n) return a->n < b->n ? 1 : -1;
    return str_cmp(*a, *b);
}

static Names tag_names(const Vocab *v, Arena *a) {
    Names n = {0};
    for (TagId i = 0; i < v->tag_count; i++) {
        add(&n, a, v->tags[i].name);
        for (uint8_t k = 0; k < v->tags[i].also_count; k++)
            add(&n, a, v->tags[i].also[k]);
    }
    qsort(n.items, n.count, sizeof *n.items, longer);
    return n;
}

static Names unit_names(Arena *a) {
    Names n = {0};
    size_t count;
    const Unit *rows = unit_rows(&count);
    for (size_t i = 0; i < count; i++)
        add(&n, a, str_from(rows[i].name));
    qsort(n.items, n.count, sizeof *n.items, longer);
    return n;
}

static void alternatives(Buf *b, const Dialect *d, const Names *n) {
    buf_puts(b, d->open);
    for (uint32_t i = 0; i < n->count; i++) {
        if (i) buf_puts(b, d->or);
        for (size_t k = 0; k < n->items[i].n; k++) {
            char c = n->items[i].p[k];
            if (c == ' ')
                buf_puts(b, BLANK "+");
            else if (c == '.')
                buf_puts(b, d->dot);
            else if (memchr("%&@~<>", c, 6))
                buf_printf(b, "[%c]", c); /* of which some mean something to Vim */
            else
                buf_putc(b, c);
        }
    }
    buf_puts(b, d->close);
}

/* What may stand before a name: `x ` of a struck line, or what is said of the name. */
static void before_name(Buf *b, const Dialect *d) {
    buf_printf(b, "^" BLANK "*%sx" BLANK "+%s?%s%slimit%saim%saccept%s" BLANK "+%s?", d->open,
               d->close, d->open, d->open, d->or, d->or, d->close, d->close);
}

static void number(Buf *b, const Dialect *d) {
    buf_printf(b, "[-+]?[0-9]*%s?[0-9]+%s/[0-9]+%s?", d->dot, d->open, d->close);
}

/* ---- Vim and Neovim -----------------------------------------------------------------------------
 */

static void vim_match(Buf *b, const char *group, const char *options,
                      void (*pattern)(Buf *, const Dialect *)) {
    buf_printf(b, "syntax match %s ~\\v", group);
    pattern(b, &vim);
    buf_printf(b, "~%s\n", options);
}

static void vim_file(Buf *b, const Names *tags, const Names *units) {
    buf_puts(
        b,
        "\" Vim syntax of thou's logs, part cards and shop.vocab. Made by tests/tools/editors.c\n"
        "\" from the vocabulary: mend it there (make editors).\n"
        "if exists('b:current_syntax')\n  finish\nendif\nsyntax case ignore\n"
        "syntax sync fromstart\n\n");
    vim_match(b, "thouReading",
              " contains=thouName,thouWord,thouNumber,thouUnit,thouDoubt,thouRemark", reading);
    vim_match(b, "thouGrid",
              " contains=thouColumn,thouBar,thouNumber,thouUnit,thouDoubt,thouRemark", grid);
    vim_match(b, "thouHeading", " contains=thouDate", heading);
    buf_puts(b,
             "syntax match thouNote ~\\v^" BLANK "*[>;].*$~\n"
             "syntax region thouNote start=~\\v^" BLANK "*\\>\\>" BLANK "*$~ end=~\\v^" BLANK
             "*\\<\\<" BLANK "*$~\n\n"
             "syntax match thouWord contained ~\\v^" BLANK "*%(x|limit|aim|accept)\\ze" BLANK "~\n"
             "syntax match thouName contained ~\\v");
    buf_puts(b, "%(");
    before_name(b, &vim);
    buf_puts(b, ")@<="); /* looked back at: what stands there has a match of its own */
    alternatives(b, &vim, tags);
    buf_puts(b, "\\ze" BLANK "~\nsyntax match thouColumn contained ~\\v%(%(^|\\|)" BLANK "*)@<=");
    alternatives(b, &vim, tags);
    buf_puts(b, "\\ze%(" BLANK "|$)~\nsyntax match thouBar contained ~|~\n"
                "syntax match thouNumber contained ~\\v%(^|" BLANK ")@1<=");
    number(b, &vim);
    buf_puts(b, "%(" BLANK "|$|,)@=~\nsyntax match thouUnit contained ~\\v%([0-9]" BLANK "+)@<=");
    alternatives(b, &vim, units);
    buf_puts(b,
             "\\ze%(" BLANK "|$|,)~\n"
             "syntax match thouDoubt contained ~\\v" BLANK "@1<=\\?%(" BLANK "|$)@=~\n"
             "syntax match thouRemark contained ~\\v" BLANK "@1<=;.*$~\n"
             "syntax match thouDate contained ~\\v^" BLANK "*[0-9]{4}-[0-9]{2}-[0-9]{2}%(" BLANK
             "+[0-9]{2}:[0-9]{2})?~\n\n"
             "highlight default link thouHeading Title\nhighlight default link thouDate Special\n"
             "highlight default link thouNote Comment\nhighlight default link thouRemark Comment\n"
             "highlight default link thouWord Statement\n"
             "highlight default link thouName Identifier\n"
             "highlight default link thouColumn Identifier\n"
             "highlight default link thouBar Delimiter\nhighlight default link thouNumber Number\n"
             "highlight default link thouUnit Type\nhighlight default link thouDoubt WarningMsg\n\n"
             "let b:current_syntax = 'thou'\n");
}

/* ---- Emacs --------------------------------------------------------------------------------------
 */

static void emacs_file(Buf *b, const Names *tags, const Names *units) {
    buf_puts(b,
             ";;; thou-names.el --- what thou-mode colours  -*- lexical-binding: t -*-\n"
             ";; Made by tests/tools/editors.c from the vocabulary: mend it there (make editors).\n"
             ";;; Code:\n\n(defconst thou-reading-regexp\n  \"");
    reading(b, &emacs);
    buf_puts(b, "\")\n\n(defconst thou-grid-regexp\n  \"");
    grid(b, &emacs);
    buf_puts(b, "\")\n\n(defconst thou-heading-regexp\n  \"");
    heading(b, &emacs);
    buf_puts(b, "\")\n\n(defconst thou-name-regexp\n  \"");
    before_name(b, &emacs);
    buf_puts(b, "\\\\(");
    alternatives(b, &emacs, tags);
    buf_puts(b, "\\\\)" BLANK "\")\n\n(defconst thou-column-regexp\n  \"|" BLANK "*\\\\(");
    alternatives(b, &emacs, tags);
    buf_puts(b, "\\\\)\\\\(?:" BLANK "\\\\|$\\\\)\")\n\n(defconst thou-value-regexp\n  \"" BLANK
                "\\\\(");
    number(b, &emacs);
    buf_puts(b, "\\\\)\\\\(?:" BLANK "+\\\\(");
    alternatives(b, &emacs, units);
    buf_puts(b, "\\\\)\\\\)?\\\\(?:" BLANK "\\\\|,\\\\|$\\\\)\")\n\n(provide 'thou-names)\n"
                ";;; thou-names.el ends here\n");
}

/* ---- nano ---------------------------------------------------------------------------------------
 */

static void nano_file(Buf *b, const Names *tags, const Names *units) {
    buf_puts(
        b, "# nano's colours for thou's logs. Made by tests/tools/editors.c from the vocabulary:\n"
           "# mend it there (make editors).\n"
           "syntax thou \"\\.(job|part)$\" \"(^|/)shop\\.vocab$\"\ncomment \"> \"\n"
           "icolor brightblue \"");
    before_name(b, &posix);
    alternatives(b, &posix, tags);
    buf_puts(b, BLANK "\"\nicolor brightblue \"[|]" BLANK "*");
    alternatives(b, &posix, tags);
    buf_puts(b, "(" BLANK "|$)\"\nicolor green \"[0-9]" BLANK "+");
    alternatives(b, &posix, units);
    buf_puts(b, "(" BLANK "|,|$)\"\ncolor cyan \"" BLANK);
    number(b, &posix);
    buf_puts(b, "\"\ncolor brightred \"" BLANK "[?](" BLANK "|$)\"\n"
                "icolor magenta \"^" BLANK "*(x|limit|aim|accept)" BLANK "\"\n"
                "color yellow \"" BLANK ";.*$\"\ncolor brightwhite \"");
    heading(b, &posix);
    buf_puts(b,
             "\"\ncolor yellow \"^" BLANK "*[>;].*$\"\n"
             "color yellow start=\"^" BLANK "*>>" BLANK "*$\" end=\"^" BLANK "*<<" BLANK "*$\"\n");
}

/* ---- TextMate -----------------------------------------------------------------------------------
 */

static void json_pattern(Buf *b, const char *key, const Buf *pattern, const char *after) {
    buf_printf(b, "\"%s\": ", key);
    buf_json(b, buf_str(pattern));
    buf_puts(b, after);
}

static void line_rule(Buf *b, const char *name, void (*pattern)(Buf *, const Dialect *),
                      const char *inside) {
    Buf p = {0};
    pattern(&p, &textmate);
    buf_puts(b, "    { ");
    json_pattern(b, "match", &p, ", ");
    buf_printf(b, "\"name\": \"%s\",\n      \"captures\": { \"0\": { \"patterns\": [%s] } } },\n",
               name, inside);
    buf_release(&p);
}

static void stored(Buf *b, const char *key, const char *name, Buf *pattern, bool last) {
    buf_printf(b, "    \"%s\": { ", key);
    json_pattern(b, "match", pattern, ", ");
    buf_printf(b, "\"name\": \"%s\" }%s\n", name, last ? "" : ",");
    buf_clear(pattern);
}

static void textmate_file(Buf *b, const Names *tags, const Names *units) {
    Buf p = {0};
    buf_puts(b, "{\n  \"comment\": \"Made by tests/tools/editors.c from the vocabulary: mend it "
                "there (make "
                "editors).\",\n  \"name\": \"thou\",\n  \"scopeName\": \"text.thou\",\n"
                "  \"fileTypes\": [\"job\", \"part\", \"vocab\"],\n  \"patterns\": [\n"
                "    { \"begin\": \"^[[:blank:]]*>>[[:blank:]]*$\", \"end\": "
                "\"^[[:blank:]]*<<[[:blank:]]*$\", "
                "\"name\": \"comment.block.thou\" },\n"
                "    { \"match\": \"^[[:blank:]]*[>;].*$\", \"name\": \"comment.line.thou\" },\n");
    line_rule(b, "markup.heading.thou", heading, "");
    line_rule(
        b, "meta.grid.thou", grid,
        "{ \"include\": \"#remark\" }, { \"include\": \"#column\" }, { \"include\": \"#doubt\" }, "
        "{ \"include\": \"#number\" }, { \"include\": \"#unit\" }");
    line_rule(
        b, "meta.reading.thou", reading,
        "{ \"include\": \"#remark\" }, { \"include\": \"#name\" }, { \"include\": \"#doubt\" }, "
        "{ \"include\": \"#number\" }, { \"include\": \"#unit\" }");
    b->n -= 2; /* no comma behind the last */
    buf_puts(b, "\n  ],\n  \"repository\": {\n");
    buf_puts(&p, "(?<=[[:blank:]]);.*$");
    stored(b, "remark", "comment.line.thou", &p, false);
    buf_puts(&p, "(?i)");
    before_name(&p, &textmate);
    alternatives(&p, &textmate, tags);
    buf_puts(&p, "(?=[[:blank:]])");
    stored(b, "name", "entity.name.tag.thou", &p, false);
    buf_puts(&p, "(?i)(?<=[|])[[:blank:]]*");
    alternatives(&p, &textmate, tags);
    buf_puts(&p, "(?=[[:blank:]]|$)");
    stored(b, "column", "entity.name.tag.thou", &p, false);
    buf_puts(&p, "(?<=[[:blank:]])[?](?=[[:blank:]]|$)");
    stored(b, "doubt", "invalid.deprecated.thou", &p, false);
    buf_puts(&p, "(?<=[[:blank:]])");
    number(&p, &textmate);
    buf_puts(&p, "(?=[[:blank:],]|$)");
    stored(b, "number", "constant.numeric.thou", &p, false);
    buf_puts(&p, "(?<=[[:blank:]])");
    alternatives(&p, &textmate, units);
    buf_puts(&p, "(?=[[:blank:],]|$)");
    stored(b, "unit", "storage.type.unit.thou", &p, true);
    buf_puts(b, "  }\n}\n");
    buf_release(&p);
}

/* ---- the scanner's word
 * --------------------------------------------------------------------------- */

static int say_kinds(Arena *a, const char *path, Err *err) {
    static const char *const words[] = {
        [LINE_BLANK] = "blank",     [LINE_NOTE] = "note", [LINE_HEADING] = "heading",
        [LINE_READING] = "reading", [LINE_GRID] = "grid", [LINE_BROKEN] = "broken"};
    Source source = {.path = str_from(path)};
    LineReader lines;
    Line line;
    if (!file_read(a, path, &source.text, NULL, err)) return EXIT_TROUBLE;
    line_start(&lines, &source, NULL);
    for (line_next(&lines, &line); line.kind != LINE_END; line_next(&lines, &line))
        puts(line.kind == LINE_NOTE && (line.quoted_note || (line.body.n && line.body.p[0] == ';'))
                 ? "quoted"
                 : words[line.kind]);
    return 0;
}

static void save(const char *folder, const char *name, Buf *b) {
    char path[4096];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    if (!f || b->failed || fwrite(b->p, 1, b->n, f) != b->n || fclose(f) != 0) {
        complain("%s could not be written", path);
        exit(EXIT_TROUBLE);
    }
    buf_clear(b);
}

static const struct {
    const char *path;
    void (*write)(Buf *b, const Names *tags, const Names *units);
} files[] = {
    {"vim/syntax/thou.vim", vim_file},
    {"emacs/thou-names.el", emacs_file},
    {"nano/thou.nanorc", nano_file},
    {"textmate/thou.tmLanguage.json", textmate_file},
};

int main(int argc, char **argv) {
    Arena *a = arena_new();
    Err err = {0};
    Findings f = {.arena = a};
    if (argc != 2) {
        bool kinds = argc == 3 && strcmp(argv[1], "--kinds") == 0;
        int code = kinds ? say_kinds(a, argv[2], &err) : EXIT_TROUBLE;
        arena_free(a);
        return code;
    }
    Vocab *v = vocab_load(NULL, &f);
    Names tags = tag_names(v, a), units = unit_names(a);
    Buf b = {0};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        files[i].write(&b, &tags, &units);
        save(argv[1], files[i].path, &b);
    }
    buf_release(&b);
    vocab_free(v);
    arena_free(a);
    return 0;
}
