/*
 * Formula text to nodes: recursive descent, binary operators by a table of precedence. Names are
 * looked up here, units and places are checked afterwards (formula_check.c).
 */
#include "vocab/formula_scan.h"

#include <math.h>

static Node *expression(Parser *ps);
static Node *product(Parser *ps);
static Node *primary(Parser *ps);

/* ---- nodes ------------------------------------------------------------------------------------
 */

/* The node's text reaches from there to what has been taken so far. */
static Node *node_ends(Parser *ps, Node *n, const char *from) {
    n->f.span = line_span(ps->source, str_trim((Str){from, (size_t)(ps->p - from)}));
    return n;
}

static Node *node_new(Parser *ps, FormulaKind kind, const char *from, Node *a, Node *b) {
    if (ps->failed) return NULL;
    if (++ps->nodes > FORMULA_NODES_MOST)
        return scan_fail(ps, K_DEEP, (Str){from, ps->p > from},
                         "more than %d parts; use helper tags", FORMULA_NODES_MOST);
    Node *n = arena_alloc(ps->v->arena, sizeof *n);
    n->f = (Formula){.kind = kind, .over = CLASS_NONE, .tag = TAG_NONE, .tag2 = TAG_NONE};
    n->a = a;
    n->b = b;
    return node_ends(ps, n, from);
}

static TagId take_name(Parser *ps) {
    Str words = words_here(ps), rest;
    TagId tag = words.n ? vocab_match(ps->v, words, &rest) : TAG_NONE;
    if (tag != TAG_NONE) {
        const char *q = rest.n ? rest.p : words.p + words.n;
        while (q > words.p && is_blank(q[-1]))
            q--;
        ps->p = q;
        return tag;
    }
    Str name = words_as_name(words);
    if (!words.n) {
        scan_fail(ps, K_SYNTAX, (Str){ps->p, ps->p < ps->end},
                  "a name or a number is missing here");
    } else if (!ps->failed) {
        Str near = vocab_near(ps->v, name, ps->findings->arena);
        scan_fail(ps, K_FORMULA_NAME, name, "no tag is called '%.*s'%.*s", STR_ARG(name),
                  STR_ARG(near));
    }
    return TAG_NONE;
}

static Node *tag_node(Parser *ps, FormulaKind kind, const char *from) {
    TagId tag = take_name(ps);
    Node *n = tag == TAG_NONE ? NULL : node_new(ps, kind, from, NULL, NULL);
    if (n) n->f.tag = tag;
    return n;
}

static Node *number_node(Parser *ps) {
    const char *from = ps->p;
    double value;
    if (!take_digits(ps, &value)) return NULL;
    Str text = unit_here(ps);
    Str word = word_here(ps);
    /* `in` behind a number is the inch; the other joints go on with the formula */
    bool joint = is_joint(word) && !str_ieq(word, STR("in"));
    const Unit *unit = NULL;
    if (text.n && !joint) {
        unit = take_unit(ps, text);
        if (!unit) return NULL;
    }
    Node *n = node_new(ps, F_NUMBER, from, NULL, NULL);
    if (!n) return NULL;
    n->f.unit = unit;
    n->f.dim = unit ? unit->dim : DIM_NUMBER;
    n->f.number = unit ? unit_to_si(unit, value) : value;
    return n;
}

/* ---- functions and aggregates -----------------------------------------------------------------
 */

typedef struct Function {
    Str name;
    FormulaKind kind;
    bool many; /* two or more operands */
} Function;

static const Function functions[] = {{WORD("sqrt"), F_SQRT, false}, {WORD("sin"), F_SIN, false},
                                     {WORD("cos"), F_COS, false},   {WORD("tan"), F_TAN, false},
                                     {WORD("asin"), F_ASIN, false}, {WORD("acos"), F_ACOS, false},
                                     {WORD("atan"), F_ATAN, false}, {WORD("abs"), F_ABS, false},
                                     {WORD("min"), F_MIN, true},    {WORD("max"), F_MAX, true}};

static const struct {
    Str name;
    Aggregate aggregate;
} aggregates[] = {{WORD("sum"), AGG_SUM},           {WORD("mean"), AGG_MEAN},
                  {WORD("spread"), AGG_SPREAD},     {WORD("largest"), AGG_LARGEST},
                  {WORD("smallest"), AGG_SMALLEST}, {WORD("count"), AGG_COUNT}};

static bool close_bracket(Parser *ps, Str open) {
    if (ps->failed || take_mark(ps, ')')) return !ps->failed;
    scan_fail(ps, K_SYNTAX, open, "this bracket is not closed where it should be");
    return false;
}

/* The word must be in the table and a bracket behind it; nothing is taken otherwise. */
static const Function *take_function(Parser *ps) {
    Str word = word_here(ps);
    const char *q = word.p + word.n;
    while (q < ps->end && is_blank(*q))
        q++;
    if (!word.n || q == ps->end || *q != '(') return NULL;
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        if (word_eq(word, functions[i].name)) {
            ps->p = q;
            return &functions[i];
        }
    return NULL;
}

static Node *function_node(Parser *ps, const Function *function, const char *from) {
    Str open = {ps->p, 1};
    take_mark(ps, '(');
    Node *first = expression(ps);
    Node *n = function->many ? first : node_new(ps, function->kind, from, first, NULL);
    unsigned count = 1;
    while (first && !ps->failed && function->many && take_mark(ps, ',')) {
        Node *next = expression(ps);
        n = node_new(ps, function->kind, from, n, next);
        count++;
    }
    if (!ps->failed && function->many && count < 2)
        return scan_fail(ps, K_SYNTAX, open, "%s needs two values with a comma between them",
                         function->name.p);
    return n && close_bracket(ps, open) ? node_ends(ps, n, from) : NULL;
}

/* `WORD of`; nothing is taken when it is something else. */
static bool take_of(Parser *ps, Str word) {
    const char *from = ps->p;
    if (take_word(ps, word) && take_word(ps, STR("of"))) return true;
    ps->p = from;
    return false;
}

static Str take_class(Parser *ps, ClassId *out) {
    Str words = words_here(ps);
    for (Str try = words; try.n;) {
        ClassId class = vocab_class(ps->v, try);
        if (class != CLASS_NONE) {
            ps->p = try.p + try.n;
            *out = class;
            return try;
        }
        while (try.n && !is_blank(try.p[try.n - 1]))
            try.n--;
        try = str_trim(try);
    }
    *out = CLASS_NONE;
    return words_as_name(words);
}

static Node *aggregate_node(Parser *ps, Aggregate aggregate, const char *from) {
    Node *operand = product(ps);
    Node *n = node_new(ps, F_AGGREGATE, from, operand, NULL);
    if (!n) return NULL;
    n->f.aggregate = aggregate;
    if (take_word(ps, STR("here"))) {
        n->f.here = true;
    } else if (take_word(ps, STR("over"))) {
        Str name = take_class(ps, &n->f.over);
        if (n->f.over == CLASS_NONE)
            return scan_fail(ps, K_FORMULA_PLACE, name, "no class is called '%.*s'", STR_ARG(name));
    }
    return node_ends(ps, n, from);
}

/* ---- references -------------------------------------------------------------------------------
 */

static Node *condition(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    if (!take_mark(ps, '-')) return primary(ps);
    Node *a = primary(ps);
    return a ? node_new(ps, F_NEGATE, from, a, NULL) : NULL;
}

static Node *spot_node(Parser *ps, Node *name, const char *from) {
    const Tag *tag = &ps->v->tags[name->f.tag];
    Str words = words_here(ps);
    size_t longest = 0;
    unsigned spot = 0;
    for (unsigned i = 0; i < tag->spot_count; i++) {
        Str s = tag->spots[i];
        bool whole = words.n == s.n || (words.n > s.n && is_blank(words.p[s.n]));
        if (whole && s.n > longest && str_ieq((Str){words.p, s.n}, s)) {
            longest = s.n;
            spot = i;
        }
    }
    if (!longest)
        return scan_fail(ps, K_CURVE, words, "'%.*s' has no spot of this name", STR_ARG(tag->name));
    if (name->f.kind != F_TAG)
        return scan_fail(ps, K_CURVE, words, "first, previous, read and aim go with no spot");
    ps->p = words.p + longest;
    Node *n = node_new(ps, F_SPOT, from, NULL, NULL);
    if (n) {
        n->f.tag = name->f.tag;
        n->f.number = spot;
    }
    return n;
}

/* `NAME when OTHER read`, `NAME lost to OTHER`. */
static Node *pair_node(Parser *ps, FormulaKind kind, Node *name, const char *from) {
    if (kind == F_LOST && !take_word(ps, STR("to")))
        return scan_fail(ps, K_SYNTAX, word_here(ps), "'lost' needs 'to' and a name behind it");
    TagId tag2 = take_name(ps);
    if (tag2 == TAG_NONE) return NULL;
    if (kind == F_WHEN && !take_word(ps, STR("read")))
        return scan_fail(ps, K_SYNTAX, word_here(ps), "'when NAME' needs 'read' behind it");
    Node *n = node_new(ps, kind, from, NULL, NULL);
    if (n) {
        n->f.tag = name->f.tag;
        n->f.tag2 = tag2;
    }
    return n;
}

/* What may stand behind a name: `at`, `when ... read`, `lost to`, `while fitted`. */
static Node *name_tail(Parser *ps, Node *name, const char *from) {
    if (take_word(ps, STR("at"))) {
        if (ps->v->tags[name->f.tag].spot_count) return spot_node(ps, name, from);
        Node *b = condition(ps);
        return b ? node_new(ps, F_AT, from, name, b) : NULL;
    }
    if (name->f.kind != F_TAG) return name;
    if (take_word(ps, STR("when"))) return pair_node(ps, F_WHEN, name, from);
    if (take_word(ps, STR("lost"))) return pair_node(ps, F_LOST, name, from);
    if (!take_word(ps, STR("while"))) return name;
    if (!take_word(ps, STR("fitted")))
        return scan_fail(ps, K_SYNTAX, word_here(ps), "'while' needs 'fitted' behind it");
    Node *n = node_new(ps, F_FITTED, from, NULL, NULL);
    if (n) n->f.tag = name->f.tag;
    return n;
}

static Node *curve_node(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    FormulaKind kind = take_word(ps, STR("first"))      ? F_FIRST
                       : take_word(ps, STR("previous")) ? F_PREVIOUS
                                                        : F_TAG;
    return tag_node(ps, kind, from);
}

/* `OVER where CURVE = value`. OVER must be what that curve runs over. */
static Node *where_node(Parser *ps, Str over, const char *from) {
    ps->p = over.p + over.n;
    take_word(ps, STR("where"));
    Node *curve = curve_node(ps);
    if (!curve) return NULL;
    const Tag *tag = &ps->v->tags[curve->f.tag];
    if (!tag->has_curve)
        return scan_fail(ps, K_CURVE, source_slice(ps->source, curve->f.span), "'%.*s' is no curve",
                         STR_ARG(tag->name));
    if (!str_ieq(tag->over_name, over))
        return scan_fail(ps, K_CURVE, over, "'%.*s' runs over '%.*s'", STR_ARG(tag->name),
                         STR_ARG(tag->over_name));
    if (!take_mark(ps, '='))
        return scan_fail(ps, K_SYNTAX, word_here(ps), "'where' needs '=' and a value");
    Node *b = condition(ps);
    return b ? node_new(ps, F_WHERE, from, curve, b) : NULL;
}

/* The words before `where`, when the next joint is that: nothing else is written so. */
static Str where_over(Parser *ps) {
    if (!ps->has_where) return (Str){0};
    Str words = words_here(ps);
    Str over = words_as_name(words);
    Str rest = str_skip(words, over.n);
    return str_ieq(str_word(&rest), STR("where")) ? over : (Str){0};
}

static Node *reference(Parser *ps, const char *from) {
    static const struct {
        Str word;
        FormulaKind kind;
    } prefixes[] = {{WORD("first"), F_FIRST},
                    {WORD("previous"), F_PREVIOUS},
                    {WORD("read"), F_READ},
                    {WORD("aim"), F_AIM}};
    Str over = where_over(ps);
    if (over.n) return where_node(ps, over, from);
    FormulaKind kind = F_TAG;
    for (size_t i = 0; i < sizeof prefixes / sizeof *prefixes && kind == F_TAG; i++)
        if (take_word(ps, prefixes[i].word)) kind = prefixes[i].kind;
    Node *name = tag_node(ps, kind, from);
    return name ? name_tail(ps, name, from) : NULL;
}

/* ---- the levels of the grammar ----------------------------------------------------------------
 */

static Node *pi_node(Parser *ps, const char *from) {
    Node *n = node_new(ps, F_NUMBER, from, NULL, NULL);
    if (n) n->f.number = M_PI;
    return n;
}

static Node *bracket(Parser *ps) {
    Str open = {ps->p, 1};
    take_mark(ps, '(');
    Node *n = expression(ps);
    return n && close_bracket(ps, open) ? n : NULL;
}

static Node *primary_here(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    if (from == ps->end)
        return scan_fail(ps, K_SYNTAX, (Str){0}, "the formula ends where a value should stand");
    if (*from == '(') return bracket(ps);
    if (is_digit(*from) || *from == '.') return number_node(ps);
    if (!is_word_start(*from))
        return scan_fail(ps, K_SYNTAX, (Str){from, 1}, "a value should stand here");
    const Function *function = take_function(ps);
    if (function) return function_node(ps, function, from);
    if (take_word(ps, STR("pi"))) return pi_node(ps, from);
    for (size_t i = 0; i < sizeof aggregates / sizeof *aggregates; i++)
        if (take_of(ps, aggregates[i].name))
            return aggregate_node(ps, aggregates[i].aggregate, from);
    if (take_of(ps, STR("slope"))) {
        Node *curve = curve_node(ps);
        return curve ? node_new(ps, F_SLOPE, from, curve, NULL) : NULL;
    }
    return reference(ps, from);
}

static Node *primary(Parser *ps) {
    if (!scan_enter(ps)) return NULL;
    Node *n = primary_here(ps);
    ps->depth--;
    return n;
}

static Node *postfix(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    Node *a = primary(ps);
    if (!a || !take_word(ps, STR("in"))) return a;
    Str text = unit_here(ps);
    if (!text.n) return scan_fail(ps, K_SYNTAX, text, "'in' needs a unit behind it");
    ps->p = text.p + text.n;
    return node_new(ps, F_IN, from, a, NULL); /* which unit it is depends on the operand */
}

/* `2`, `-2`, `.5`, `(1 / 3)`, `(-1 / 2)`. */
static bool exponent(Parser *ps, double *out) {
    skip_blanks(ps);
    Str open = {ps->p, 1};
    bool in_bracket = take_mark(ps, '(');
    bool negative = take_mark(ps, '-');
    skip_blanks(ps);
    double under = 1;
    if (ps->p == ps->end || !(is_digit(*ps->p) || *ps->p == '.')) {
        scan_fail(ps, K_SYNTAX, (Str){ps->p, ps->p < ps->end},
                  "an exponent is a number or a fraction in brackets, as ^ 2 or ^ (1 / 2)");
        return false;
    }
    if (!take_digits(ps, out)) return false;
    if (in_bracket && take_mark(ps, '/')) {
        skip_blanks(ps);
        if (!take_digits(ps, &under)) return false;
    }
    if (in_bracket && !close_bracket(ps, open)) return false;
    if (!(under > 0)) {
        scan_fail(ps, K_SYNTAX, open, "this exponent divides by 0");
        return false;
    }
    *out = (negative ? -*out : *out) / under;
    return true;
}

static Node *power(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    Node *a = postfix(ps);
    if (!a || !take_mark(ps, '^')) return a;
    double number;
    if (!exponent(ps, &number)) return NULL;
    if (take_mark(ps, '^'))
        return scan_fail(ps, K_SYNTAX, (Str){ps->p - 1, 1}, "a power of a power needs brackets");
    Node *n = node_new(ps, F_POWER, from, a, NULL);
    if (n) n->f.number = number;
    return n;
}

/* The minus binds looser than the power: -a ^ 2 is -(a ^ 2), as in algebra. */
static Node *unary(Parser *ps) {
    skip_blanks(ps);
    const char *from = ps->p;
    if (!take_mark(ps, '-')) return power(ps);
    Node *a = scan_enter(ps) ? unary(ps) : NULL;
    ps->depth--;
    return a ? node_new(ps, F_NEGATE, from, a, NULL) : NULL;
}

enum { LEVEL_SUM, LEVEL_PRODUCT, LEVEL_UNARY };

static const struct {
    char mark;
    int level;
    FormulaKind kind;
} operators[] = {{'+', LEVEL_SUM, F_ADD},
                 {'-', LEVEL_SUM, F_SUBTRACT},
                 {'*', LEVEL_PRODUCT, F_MULTIPLY},
                 {'/', LEVEL_PRODUCT, F_DIVIDE}};

static bool take_operator(Parser *ps, int level, FormulaKind *kind) {
    for (size_t i = 0; i < sizeof operators / sizeof *operators; i++)
        if (operators[i].level == level && take_mark(ps, operators[i].mark)) {
            *kind = operators[i].kind;
            return true;
        }
    return false;
}

static Node *binary(Parser *ps, int level) {
    if (level == LEVEL_UNARY) return unary(ps);
    skip_blanks(ps);
    const char *from = ps->p;
    Node *a = binary(ps, level + 1);
    FormulaKind kind;
    while (a && take_operator(ps, level, &kind)) {
        Node *b = binary(ps, level + 1);
        a = b ? node_new(ps, kind, from, a, b) : NULL;
    }
    return a;
}

static Node *product(Parser *ps) {
    return binary(ps, LEVEL_PRODUCT);
}

static Node *expression(Parser *ps) {
    if (!scan_enter(ps)) return NULL;
    skip_blanks(ps);
    const char *from = ps->p;
    Node *a = binary(ps, LEVEL_SUM);
    if (a && take_word(ps, STR("else"))) {
        Node *b = expression(ps);
        a = b ? node_new(ps, F_ELSE, from, a, b) : NULL;
    }
    ps->depth--;
    return a;
}

static Node *whole(Parser *ps, Str text) {
    if (!text.n) return scan_fail(ps, K_SYNTAX, (Str){0}, "the formula is empty");
    Node *root = expression(ps);
    skip_blanks(ps);
    if (!root || ps->p == ps->end) return root;
    Str left = words_as_name(words_here(ps));
    if (!left.n) left = (Str){ps->p, 1};
    return scan_fail(ps, K_SYNTAX, left,
                     "'%.*s' is left over; an operator may be missing before it", STR_ARG(left));
}

const Formula *formula_parse(Vocab *v, const Source *source, Str text, ClassId of, bool check_dim,
                             Dim want, Findings *findings) {
    text = str_trim(text);
    Parser ps = {.v = v,
                 .source = source,
                 .findings = findings,
                 .p = text.p,
                 .end = text.p + text.n,
                 .has_where = str_find(text, STR("where"), 0) != SIZE_MAX};
    Node *root = whole(&ps, text);
    if (!root || ps.failed || !formula_check(v, source, root, of, findings)) return NULL;
    if (check_dim && root->f.dim != want) {
        vocab_fault(findings, K_FORMULA_UNIT, source, text, "this gives %s, and %s is wanted",
                    dim_words(root->f.dim), dim_words(want));
        return NULL;
    }
    return &root->f;
}
