/*
 * Between the files of this room only: how the text of a vocabulary becomes blocks of properties,
 * and the state of a load. Blocks live in the loader's own arena and are gone after the load.
 */
#ifndef THOU_VOCAB_PARTS_H
#define THOU_VOCAB_PARTS_H

#include "log/line.h"
#include "vocab/formula.h"
#include "vocab/range.h"
#include "vocab/vocab.h"

/* One row a kind of finding: vocab_kinds[] in kinds.c has them in this order. */
typedef enum VocabKind {
    K_LINE,
    K_NOTE,
    K_PROPERTY,
    K_TWICE,
    K_NAME,
    K_VALUE,
    K_UNIT,
    K_CLASS,
    K_TAG,
    K_MISSING,
    K_LIMIT,
    K_IMPLAUSIBLE,
    K_AIM,
    K_FULL,
    K_SYNTAX,
    K_DEEP,
    K_FORMULA_NAME,
    K_FORMULA_UNIT,
    K_FORMULA_PLACE,
    K_CURVE,
    K_CYCLE,
    K_COUNT
} VocabKind;

enum {
    TAG_MOST = 8000, /* tags of one vocabulary: TagId has room, a slip of the pen has not */
    NAME_WORDS = 6,  /* words of a name */
    LIST_MOST = 64,  /* entries of one list: other names, choices, tags that set aside */
};

typedef enum BlockKind {
    BLOCK_PLACE = 1,
    BLOCK_ITEM = 2,
    BLOCK_QUANTITY = 4,
    BLOCK_FACT = 8,
    BLOCK_RULE = 16,
    BLOCK_CAUTION = 32,
    BLOCK_FORM = 64,
    BLOCK_FIT = 128,
} BlockKind;

/* When a property is read: what the later ones build on comes first. */
typedef enum Phase {
    PHASE_CLASS,   /* needs no other block */
    PHASE_UP,      /* refers to classes by name or plural */
    PHASE_TAG,     /* settles kinds, classes, units and other names of tags */
    PHASE_VALUE,   /* needs the tag's unit, and the names of all tags */
    PHASE_FORMULA, /* needs all tags whole */
    PHASE_COUNT
} Phase;

typedef struct Loader Loader;
typedef struct Block Block;
typedef struct Prop Prop;

typedef struct PropRow {
    Str name;
    unsigned blocks; /* BlockKind bits: where it is allowed */
    Phase phase;
    void (*parse)(Loader *l, Block *b, const Prop *p);
} PropRow;

struct Prop {
    const PropRow *row;
    Str value;
    const Source *source;
};

typedef struct Loose { /* a line outside of blocks */
    Str name, value;
    const Source *source;
} Loose;

/* A word of a table, its length worked out by the compiler. */
#define WORD(literal) \
    { literal, sizeof(literal) - 1 }
/* str_ieq with a lower-case word; most comparisons end at the length or the first letter. */
static inline bool word_eq(Str s, Str word) {
    return s.n == word.n && to_lower(s.p[0]) == word.p[0] && str_ieq(s, word);
}

struct Block {
    BlockKind kind;
    Str name; /* with single blanks */
    Str at;   /* where it stands in the source, for findings */
    const Source *source;
    uint32_t first, count; /* its properties, in the order of the rows */
    Prop *props;           /* the same, once all is read */
    uint32_t index;        /* of its class, tag, rule, caution or form */
    bool shop;             /* shop.vocab declared it or changed something in it */
    bool left_out;         /* it could not be declared: a finding says why */
};

struct Loader {
    Vocab *v;
    Arena *scratch;
    Findings *findings;
    Block *blocks;
    uint32_t count, room;
    uint32_t built_in; /* blocks of the built-in text come first */
    Prop *props;       /* of all blocks, each block's in one piece */
    uint32_t prop_count, prop_room;
    Loose *loose; /* lines that stand outside of blocks: units, limit, aim */
    uint32_t loose_count, loose_room;
};

/* A finding whose caret stands under `at`, a slice of the source's text. */
#define vocab_fault(findings, kind, source, at, ...) \
    finding_add((findings), &vocab_kinds[kind], (source), line_span((source), (at)), __VA_ARGS__)
#define prop_fault(l, kind, p, ...) \
    vocab_fault((l)->findings, kind, (p)->source, value_at((p)->value), __VA_ARGS__)
/* An empty value is shown by what stands before it. */
static inline Str value_at(Str value) {
    return value.n ? value : (Str){value.p - 1, 1};
}

/* vocab_block.c */
void blocks_read(Loader *l, const Source *source);
/* After all is read: a property that is none is not there. Settles Block.props. */
void blocks_settle(Loader *l);
void blocks_run(Loader *l, Phase phase); /* calls the parse function of every property of it */
const Prop *block_prop(const Block *b, Str name);
const char *block_word(BlockKind kind);
extern const PropRow vocab_rows[];
extern const size_t vocab_rows_count;

/* vocab.c: vocab_load with another text in the place of the built-in one, for tests. */
Vocab *vocab_load_texts(const Source *built_in, const Source *shop, Findings *findings);

/* vocab_list.c */
/* Takes the next entry off a list: entries are parted by a comma with a blank behind it. */
bool list_next(Str *rest, Str *entry);
/* How many entries the property's list has; 0 and a finding when they are more than `most`. */
unsigned list_room(Loader *l, const Prop *p, unsigned most);
bool whole_number(Str s, unsigned most, unsigned *out);
bool percent_value(Str s, double *out); /* `3 percent` -> .03 */
/* The unit where no dimension is wanted yet. NULL when it is unknown, or when (*two_meanings) it is
 * a force to one and a mass to another, as `lb`. */
const Unit *unit_certain(Str text, bool *two_meanings);
/* The tag or class that a property names; a finding and TAG_NONE, CLASS_NONE when it is unknown. */
TagId prop_tag(Loader *l, const Prop *p, Str name);
ClassId prop_class(Loader *l, const Prop *p, Str name);

/* vocab_class.c */
void classes_declare(Loader *l);
void classes_check(Loader *l);
unsigned classes_tags(const Loader *l); /* how many tags the classes bring */
void classes_declare_tags(Loader *l);
void parse_on(Loader *l, Block *b, const Prop *p);
void parse_plural(Loader *l, Block *b, const Prop *p);
void parse_letters(Loader *l, Block *b, const Prop *p);
void parse_suffix(Loader *l, Block *b, const Prop *p);
void parse_count(Loader *l, Block *b, const Prop *p);
void parse_each(Loader *l, Block *b, const Prop *p);
void parse_holds_class(Loader *l, Block *b, const Prop *p);
void parse_slots(Loader *l, Block *b, const Prop *p);

/* vocab_tag.c, vocab_number.c */
void tags_declare(Loader *l);
void tags_check(Loader *l);
/* Adds a tag and its name; NULL and a finding when the name cannot be had. */
Tag *tag_add(Loader *l, Str name, const Source *source, Str at, TagKind kind, ClassId of);
void parse_also(Loader *l, Block *b, const Prop *p);
void parse_of(Loader *l, Block *b, const Prop *p);
void parse_kind(Loader *l, Block *b, const Prop *p);
void parse_choices(Loader *l, Block *b, const Prop *p);
void parse_unit(Loader *l, Block *b, const Prop *p);
void parse_shows(Loader *l, Block *b, const Prop *p);
void parse_plausible(Loader *l, Block *b, const Prop *p);
void parse_repeats(Loader *l, Block *b, const Prop *p);
void parse_alike(Loader *l, Block *b, const Prop *p);
void parse_changes(Loader *l, Block *b, const Prop *p);
void parse_agrees(Loader *l, Block *b, const Prop *p);
void parse_only(Loader *l, Block *b, const Prop *p);
void parse_lowered(Loader *l, Block *b, const Prop *p);
void parse_made_of(Loader *l, Block *b, const Prop *p);
void parse_stocked(Loader *l, Block *b, const Prop *p);
void parse_over(Loader *l, Block *b, const Prop *p);
void parse_reach(Loader *l, Block *b, const Prop *p);
void parse_indexed(Loader *l, Block *b, const Prop *p);
void parse_compared(Loader *l, Block *b, const Prop *p);
void parse_shift(Loader *l, Block *b, const Prop *p);
void parse_tilt(Loader *l, Block *b, const Prop *p);
void parse_spots(Loader *l, Block *b, const Prop *p);
void parse_uses(Loader *l, Block *b, const Prop *p);
void parse_is(Loader *l, Block *b, const Prop *p);
void parse_aside(Loader *l, Block *b, const Prop *p);
void parse_changed(Loader *l, Block *b, const Prop *p);
void parse_holds(Loader *l, Block *b, const Prop *p);
void parse_usual(Loader *l, Block *b, const Prop *p);
void parse_orders(Loader *l, Block *b, const Prop *p);
void parse_drawn(Loader *l, Block *b, const Prop *p);
void parse_group(Loader *l, Block *b, const Prop *p);
void parse_role(Loader *l, Block *b, const Prop *p);
void parse_source(Loader *l, Block *b, const Prop *p);
void parse_says(Loader *l, Block *b, const Prop *p);

/* vocab_rule.c */
void rules_declare(Loader *l);
void rules_check(Loader *l);
bool block_twice(Loader *l, const Block *b); /* a finding when its name is there already */
void block_needs(Loader *l, const Block *b, const char *property);
void parse_for(Loader *l, Block *b, const Prop *p);
void parse_must(Loader *l, Block *b, const Prop *p);
void parse_level(Loader *l, Block *b, const Prop *p);
void parse_tags(Loader *l, Block *b, const Prop *p);
void parse_words(Loader *l, Block *b, const Prop *p);

/* vocab_form.c */
void forms_declare(Loader *l);
void forms_check(Loader *l);
void parse_rows(Loader *l, Block *b, const Prop *p);
void parse_columns(Loader *l, Block *b, const Prop *p);

/* vocab_fit.c */
void fits_declare(Loader *l);
void fits_check(Loader *l);
void parse_choose(Loader *l, Block *b, const Prop *p);
void parse_to_aim(Loader *l, Block *b, const Prop *p);
void parse_evens(Loader *l, Block *b, const Prop *p);
void parse_adjust(Loader *l, Block *b, const Prop *p);
void parse_from(Loader *l, Block *b, const Prop *p);
void parse_stack(Loader *l, Block *b, const Prop *p);
void parse_step(Loader *l, Block *b, const Prop *p);
void parse_table(Loader *l, Block *b, const Prop *p);

/* vocab_limits.c */
void limits_read(Loader *l);

/* order.c */
void order_tags(Vocab *v, Arena *scratch, Findings *findings);

/* names.c */
struct NameTable *names_new(Arena *a);
/* Adds a name; the tag that has it already, or TAG_NONE when it was free. */
TagId names_add(struct NameTable *names, Str name, TagId tag);
/* Why a name can't be declared ("'all' stands for places"), or NULL; *at gets the part that is
 * wrong. */
const char *name_fault(const Vocab *v, Str name, Str *at);
Str name_tidy(Arena *a, Str name); /* one blank between words; a slice when it is so already */

/* formula_check.c */
typedef struct Node { /* a Formula while it is made: what is const afterwards can still be set */
    Formula f;
    struct Node *a, *b;
} Node;
bool formula_check(Vocab *v, const Source *source, Node *root, ClassId of, Findings *findings);
const char *dim_words(Dim d); /* its name for messages; never empty */

#endif
