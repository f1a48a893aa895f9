/*
 * Lines to blocks of properties. The built-in text is read first; a block of shop.vocab whose name
 * is there already lays its properties over that block's.
 */
#include "vocab/parts.h"

#include "base/near.h"

enum {
    ON_PLACE = BLOCK_PLACE,
    ON_ITEM = BLOCK_ITEM,
    ON_QUANTITY = BLOCK_QUANTITY,
    ON_FACT = BLOCK_FACT,
    ON_TAG = BLOCK_QUANTITY | BLOCK_FACT,
    ON_RULE = BLOCK_RULE,
    ON_CAUTION = BLOCK_CAUTION,
    ON_FORM = BLOCK_FORM,
    ON_FIT = BLOCK_FIT,
};

/* Within a phase the properties of a block are read in the order of these rows. */
const PropRow vocab_rows[] = {
    {WORD("letters"), ON_PLACE, PHASE_CLASS, parse_letters},
    {WORD("suffix"), ON_PLACE, PHASE_CLASS, parse_suffix},
    {WORD("plural"), ON_PLACE | ON_ITEM, PHASE_CLASS, parse_plural},
    {WORD("slots"), ON_ITEM, PHASE_CLASS, parse_slots},
    {WORD("on"), ON_PLACE, PHASE_UP, parse_on},
    {WORD("sits at"), ON_ITEM, PHASE_UP, parse_on},
    {WORD("names"), ON_PLACE, PHASE_UP, parse_holds_class},
    {WORD("carries"), ON_PLACE, PHASE_UP, parse_holds_class},
    {WORD("of"), ON_TAG, PHASE_TAG, parse_of},
    {WORD("kind"), ON_FACT, PHASE_TAG, parse_kind},
    {WORD("choices"), ON_FACT, PHASE_TAG, parse_choices},
    {WORD("unit"), ON_TAG, PHASE_TAG, parse_unit},
    {WORD("also"), ON_TAG, PHASE_TAG, parse_also},
    {WORD("over"), ON_QUANTITY, PHASE_TAG, parse_over},
    {WORD("spots"), ON_QUANTITY, PHASE_TAG, parse_spots},
    {WORD("count"), ON_PLACE, PHASE_VALUE, parse_count},
    {WORD("each"), ON_PLACE, PHASE_VALUE, parse_each},
    {WORD("shows"), ON_QUANTITY, PHASE_VALUE, parse_shows},
    {WORD("plausible"), ON_QUANTITY, PHASE_VALUE, parse_plausible},
    {WORD("repeats within"), ON_QUANTITY, PHASE_VALUE, parse_repeats},
    {WORD("alike"), ON_QUANTITY, PHASE_VALUE, parse_alike},
    {WORD("changes alike"), ON_QUANTITY, PHASE_VALUE, parse_changes},
    {WORD("agrees within"), ON_QUANTITY, PHASE_VALUE, parse_agrees},
    {WORD("only"), ON_QUANTITY, PHASE_VALUE, parse_only},
    {WORD("lowered by"), ON_QUANTITY, PHASE_VALUE, parse_lowered},
    {WORD("made of"), ON_QUANTITY, PHASE_VALUE, parse_made_of},
    {WORD("stocked"), ON_QUANTITY, PHASE_VALUE, parse_stocked},
    {WORD("reach"), ON_QUANTITY, PHASE_VALUE, parse_reach},
    {WORD("compared at"), ON_QUANTITY, PHASE_VALUE, parse_compared},
    {WORD("shift means"), ON_QUANTITY, PHASE_VALUE, parse_shift},
    {WORD("tilt means"), ON_QUANTITY, PHASE_VALUE, parse_tilt},
    {WORD("uses"), ON_QUANTITY, PHASE_VALUE, parse_uses},
    {WORD("indexed"), ON_QUANTITY, PHASE_VALUE, parse_indexed},
    {WORD("set aside by"), ON_QUANTITY, PHASE_VALUE, parse_aside},
    {WORD("changed by"), ON_QUANTITY, PHASE_VALUE, parse_changed},
    {WORD("holds"), ON_TAG, PHASE_VALUE, parse_holds},
    {WORD("usual"), ON_FACT, PHASE_VALUE, parse_usual},
    {WORD("orders"), ON_FACT, PHASE_VALUE, parse_orders},
    {WORD("drawn"), ON_TAG, PHASE_VALUE, parse_drawn},
    {WORD("group"), ON_TAG, PHASE_VALUE, parse_group},
    {WORD("role"), ON_TAG, PHASE_VALUE, parse_role},
    {WORD("source"), ON_TAG, PHASE_VALUE, parse_source},
    {WORD("says"), ON_TAG | ON_RULE | ON_CAUTION | ON_FIT | ON_FORM, PHASE_VALUE, parse_says},
    {WORD("for"), ON_RULE | ON_FIT, PHASE_VALUE, parse_for},
    {WORD("level"), ON_RULE, PHASE_VALUE, parse_level},
    {WORD("tags"), ON_CAUTION, PHASE_VALUE, parse_tags},
    {WORD("words"), ON_CAUTION, PHASE_VALUE, parse_words},
    {WORD("choose"), ON_FIT, PHASE_VALUE, parse_choose},
    {WORD("to aim"), ON_FIT, PHASE_VALUE, parse_to_aim},
    {WORD("evens"), ON_FIT, PHASE_VALUE, parse_evens},
    {WORD("adjust"), ON_FIT, PHASE_VALUE, parse_adjust},
    {WORD("from"), ON_FIT, PHASE_VALUE, parse_from},
    {WORD("stack"), ON_FIT, PHASE_VALUE, parse_stack},
    {WORD("table"), ON_FIT, PHASE_VALUE, parse_table},
    {WORD("rows"), ON_FORM, PHASE_VALUE, parse_rows},
    {WORD("columns"), ON_FORM, PHASE_VALUE, parse_columns},
    {WORD("is"), ON_QUANTITY, PHASE_FORMULA, parse_is},
    {WORD("must"), ON_RULE, PHASE_FORMULA, parse_must},
    {WORD("step"), ON_FIT, PHASE_FORMULA, parse_step},
};
const size_t vocab_rows_count = sizeof vocab_rows / sizeof *vocab_rows;

static const struct {
    Str word;
    BlockKind kind;
} block_words[] = {
    {WORD("place"), BLOCK_PLACE}, {WORD("item"), BLOCK_ITEM}, {WORD("quantity"), BLOCK_QUANTITY},
    {WORD("fact"), BLOCK_FACT},   {WORD("rule"), BLOCK_RULE}, {WORD("caution"), BLOCK_CAUTION},
    {WORD("form"), BLOCK_FORM},   {WORD("fit"), BLOCK_FIT},
};
enum { BLOCK_WORDS = sizeof block_words / sizeof *block_words };

const char *block_word(BlockKind kind) {
    for (size_t i = 0; i < BLOCK_WORDS; i++)
        if (block_words[i].kind == kind) return block_words[i].word.p;
    return "";
}

/* 0 when the word starts no block. */
static unsigned block_kind(Str word) {
    for (size_t i = 0; i < BLOCK_WORDS; i++)
        if (word_eq(word, block_words[i].word)) return block_words[i].kind;
    return 0;
}

static const PropRow *row_find(Str name) {
    for (size_t i = 0; i < vocab_rows_count; i++)
        if (word_eq(name, vocab_rows[i].name)) return &vocab_rows[i];
    return NULL;
}

const Prop *block_prop(const Block *b, Str name) {
    for (uint32_t i = 0; i < b->count; i++)
        if (str_eq(b->props[i].row->name, name)) return &b->props[i];
    return NULL;
}

/* ---- blocks -----------------------------------------------------------------------------------
 */

static Block *block_same(Loader *l, BlockKind kind, Str name) {
    for (uint32_t i = 0; i < l->built_in; i++)
        if (l->blocks[i].kind == kind && str_ieq(l->blocks[i].name, name)) return &l->blocks[i];
    return NULL;
}

static Block *block_start(Loader *l, BlockKind kind, const Line *line, const Source *source) {
    bool shop = source == l->v->sources[1];
    Str name = name_tidy(l->v->arena, line->right);
    Block *b = shop ? block_same(l, kind, name) : NULL;
    if (!b) {
        arena_grow(l->scratch, l->blocks, l->count, l->room);
        b = &l->blocks[l->count++];
        *b = (Block){.kind = kind,
                     .first = l->prop_count,
                     .name = name,
                     .at = line->right.n ? line->right : line->left,
                     .source = source};
    }
    b->shop = shop;
    return b;
}

/* What a mistyped property may have meant: those of its block, and the words that start blocks. */
static Str row_near(Loader *l, const Block *b, Str typed) {
    Near near;
    near_start(&near, typed);
    for (size_t i = 0; i < vocab_rows_count; i++)
        if (!b || vocab_rows[i].blocks & b->kind) near_offer(&near, vocab_rows[i].name);
    for (size_t i = 0; i < BLOCK_WORDS; i++)
        near_offer(&near, block_words[i].word);
    return near_text(&near, l->scratch);
}

static void prop_unknown(Loader *l, const Block *b, const Source *source, const Line *line) {
    Str near = row_near(l, b, line->left);
    vocab_fault(l->findings, K_PROPERTY, source, line->left.n ? line->left : line->whole,
                "'%.*s' is no property of a vocabulary%s%.*s%s", STR_ARG(line->left),
                near.n ? " (" : "", STR_ARG(near), near.n ? ")" : "");
}

static void prop_push(Loader *l, Prop prop) {
    arena_grow(l->scratch, l->props, l->prop_count, l->prop_room);
    l->props[l->prop_count++] = prop;
}

/* Takes its place where its row stands among the rows of those there. */
static void prop_insert(Loader *l, Block *b, Prop prop) {
    if (b->first + b->count != l->prop_count) { /* another block's stand behind them: to the end */
        uint32_t from = b->first;
        b->first = l->prop_count;
        for (uint32_t i = 0; i < b->count; i++)
            prop_push(l, l->props[from + i]);
    }
    prop_push(l, prop);
    Prop *props = &l->props[b->first];
    uint32_t at = b->count++;
    for (; at > 0 && props[at - 1].row > prop.row; at--)
        props[at] = props[at - 1];
    props[at] = prop;
}

static void prop_put(Loader *l, Block *b, Prop prop, Str name) {
    for (uint32_t i = b->first; i < b->first + b->count; i++) {
        Prop *there = &l->props[i];
        if (there->row != prop.row) continue;
        if (there->source == prop.source)
            vocab_fault(l->findings, K_TWICE, prop.source, name,
                        "'%s' is stated twice for '%.*s'; leave one of them", prop.row->name.p,
                        STR_ARG(b->name));
        else
            *there = prop;
        return;
    }
    prop_insert(l, b, prop);
}

static void prop_line(Loader *l, Block *b, const Source *source, const Line *line) {
    const PropRow *row = row_find(line->left);
    if (!row) {
        prop_unknown(l, b, source, line);
    } else if (!b) {
        vocab_fault(l->findings, K_LINE, source, line->left,
                    "'%s' stands in no block; a block starts with a line such as 'quantity = NAME'",
                    row->name.p);
    } else if (!(row->blocks & b->kind)) {
        vocab_fault(l->findings, K_PROPERTY, source, line->left, "'%s' is no property of a %s",
                    row->name.p, block_word(b->kind));
    } else {
        prop_put(l, b, (Prop){row, line->right, source}, line->left);
    }
}

/* ---- lines ------------------------------------------------------------------------------------
 */

static bool is_loose(Str left) {
    char c = left.n ? to_lower(left.p[0]) : '\0';
    if (c != 'u' && c != 'l' && c != 'a') return false;
    Str first = str_word(&left);
    return (str_ieq(first, STR("units")) && !left.n) || str_ieq(first, STR("limit")) ||
           str_ieq(first, STR("aim"));
}

static void reading_line(Loader *l, Block **block, const Source *source, const Line *line) {
    unsigned kind = block_kind(line->left);
    if (kind) {
        *block = block_start(l, (BlockKind)kind, line, source);
    } else if (is_loose(line->left)) {
        *block = NULL;
        arena_grow(l->scratch, l->loose, l->loose_count, l->loose_room);
        l->loose[l->loose_count++] = (Loose){line->left, line->right, source};
    } else {
        prop_line(l, *block, source, line);
    }
}

/* A property without its ` = ` would be a note, and lost in silence. */
static void note_line(Loader *l, const Source *source, const Line *line) {
    if (line->quoted_note) return;
    Str rest = line->body;
    Str first = str_word(&rest);
    const char *like = NULL;
    for (size_t i = 0; i < vocab_rows_count && first.n && !like; i++) {
        Str name = vocab_rows[i].name;
        bool longer = line->body.n > name.n && is_blank(line->body.p[name.n]);
        if (longer && str_ieq((Str){line->body.p, name.n}, name)) like = name.p;
    }
    if (!like && rest.n && (block_kind(first) || is_loose(line->body)))
        like = "a line of the vocabulary";
    if (like)
        vocab_fault(l->findings, K_NOTE, source, line->body,
                    "this note begins like '%s'; put ' = ' in it, or '>' before it", like);
}

void blocks_read(Loader *l, const Source *source) {
    LineReader reader;
    Line line;
    Block *block = NULL;
    line_start(&reader, source, l->findings);
    for (line_next(&reader, &line); line.kind != LINE_END; line_next(&reader, &line)) {
        if (line.struck) continue;
        switch (line.kind) {
        case LINE_READING: reading_line(l, &block, source, &line); break;
        case LINE_NOTE: note_line(l, source, &line); break;
        case LINE_HEADING:
        case LINE_GRID:
            vocab_fault(l->findings, K_LINE, source, line.whole,
                        "a vocabulary has no entries and no grids; put '>' before a note");
            break;
        default: break;
        }
    }
}

void blocks_settle(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        uint32_t kept = 0;
        b->props = &l->props[b->first];
        for (uint32_t k = 0; k < b->count; k++)
            if (!str_ieq(b->props[k].value, STR("none"))) b->props[kept++] = b->props[k];
        b->count = kept;
    }
}

void blocks_run(Loader *l, Phase phase) {
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (b->left_out) continue;
        for (uint32_t k = 0; k < b->count; k++)
            if (b->props[k].row->phase == phase) b->props[k].row->parse(l, b, &b->props[k]);
    }
}
