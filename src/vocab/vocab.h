/*
 * The vocabulary: every name a log may use, as data. Read from text (format/trade.vocab, compiled
 * in, then the book's shop.vocab on top), checked whole when it is loaded, immutable afterwards and
 * shared by all threads. C knows lines, units, places and formulas; what a chamber is stands here
 * alone. The text form is format/vocabulary.md.
 */
#ifndef THOU_VOCAB_VOCAB_H
#define THOU_VOCAB_VOCAB_H

#include "base/finding.h"
#include "units/units.h"
#include <math.h>

typedef uint16_t TagId;  /* index into Vocab.tags */
typedef uint8_t ClassId; /* index into Vocab.classes; 0 is always the engine */
#define TAG_NONE ((TagId)0xffff)
#define CLASS_ENGINE ((ClassId)0)
#define CLASS_NONE ((ClassId)0xff)
enum { CLASS_MOST = 32, SLOT_MOST = 4, SPOT_MOST = 16, LETTER_MOST = 4 };

/* ---- classes: what can be measured on ------------------------------------------------------ */

typedef enum ClassKind {
    CLASS_PLACE,   /* numbered places: engine, cylinder, valve, main, crankpin, rod, rod bolt */
    CLASS_BANK,    /* named by the job, holds places of `holds`: bank left = 1 3 5 7 */
    CLASS_CARRIER, /* named by the job, carries places of `holds` about: head B = left */
    CLASS_ITEM,    /* moves between places and jobs: spring, piston, ring set, shell */
    CLASS_SET,     /* a set of items of class `holds`: S31; made for each item class */
} ClassKind;

typedef struct Class {
    Str name;   /* "valve" */
    Str plural; /* "valves" */
    ClassKind kind;
    ClassId
        up; /* the place it is on (rod bolt -> rod -> cylinder -> engine); an item: where it sits */
    ClassId holds;                 /* bank, carrier: class of the places it holds; set: the items */
    ClassId set;                   /* item: the class of its sets */
    char letters[LETTER_MOST + 1]; /* "IE", "M"; "" when places are bare numbers */
    bool suffixed;                 /* its places are those of `up` with a letter behind: R3a */
    TagId count;   /* engine-level tag that says how many there are (CLASS_PLACE on the engine); or
                      how many there are on each place of `up` (shared among the letters, the first
                      gets the odd one); TAG_NONE: `fixed` */
    uint8_t fixed; /* with TAG_NONE: this many on each place of `up` */
    Str slots[SLOT_MOST]; /* item: names of its slots at one place, [0] is the plain one: "",
                             "outer", "inner" */
    uint8_t slot_count;
    TagId placement[SLOT_MOST]; /* item: tags `spring`, `outer spring`, ... */
    TagId set_tag, part_tag;    /* item: `spring set`, `spring part` */
    Span span;
} Class;

/* ---- tags ----------------------------------------------------------------------------------- */

typedef enum TagKind {
    TAG_NUMBER, /* a measured or computed quantity (a curve when `over` is set) */
    TAG_WORDS,  /* a fact in words */
    TAG_CHOICE, /* one of `choices`, each with a number for formulas */
    TAG_DATE,
    TAG_STOCK,     /* shim stock = 8 x .015, many x .030 in */
    TAG_PART,      /* names a part card; covers tags of `of` and what is on it */
    TAG_SET,       /* names the set in use: spring set = S31 */
    TAG_PLACEMENT, /* spring I1 = #7 */
    TAG_BANK,      /* bank left = 1 3 5 7 */
    TAG_CARRIER,   /* head B = left */
    TAG_SCRAP,     /* scrapped #7 = lost its rate */
    TAG_GAUGE,     /* gauge HM2 = reads .003 in high, DATE .. DATE */
} TagKind;

/* What the program itself needs to find, whatever the vocabulary calls it: `role = run time`. */
typedef enum Role {
    ROLE_NONE,
    ROLE_JOB,
    ROLE_ENGINE,
    ROLE_OWNER,
    ROLE_STAGE,
    ROLE_BY,
    ROLE_WITH,
    ROLE_UNITS,
    ROLE_CONTINUES,
    ROLE_RUN_TIME,
    ROLE_LAYOUT,
    ROLE_TITLE,
    ROLE_COUNT
} Role;

typedef enum Aggregate {
    AGG_SUM,
    AGG_MEAN,
    AGG_SPREAD,
    AGG_LARGEST,
    AGG_SMALLEST,
    AGG_COUNT
} Aggregate;

typedef enum Course { TREND_ANY, TREND_RISES, TREND_FALLS } Course; /* `only rises`, `only falls` */

/* How places stand on the engine, seen from its end: what a choice of its layout means for a
 * drawing. */
typedef enum Arrangement { ARRANGED_UPRIGHT, ARRANGED_VEE, ARRANGED_OPPOSED } Arrangement;

typedef struct Range { /* in SI; -INFINITY / INFINITY where open */
    double low, high;
} Range;

/* Both ends belong to it, to a part in 1e9 of the value. What is no number lies in none, and
 * neither does an infinite one: its slack would reach anywhere. */
static inline bool range_has(const Range *r, double value) {
    double slack = 1e-9 * fabs(value);
    return isfinite(value) && value >= r->low - slack && value <= r->high + slack;
}

typedef struct Choice {
    Str name;
    double number;
} Choice;

typedef struct Formula Formula; /* vocab/formula.h */

typedef struct Tag {
    Str name;        /* as it is shown */
    const Str *also; /* other names */
    uint8_t also_count;
    TagKind kind;
    Role role;
    ClassId of; /* what it is measured on */
    Dim dim;
    const Unit *unit; /* default unit; never NULL for TAG_NUMBER (a plain number has unit "") */
    uint8_t places;   /* decimals a computed value is shown with, in `unit` */
    bool has_plausible;
    Range plausible;
    double repeatability; /* SI difference two readings of the same thing may show; 0: not stated */
    double alike;      /* SI: least scale of difference within a set that is looked at; 0: sets not
                          compared */
    double alike_part; /* the same as a part of the median (3 percent -> .03) */
    double change_alike; /* the same for the change since the last entry; 0: not compared */
    double agrees; /* stated against computed: largest part they may differ by; 0: not compared */
    Course trend;  /* over entries, same subject and condition */
    TagId lowered_by;      /* chamber volume: milled. A later reading must be lower; TAG_NONE */
    TagId made_of;         /* shim: shim stock. The value must be a sum of stocked ones; TAG_NONE */
    const double *stocked; /* SI; used when the job states no stock */
    uint8_t stocked_count;
    const Str *usual; /* of words: those that are usual; what is nearly one of them is doubted */
    uint8_t usual_count;
    ClassId orders;   /* of words: numbers that put the places of this class in an order; CLASS_NONE
                       */
    bool holds_entry; /* `holds = entry`: a circumstance of its entry only */
    bool has_curve;   /* a curve */
    Str over_name;    /* "height", "lift", "speed" */
    const Unit *over; /* unit of the condition */
    bool has_over_plausible;
    Range over_plausible; /* what the condition can be */
    double reach;         /* part of the measured span a curve may be carried beyond its ends */
    TagId compared_at;    /* a curve: the quantity that says at which condition years are compared;
                             TAG_NONE */
    Str shift_means;  /* a curve that changed by as much everywhere: what that says of the thing */
    Str tilt_means;   /* one that changed in proportion to the distance from where it is 0 */
    const Str *spots; /* "top thrust", ... ; the condition of such a reading is the spot's index */
    uint8_t spot_count;
    bool uses_spot; /* bare name in a formula: this spot; else this aggregate over the spots */
    uint8_t used_spot;
    Aggregate used_aggregate;
    const Choice *choices;
    uint8_t choice_count;
    const Arrangement *arranged; /* of each choice, `drawn = upright, vee, opposed`; NULL */
    bool drawn; /* `drawn = place`: its values stand at their places on the plan of a sheet */
    const TagId *set_aside_by; /* a later entry with one of these makes the reading stale */
    uint8_t set_aside_count;
    const TagId *changed_by; /* what also changes it: across one of these no work alone did */
    uint8_t changed_count;
    bool unindexed;         /* `indexed = no`: a step to other quantities, which nobody looks for */
    const Formula *is;      /* NULL when it can only be measured */
    const Source *is_where; /* the text its formula stands in: a shop may change that alone */
    uint16_t order;         /* computed tags: position in dependency order; others 0 */
    Str says, source;
    Str group;      /* heading it stands under in the sheet and in help: "valve train" */
    bool from_shop; /* declared or changed by shop.vocab */
    bool unit_from_shop;
    Span span; /* of its block's first line */
    const Source *where;
} Tag;

/* A relation that must hold on each subject of a class: `rule = open load over seat load`. */
typedef struct Rule {
    Str name, says;
    ClassId of;
    enum { RULE_LESS, RULE_AT_MOST, RULE_MORE, RULE_AT_LEAST } relation;
    const Formula *left, *right;
    Level level;
    const Source *where;
    Span span;
} Rule;

typedef struct Caution {
    Str name, says;
    const TagId *tags; /* it applies when the log has one of these tags */
    uint8_t tag_count;
    const Str *words; /* or one of these words (lower case) anywhere in it */
    uint8_t word_count;
} Caution;

/* A grid that is filled in at the bench: what a blank log, a paper form and `thou fill` ask for, in
 * the order a person works. */
typedef struct FormColumn {
    TagId tag;
    uint8_t spot; /* SPOT_NONE: its bare value */
} FormColumn;
#define SPOT_NONE ((uint8_t)0xff)

typedef struct Form {
    Str name, says;
    ClassId rows;
    const FormColumn *columns; /* a curve stands there once for each of its points */
    uint8_t column_count;
} Form;

/* What may be chosen from what there is, and to what end: `fit = springs`. */
typedef struct Fit {
    Str name, says;
    ClassId item;        /* what is chosen; CLASS_NONE: nothing but the adjuster */
    ClassId place;       /* for what */
    TagId aim;           /* brought nearest to its aim; TAG_NONE */
    bool evens;          /* the aim's values are to be as equal as can be instead */
    TagId adjust;        /* set by a stack of sizes: shim; TAG_NONE */
    TagId stock;         /* where the sizes are read: shim stock; TAG_NONE: those `stocked` */
    uint8_t least, most; /* pieces in a stack */
    const Formula
        *step; /* deviations count in whole steps of it; NULL: the aim's last shown place */
    const TagId *table; /* what is shown of each place */
    uint8_t table_count;
    const Source *where;
    Span span;
} Fit;

/* `limit`, `aim` lines of shop.vocab (author "shop" unless stated). */
typedef struct VocabLimit {
    TagId tag;
    uint8_t letter; /* restricts to places of this letter ('I', 'E'); 0: all */
    bool has_at;
    double at;
    Range range; /* an aim: low == high */
    bool is_aim;
    Str by, text;
    const Source *where;
    Span span;
} VocabLimit;

typedef struct Vocab {
    Arena *arena;
    const Source *sources[2]; /* the built-in text, shop.vocab (NULL without one) */
    Class classes[CLASS_MOST];
    uint8_t class_count;
    Tag *tags;
    uint16_t tag_count;
    TagId roles[ROLE_COUNT];
    const TagId *computed; /* tags with a formula, inputs before what uses them */
    uint16_t computed_count;
    /* Of these, in the same order: with a plausible range, with sets that are compared, with stated
     * values that are. */
    const TagId *ranged, *compared, *stated;
    uint16_t ranged_count, compared_count, stated_count;
    Rule *rules;
    uint16_t rule_count;
    Caution *cautions;
    uint16_t caution_count;
    Form *forms;
    uint16_t form_count;
    VocabLimit *limits;
    uint16_t limit_count;
    Fit *fits;
    uint16_t fit_count;
    System units; /* of the shop; SYSTEM_NONE when not stated */
    struct NameTable *names;
} Vocab;

/* The built-in vocabulary with an optional shop.vocab over it. Faults in either are findings; the
 * result can be used only if `findings->errors` did not grow (the faulty blocks are left out).
 * Never NULL. vocab_free gives everything back. `shop` must outlive the vocabulary. */
Vocab *vocab_load(const Source *shop, Findings *findings);
void vocab_free(Vocab *v);
/* Of all the text it is made of and of the program's own format version: what was indexed under
 * another hash is stale. `shop` may be NULL. */
uint64_t vocab_hash(const Source *shop);

/* The longest declared name that `left` starts with (case and extra blanks do not matter; whole
 * words only); TAG_NONE when there is none. *rest gets what is left of it, trimmed. */
TagId vocab_match(const Vocab *v, Str left, Str *rest);
/* What was matched before: one log after another begins its lines with the same words. It belongs
 * to one thread, and is zeroed when it is new. */
enum { SEEN_BITS = 8, SEEN_SLOTS = 1 << SEEN_BITS, SEEN_TEXT = 27 };
typedef struct NamesSeen {
    const Vocab *by; /* a match in another vocabulary may be another */
    struct SeenName {
        char text[SEEN_TEXT];
        uint8_t n, rest_at, rest_n;
        TagId tag;
    } slots[SEEN_SLOTS]; /* by the text's hash; the newest stays */
} NamesSeen;
/* As vocab_match; `seen` may be NULL. */
TagId vocab_match_again(const Vocab *v, NamesSeen *seen, Str left, Str *rest);
/* Whether some declared name starts with this word. */
bool vocab_begins(const Vocab *v, Str word);
TagId vocab_find(const Vocab *v, Str name);     /* the whole of it */
ClassId vocab_class(const Vocab *v, Str name);  /* singular or plural */
const Fit *vocab_fit(const Vocab *v, Str name); /* NULL when none is called so */
/* " (did you mean ...?)" for an unknown name, or empty. */
Str vocab_near(const Vocab *v, Str typed, Arena *a);

extern const FindingKind vocab_kinds[];
extern const size_t vocab_kinds_count;

#endif
