#include "index/words.h"

enum { PHRASE_MOST = 64 };

struct Tokenizer {
    fts5_tokenizer how;
    Fts5Tokenizer *it;
};

typedef struct Gather {
    Arena *arena;
    Tokens *out;
    uint32_t base;
} Gather;

bool tokenizer_new(Index *x, Arena *a, Tokenizer **out, Err *err) {
    static const char *options[] = {"remove_diacritics", "2"};
    Tokenizer *t = arena_alloc(a, sizeof *t);
    fts5_api *api = NULL;
    sqlite3_stmt *s = NULL;
    void *user = NULL;
    if (sqlite3_prepare_v2(x->db, "SELECT fts5(?1)", -1, &s, NULL) == SQLITE_OK) {
        sqlite3_bind_pointer(s, 1, &api, "fts5_api_ptr", NULL);
        sqlite3_step(s);
    }
    sqlite3_finalize(s);
    if (!api) return err_set(err, ERR_INDEX, "this SQLite was built without FTS5");
    if (api->xFindTokenizer(api, "unicode61", &user, &t->how) != SQLITE_OK ||
        t->how.xCreate(user, options, 2, &t->it) != SQLITE_OK)
        return err_set(err, ERR_INDEX, "this SQLite has no tokenizer for Unicode text");
    *out = t;
    return true;
}

void tokenizer_free(Tokenizer *t) {
    if (t && t->it) t->how.xDelete(t->it);
}

static int take_token(void *ctx, int flags, const char *text, int n, int off, int end) {
    const Gather *g = ctx;
    (void)flags;
    Token token = {.text = arena_str(g->arena, (Str){text, (size_t)n}),
                   .off = g->base + (uint32_t)off,
                   .end = g->base + (uint32_t)end};
    row_add(g->arena, g->out, token);
    return SQLITE_OK;
}

bool tokenize(Tokenizer *t, Str text, uint32_t base, Arena *a, Tokens *out) {
    Gather g = {a, out, base};
    if (!text.n) return true;
    return t->how.xTokenize(t->it, &g, FTS5_TOKENIZE_DOCUMENT, text.p, (int)text.n, take_token) ==
           SQLITE_OK;
}

bool word_queries(Tokenizer *t, const Ask *ask, Arena *a, WordQuery **out, Err *err) {
    WordQuery *queries = arena_array(a, ask->word_count + 1, sizeof *queries);
    for (uint32_t i = 0; i < ask->word_count; i++) {
        const AskWord *w = &ask->words[i];
        if (!tokenize(t, w->text, 0, a, &queries[i].tokens))
            return err_set(err, ERR_INDEX, "'%.*s' cannot be cut into words", STR_ARG(w->text));
        if (!queries[i].tokens.count)
            return err_set(err, ERR_USAGE, "'%.*s' holds no letter or digit to look for",
                           STR_ARG(w->text));
        if (queries[i].tokens.count > PHRASE_MOST)
            return err_set(err, ERR_LIMIT, "a phrase may have %d words, and no more", PHRASE_MOST);
        queries[i].begins = !w->exact;
        queries[i].item = w->item;
    }
    *out = queries;
    return true;
}

/* Tokens hold letters and digits only, so nothing in them can end the quotes; doubled all the
 * same. */
static void add_quoted(Buf *b, Str token) {
    buf_putc(b, '"');
    for (size_t i = 0; i < token.n; i++) {
        if (token.p[i] == '"') buf_putc(b, '"');
        buf_putc(b, token.p[i]);
    }
    buf_putc(b, '"');
}

static void add_phrase(Buf *b, const WordQuery *query) {
    for (uint32_t k = 0; k < query->tokens.count; k++) {
        if (k) buf_puts(b, " + ");
        add_quoted(b, query->tokens.items[k].text);
    }
    if (query->begins) buf_puts(b, " *");
}

static Str taken(Buf *b, Arena *a) {
    Str s = arena_str(a, buf_str(b));
    buf_release(b);
    return s;
}

Str word_expression(const WordQuery *queries, uint32_t count, Arena *a) {
    Buf b = {0};
    for (uint32_t i = 0; i < count; i++) {
        if (queries[i].item) continue;
        if (b.n) buf_puts(&b, " AND ");
        add_phrase(&b, &queries[i]);
    }
    return taken(&b, a);
}

Str phrase_expression(const WordQuery *query, Arena *a) {
    Buf b = {0};
    add_phrase(&b, query);
    return taken(&b, a);
}

/* ---- in the log --------------------------------------------------------------------------------
 */

typedef struct Piece { /* of a paragraph: one line */
    Said said;
    uint32_t off; /* of what is shown of it in the source */
    Span *marks;
    uint32_t mark_count, mark_room;
} Piece;

typedef struct Paragraph {
    Arena *arena; /* for as long as the log is looked through */
    const Source *source;
    Tokenizer *tokenizer;
    const WordQuery *queries;
    uint32_t query_count;
    const Book *book;
    bool here[ASK_MOST]; /* by query: this paragraph holds it */
    bool found[ASK_MOST];
    ROWS(Piece) pieces;
    Tokens tokens;
} Paragraph;

static bool token_is(Str token, Str wanted, bool begins) {
    return begins ? str_starts(token, wanted) : str_eq(token, wanted);
}

/* `S1#1`, and not the engine S1-1: to FTS5 they are the same two words. */
static bool is_item(const Paragraph *p, const WordQuery *q, uint32_t at) {
    uint32_t count = q->tokens.count;
    if (count < 2) return false;
    const Token *set = &p->tokens.items[at + count - 2], *number = set + 1;
    return number->off == set->end + 1 && p->source->text.p[set->end] == '#';
}

static bool stands_at(const Paragraph *p, const WordQuery *q, uint32_t at) {
    if (at + q->tokens.count > p->tokens.count) return false;
    for (uint32_t k = 0; k < q->tokens.count; k++) {
        bool last = k + 1 == q->tokens.count;
        if (!token_is(p->tokens.items[at + k].text, q->tokens.items[k].text, last && q->begins))
            return false;
    }
    return !q->item || is_item(p, q, at);
}

static void add_mark(Paragraph *p, uint32_t off, uint32_t end) {
    for (uint32_t i = 0; i < p->pieces.count; i++) {
        Piece *piece = &p->pieces.items[i];
        if (off < piece->off || end > piece->off + piece->said.shown.n) continue;
        arena_grow(p->arena, piece->marks, piece->mark_count, piece->mark_room);
        piece->marks[piece->mark_count++] = (Span){off - piece->off, end - off};
        return;
    }
}

static void mark_tokens(Paragraph *p, uint32_t q) {
    const WordQuery *query = &p->queries[q];
    for (uint32_t i = 0; i < p->tokens.count; i++) {
        if (!stands_at(p, query, i)) continue;
        p->here[q] = true;
        for (uint32_t k = 0; k < query->tokens.count; k++)
            add_mark(p, p->tokens.items[i + k].off, p->tokens.items[i + k].end);
    }
}

/* `hl1450` finds HL-1450 too. */
static void mark_squeezed(Paragraph *p, uint32_t q) {
    const WordQuery *query = &p->queries[q];
    if (query->tokens.count != 1) return;
    Str wanted = query->tokens.items[0].text;
    Buf b = {0};
    for (uint32_t i = 0; i < p->pieces.count; i++) {
        const Piece *piece = &p->pieces.items[i];
        for (Str rest = piece->said.text, word; (word = str_word(&rest)).n;) {
            if (!squeezed_starts(word, wanted.p[0])) continue;
            buf_clear(&b);
            squeeze_add(&b, word);
            if (!b.n || !token_is(str_trim(buf_str(&b)), wanted, query->begins)) continue;
            uint32_t off = (uint32_t)(word.p - p->source->text.p);
            p->here[q] = true;
            add_mark(p, off, off + (uint32_t)word.n);
        }
    }
    buf_release(&b);
}

static int by_offset(const void *a, const void *b) {
    const Span *x = a, *y = b;
    return (x->off > y->off) - (x->off < y->off);
}

/* Marks in order, with none inside another. */
static void tidy_marks(Piece *p) {
    uint32_t kept = 0;
    qsort(p->marks, p->mark_count, sizeof *p->marks, by_offset);
    for (uint32_t i = 0; i < p->mark_count; i++) {
        Span *last = kept ? &p->marks[kept - 1] : NULL;
        if (last && p->marks[i].off < last->off + last->len) {
            uint32_t end = p->marks[i].off + p->marks[i].len;
            if (end > last->off + last->len) last->len = end - last->off;
            continue;
        }
        p->marks[kept++] = p->marks[i];
    }
    p->mark_count = kept;
}

/* Whether what was found are a reading's values. A search by words hardly ever comes to ask that,
 * and so to make the vocabulary. */
static bool is_value(const Paragraph *p) {
    if (!p->pieces.count) return false;
    const Piece *only = p->pieces.items;
    return only->said.numbers && only->mark_count &&
           said_is_value(book_vocab(p->book), &only->said);
}

static void show_pieces(Paragraph *p, FoundJob *job, Arena *a) {
    static const MatchKind kinds[] = {[SAID_NOTE] = MATCH_NOTE,
                                      [SAID_TITLE] = MATCH_TITLE,
                                      [SAID_REMARK] = MATCH_REMARK,
                                      [SAID_FACT] = MATCH_FACT};
    for (uint32_t i = 0; i < p->pieces.count; i++) {
        Piece *piece = &p->pieces.items[i];
        if (!piece->mark_count) continue;
        tidy_marks(piece);
        size_t marks_size = piece->mark_count * sizeof *piece->marks;
        Match m = {.kind = kinds[piece->said.kind],
                   .line = source_line_at(p->source, piece->off),
                   .day = DAY_NONE,
                   .text = arena_str(a, piece->said.shown),
                   .marks = memcpy(arena_alloc(a, marks_size), piece->marks, marks_size),
                   .mark_count = piece->mark_count};
        arena_grow(a, job->matches, job->match_count, job->match_room);
        job->matches[job->match_count++] = m;
    }
}

static void close_paragraph(Paragraph *p, FoundJob *job, Arena *a) {
    for (uint32_t q = 0; q < p->query_count; q++) {
        p->here[q] = false;
        mark_tokens(p, q);
        mark_squeezed(p, q);
    }
    if (!is_value(p)) {
        for (uint32_t q = 0; q < p->query_count; q++)
            p->found[q] = p->found[q] || p->here[q];
        show_pieces(p, job, a);
    }
    p->pieces.count = 0;
    p->tokens.count = 0;
}

/* Lines of numbers are many, and few of them are worth cutting into words: a look at how their
 * words begin. What is not ASCII may fold to anything. */
static bool may_hold(const Paragraph *p, Str text) {
    bool within = false;
    for (size_t i = 0; i < text.n; i++) {
        if (text.p[i] & 0x80) return true;
        bool word = is_alpha(text.p[i]) || is_digit(text.p[i]), begins = word && !within;
        within = word;
        for (uint32_t q = 0; begins && q < p->query_count; q++) {
            if (p->queries[q].tokens.items[0].text.p[0] == to_lower(text.p[i])) return true;
        }
    }
    return false;
}

bool word_matches(Tokenizer *t, const WordQuery *queries, uint32_t count, const Book *b,
                  const Source *s, Arena *scratch, Arena *a, FoundJob *job, bool found[ASK_MOST]) {
    Paragraph p = {.arena = scratch,
                   .source = s,
                   .tokenizer = t,
                   .queries = queries,
                   .query_count = count,
                   .book = b};
    SaidReader r;
    Said said;
    said_start(&r, s);
    while (said_next(&r, &said)) {
        if (said.numbers && !may_hold(&p, said.text)) continue;
        uint32_t off = (uint32_t)(said.text.p - s->text.p);
        Piece piece = {.said = said, .off = (uint32_t)(said.shown.p - s->text.p)};
        row_add(scratch, &p.pieces, piece);
        if (!tokenize(t, said.text, off, scratch, &p.tokens)) return false;
        if (!said.goes_on) close_paragraph(&p, job, a);
    }
    close_paragraph(&p, job, a);
    memcpy(found, p.found, sizeof p.found);
    return true;
}
