/*
 * Formulas: parsed from the vocabulary's text, checked for units and places when it is loaded.
 *
 *   expression := sum [ `else` expression ]
 *   sum        := product { (`+`|`-`) product }
 *   product    := unary { (`*`|`/`) unary }
 *   unary      := [`-`] power                        -a ^ 2 is -(a ^ 2)
 *   power      := postfix [ `^` EXPONENT ]           2, -2, .5, (1 / 3)
 *   postfix    := primary [ `in` UNIT ]              a plain number of that unit
 *   primary    := NUMBER [UNIT] | `(` expression `)` | FUNCTION `(` expression {`,` expression} `)`
 *               | `pi`
 *               | AGGREGATE `of` product [ `over` CLASS | `here` ]
 *               | `slope of` CURVE | `height where`-form below | reference
 *   reference  := [`first`|`previous`|`read`|`aim`] NAME [ `at` (SPOT | condition) ]
 *               | NAME `when` NAME `read`              value NAME had when the second was last read
 *               | NAME `lost to` WORK                  before that work less after it, by it alone
 *               | NAME `while fitted`                  grown by while the item was fitted
 *               | OVER `where` CURVE `=` unary         the inverse: height where spring load = aim
 *
 * UNIT is one word without blanks (lbf/in, in^3). A fraction of numbers has blanks around its `/`.
 * Functions: sqrt sin cos tan asin acos atan abs min max. NAME is the longest declared name.
 * Context: a formula of a tag `of` class C is evaluated on C. A name of another class resolves on
 * what sits there, the place an item sits at, or up the places; anything else must be aggregated.
 */
#ifndef THOU_VOCAB_FORMULA_H
#define THOU_VOCAB_FORMULA_H

#include "vocab/vocab.h"

enum {
    FORMULA_DEPTH_MOST = 64,  /* brackets, operands of operands */
    FORMULA_NODES_MOST = 500, /* names, numbers and operators of one formula */
};

typedef enum FormulaKind {
    F_NUMBER,   /* number (SI) */
    F_TAG,      /* tag, resolved from the context; a curve only as child of the kinds below */
    F_FIRST,    /* first NAME: the earliest reading of the same thing, in this log or the book */
    F_PREVIOUS, /* previous NAME: the state before the last entry that read it */
    F_READ,     /* read NAME: its last good reading, though something set it aside */
    F_WHEN,     /* tag when tag2 read */
    F_LOST,     /* tag lost to tag2, a reading that stands for work: compute/lost.h */
    F_FITTED,   /* NAME while fitted; context is an item class */
    F_AIM,      /* aim NAME */
    F_SPOT,     /* NAME at SPOT; number is the spot's index */
    F_AT,       /* a: curve reference (F_TAG, F_FIRST, F_PREVIOUS of a curve tag), b: condition */
    F_SLOPE,    /* a: curve reference; rise over run between its ends */
    F_WHERE,    /* a: curve reference, b: value; the condition at which it has it */
    F_NEGATE,
    F_ADD,
    F_SUBTRACT,
    F_MULTIPLY,
    F_DIVIDE,
    F_POWER, /* a ^ number */
    F_SQRT,
    F_SIN,
    F_COS,
    F_TAN,
    F_ASIN,
    F_ACOS,
    F_ATAN,
    F_ABS,
    F_MIN,
    F_MAX,       /* a, b (more are nested) */
    F_AGGREGATE, /* aggregate of a, evaluated on class `over`; here: only those at the subject */
    F_IN,        /* a in UNIT: plain number */
    F_ELSE,      /* a, or b where a is missing */
} FormulaKind;

struct Formula {
    FormulaKind kind;
    Dim dim;
    ClassId context; /* class it is evaluated on */
    ClassId over;    /* F_AGGREGATE: class of the members */
    bool here;
    Aggregate aggregate;
    TagId tag, tag2;
    double number;
    const Unit *unit; /* F_IN, F_NUMBER as written (or NULL) */
    const Formula *a, *b;
    Span span; /* in its source, for findings and `why` */
};

/* Parses and checks one formula of a tag (or rule) on class `of`. NULL and a finding on a fault.
 * want: the dimension it must have; check_dim false when the tag has none yet. */
const Formula *formula_parse(Vocab *v, const Source *source, Str text, ClassId of, bool check_dim,
                             Dim want, Findings *findings);
/* Every tag the formula reads as computed-or-measured (F_READ, F_FIRST... do not count): for
 * cycles. */
void formula_inputs(const Formula *f, void (*visit)(void *ctx, TagId tag), void *ctx);

/* Whether a name of class `to` can be reached from a subject of class `from` without an aggregate.
 */
bool class_reaches(const Vocab *v, ClassId from, ClassId to);
/* Whether places of class `below` lie on (or items of it sit at) places of class `above`. */
bool class_under(const Vocab *v, ClassId below, ClassId above);

#endif
