/* Formulas: how they group, which units and places they refuse, rings, limits, and ranges. */
#include "vocab_case.h"

#include "base/buf.h"
#include <math.h>

static const char base[] = "place = cylinder\n count = cylinders\n"
                           "place = valve\n on = cylinder\n each = 2\n letters = I E\n"
                           "place = rod\n on = cylinder\n each = 1\n letters = R\n"
                           "place = rod bolt\n on = rod\n each = 2\n suffix = yes\n"
                           "place = bank\n names = cylinder\n"
                           "place = head\n carries = cylinder\n"
                           "item = spring\n sits at = valve\n slots = outer inner\n"
                           "item = piston\n sits at = cylinder\n"
                           "quantity = cylinders\n unit = number\n"
                           "quantity = hours\n unit = h\n"
                           "quantity = spring load\n of = spring\n unit = lbf\n"
                           "  over = height in in\n"
                           "quantity = bind height\n of = spring\n unit = in\n"
                           "quantity = installed height\n of = valve\n unit = in\n"
                           "quantity = lift\n of = valve\n unit = in\n"
                           "quantity = seat load\n of = valve\n unit = lbf\n"
                           "quantity = bore\n of = cylinder\n unit = in\n"
                           "  spots = top thrust, top, low\n uses = mean\n"
                           "quantity = skirt\n of = piston\n unit = in\n spots = high, low\n"
                           "quantity = chamber volume\n of = cylinder\n unit = cc\n"
                           "quantity = head cut\n of = head\n unit = in\n"
                           "quantity = bank angle\n of = bank\n unit = deg\n"
                           "quantity = wire price\n of = spring set\n unit = number\n"
                           "quantity = bolt stretch\n of = rod bolt\n unit = in\n"
                           "quantity = shop temperature\n unit = degC\n"
                           "fact = shape\n kind = choice\n choices = flat 1, V 2\n"
                           "fact = stage\n";

typedef struct Row {
    const char *of, *formula, *code, *at; /* code "": it must be right, and `at` is its grouping */
} Row;

/* ---- how a formula was understood, with every bracket written
 * ------------------------------------ */

static void write_formula(const Vocab *v, const Formula *f, Buf *out);

static void write_two(const Vocab *v, const Formula *f, const char *sign, Buf *out) {
    buf_putc(out, '(');
    write_formula(v, f->a, out);
    buf_printf(out, " %s ", sign);
    write_formula(v, f->b, out);
    buf_putc(out, ')');
}

static void write_tag(const Vocab *v, const char *before, TagId tag, Buf *out) {
    buf_printf(out, "%s[%.*s]", before, STR_ARG(v->tags[tag].name));
}

static const char *const two[] = {
    [F_AT] = "at",    [F_WHERE] = "has", [F_ADD] = "+",   [F_SUBTRACT] = "-", [F_MULTIPLY] = "*",
    [F_DIVIDE] = "/", [F_MIN] = "min",   [F_MAX] = "max", [F_ELSE] = "else",
};
static const char *const one[] = {
    [F_SLOPE] = "slope", [F_NEGATE] = "-",  [F_SQRT] = "sqrt", [F_SIN] = "sin",   [F_COS] = "cos",
    [F_TAN] = "tan",     [F_ASIN] = "asin", [F_ACOS] = "acos", [F_ATAN] = "atan", [F_ABS] = "abs",
};
static const char *const names[] = {
    [F_TAG] = "",      [F_FIRST] = "first",   [F_PREVIOUS] = "previous",
    [F_READ] = "read", [F_FITTED] = "fitted", [F_AIM] = "aim",
};
#define LOOK(table, kind) ((size_t)(kind) < sizeof(table) / sizeof *(table) ? (table)[kind] : NULL)

static void write_other(const Vocab *v, const Formula *f, Buf *out) {
    static const char *const aggregates[] = {"sum",     "mean",     "spread",
                                             "largest", "smallest", "count"};
    switch (f->kind) {
    case F_NUMBER: buf_double(out, f->number); break;
    case F_SPOT:
        write_tag(v, "", f->tag, out);
        buf_printf(out, "#%.0f", f->number);
        break;
    case F_WHEN:
    case F_LOST:
        write_tag(v, "", f->tag, out);
        write_tag(v, f->kind == F_WHEN ? " when " : " lost to ", f->tag2, out);
        break;
    case F_POWER:
    case F_IN:
        buf_putc(out, '(');
        write_formula(v, f->a, out);
        if (f->kind == F_IN)
            buf_printf(out, " in %s)", f->unit->name);
        else
            buf_printf(out, " ^ %.4g)", f->number);
        break;
    case F_AGGREGATE:
        buf_printf(out, "%s{", aggregates[f->aggregate]);
        write_formula(v, f->a, out);
        buf_printf(out, "}%.*s%s", STR_ARG(v->classes[f->over].name), f->here ? " here" : "");
        break;
    default: buf_puts(out, "?"); break;
    }
}

static void write_formula(const Vocab *v, const Formula *f, Buf *out) {
    if (LOOK(two, f->kind)) {
        write_two(v, f, two[f->kind], out);
    } else if (LOOK(one, f->kind)) {
        buf_printf(out, "%s(", one[f->kind]);
        write_formula(v, f->a, out);
        buf_putc(out, ')');
    } else if (LOOK(names, f->kind)) {
        write_tag(v, names[f->kind], f->tag, out);
    } else {
        write_other(v, f, out);
    }
}

/* Parses one formula on a class against the base vocabulary. */
static const Formula *parse_row(Loaded *l, Source *source, const Row *row) {
    *source = source_of("formula", str_from(row->formula));
    ClassId of = vocab_class(l->v, str_from(row->of));
    assert_int_not_equal(of, CLASS_NONE);
    return formula_parse(l->v, source, source->text, of, false, 0, &l->findings);
}

static bool row_right(const Row *row) {
    Loaded *l = load_two(str_from(base), (Str){0});
    Source source;
    bool right = expect(l, "base", "", NULL);
    const Formula *f = parse_row(l, &source, row);
    right = right && expect(l, row->formula, row->code, *row->code ? row->at : NULL) &&
            (f != NULL) == !*row->code;
    Buf got = {0};
    if (right && f) write_formula(l->v, f, &got);
    if (right && f && row->at && !str_eq(buf_str(&got), str_from(row->at))) {
        print_message("%s: read as %.*s\n", row->formula, STR_ARG(buf_str(&got)));
        right = false;
    }
    buf_release(&got);
    unload(l);
    return right;
}

static void rows_right(const Row *rows, size_t count) {
    unsigned wrong = 0;
    for (size_t i = 0; i < count; i++)
        wrong += !row_right(&rows[i]);
    assert_int_equal(wrong, 0);
}
#define ROWS(rows) rows_right(rows, sizeof(rows) / sizeof *(rows))

static void grouping(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "lift + lift * 2", "", "([lift] + ([lift] * 2))"},
        {"valve", "lift - lift - lift", "", "(([lift] - [lift]) - [lift])"},
        {"valve", "lift / 2 / 2", "", "(([lift] / 2) / 2)"},
        {"valve", "(lift - lift) * 2", "", "(([lift] - [lift]) * 2)"},
        {"valve", "-lift ^ 2", "", "-(([lift] ^ 2))"},
        {"valve", "(-lift) ^ 2", "", "(-([lift]) ^ 2)"},
        {"valve", "- -lift", "", "-(-([lift]))"},
        {"valve", "2 * -lift", "", "(2 * -([lift]))"},
        {"valve", "lift ^ 2 * lift", "", "(([lift] ^ 2) * [lift])"},
        {"valve", "lift ^ -2", "", "([lift] ^ -2)"},
        {"valve", "(lift * lift) ^ (1 / 2)", "", "(([lift] * [lift]) ^ 0.5)"},
        {"valve", "lift else lift else 0 in", "", "([lift] else ([lift] else 0))"},
        {"valve", "lift + lift else lift", "", "(([lift] + [lift]) else [lift])"},
        {"valve", "(lift else 0 in) + lift", "", "(([lift] else 0) + [lift])"},
        {"valve", "lift+lift", "", "([lift] + [lift])"},
        {"valve", "LIFT  *  Installed   Height", "", "([lift] * [installed height])"},
        {"valve", "1 in in in", "", "(0.0254 in in)"},
        {"valve", "lift in in + 1", "", "(([lift] in in) + 1)"},
        {"valve", "lift * lift in in", "", "([lift] * ([lift] in in))"},
        {"valve", "min(lift, 1 in, 2 in)", "", "(([lift] min 0.0254) min 0.0508)"},
        {"valve", "max(lift, -lift)", "", "([lift] max -([lift]))"},
        {"valve", "abs (lift - 1 in)", "", "abs(([lift] - 0.0254))"},
        {"valve", "sqrt(lift * lift)", "", "sqrt(([lift] * [lift]))"},
        {"engine", "sin(30 deg) + pi", "", NULL},
        {"engine", "asin(.5) + 1 rad", "", "(asin(0.5) + 1)"},
        {"valve", "spring load at installed height - seat load", "",
         "(([spring load] at [installed height]) - [seat load])"},
        {"valve", "spring load at (installed height - lift)", "",
         "([spring load] at ([installed height] - [lift]))"},
        {"valve", "spring load at 1.7 in in lbf", "", NULL},
        {"valve", "first spring load at lift", "", "(first[spring load] at [lift])"},
        {"valve", "previous spring load at lift", "", "(previous[spring load] at [lift])"},
        {"spring", "slope of spring load", "", "slope([spring load])"},
        {"spring", "slope of first spring load", "", "slope(first[spring load])"},
        {"valve", "lift - height where spring load = aim seat load", "",
         "([lift] - ([spring load] has aim[seat load]))"},
        {"valve", "(height where spring load = 95 lbf) / 2", "", NULL},
        {"valve", "read lift - previous lift", "", "(read[lift] - previous[lift])"},
        {"valve", "lift when installed height read", "", "[lift] when [installed height]"},
        {"valve", "lift when stage read else 0 in", "", "([lift] when [stage] else 0)"},
        {"valve", "lift lost to installed height", "", "[lift] lost to [installed height]"},
        {"valve", "lift lost to stage else 0 in", "", "([lift] lost to [stage] else 0)"},
        {"spring", "hours while fitted", "", "fitted[hours]"},
        {"cylinder", "bore", "", "[bore]"},
        {"cylinder", "bore at top thrust - bore at top", "", "([bore]#0 - [bore]#1)"},
        {"engine", "mean of chamber volume", "", "mean{[chamber volume]}cylinder"},
        {"engine", "mean of chamber volume * 2", "", "mean{([chamber volume] * 2)}cylinder"},
        {"engine", "mean of chamber volume - 1 cc", "", "(mean{[chamber volume]}cylinder - 1e-06)"},
        {"engine", "largest of lift over valves else 0 in", "", "(largest{[lift]}valve else 0)"},
        {"engine", "sum of seat load over valve + 1 lbf", "", NULL},
        {"engine", "count of lift", "", "count{[lift]}valve"},
        {"valve", "sum of spring load at installed height here", "",
         "sum{([spring load] at [installed height])}spring here"},
        {"engine", "shape * 2", "", "([shape] * 2)"},
        {"engine", "1 / 2", "", "(1 / 2)"},
        {"engine", ".5", "", "0.5"},
        {"engine", "2 ^ 1.37", "", "(2 ^ 1.37)"},
        {"engine", "shop temperature in degC", "", "([shop temperature] in degC)"},
        {"engine", "25 degC", "", "298.15"},
    };
    ROWS(rows);
}

static void syntax(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "", "formula-syntax", NULL},
        {"valve", "lift +", "formula-syntax", "+"},
        {"valve", "+ lift", "formula-syntax", "+"},
        {"valve", "lift lift", "formula-syntax", "lift"},
        {"valve", "2 lift", "formula-unit", "lift"},
        {"valve", "(lift", "formula-syntax", "("},
        {"valve", "lift)", "formula-syntax", ")"},
        {"valve", "()", "formula-syntax", ")"},
        {"valve", "lift $ 2", "formula-syntax", "$"},
        {"valve", "lift ^ lift", "formula-syntax", "l"},
        {"valve", "lift ^ 2 ^ 3", "formula-syntax", "^"},
        {"valve", "lift ^ 1/2", "formula-syntax", "1"},
        {"valve", "lift ^ (1 / 0)", "formula-syntax", "("},
        {"engine", "1/2", "formula-syntax", "1"},
        {"engine", "1-1/2", "formula-syntax", "1"},
        {"engine", "1.2.3", "formula-syntax", "1.2.3"},
        {"engine", "1e3", "formula-unit", "e3"},
        {"engine", "1234567890123456789", "formula-syntax", NULL},
        {"engine", "1 in mm", "formula-syntax", "mm"},
        {"valve", "min(lift)", "formula-syntax", "("},
        {"valve", "min(lift, )", "formula-syntax", ")"},
        {"valve", "sqrt lift", "formula-name", "sqrt lift"},
        {"valve", "lift in", "formula-syntax", NULL},
        {"valve", "lift when installed height", "formula-syntax", NULL},
        {"spring", "hours while", "formula-syntax", NULL},
        {"valve", "height where spring load", "formula-syntax", NULL},
        {"valve", "lift else", "formula-syntax", NULL},
        {"engine", "mean of", "formula-syntax", NULL},
    };
    ROWS(rows);
}

static void names_unknown(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "instaled height - lift", "formula-name", "instaled height"},
        {"valve", "sprung load at lift", "formula-name", "sprung load"},
        {"valve", "lift - first lifd", "formula-name", "lifd"},
        {"valve", "lift when lifd read", "formula-name", "lifd"},
        {"valve", "lift lost to lifd", "formula-name", "lifd"},
        {"valve", "lift lost installed height", "formula-syntax", "installed"},
        {"engine", "mean of lifd", "formula-name", "lifd"},
        {"engine", "mean of lift over valvs", "formula-place", "valvs"},
        {"valve", "1 furlong", "formula-unit", "furlong"},
        {"valve", "lift in lbf", "formula-unit", "lbf"},
        {"valve", "1 lb * lift", "formula-unit", "lb"},
        {"valve", "1 tenth", "formula-unit", "tenth"},
    };
    ROWS(rows);
    Loaded *l = load_two(str_from(base), (Str){0});
    Source source;
    parse_row(l, &source, &rows[0]);
    assert_true(str_find(l->findings.items[0].message, STR("'installed height'"), 0) != SIZE_MAX);
    unload(l);
}

/* Each operator and function with the same unit, another unit, and where it is refused. */
static void units(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "lift + 1 mm", "", NULL},
        {"valve", "lift + seat load", "formula-unit", "lift + seat load"},
        {"valve", "lift - 1", "formula-unit", "lift - 1"},
        {"valve", "lift - seat load", "formula-unit", "lift - seat load"},
        {"valve", "lift * seat load", "", NULL},
        {"valve", "lift / seat load", "", NULL},
        {"valve", "lift / lift + 1", "", NULL},
        {"valve", "lift else seat load", "formula-unit", "lift else seat load"},
        {"valve", "min(lift, seat load)", "formula-unit", "min(lift, seat load)"},
        {"valve", "max(lift, 1)", "formula-unit", "max(lift, 1)"},
        {"valve", "sqrt(lift)", "", NULL}, /* half a length is still a whole half exponent */
        {"valve", "sqrt(sqrt(lift))", "formula-unit", "sqrt(sqrt(lift))"},
        {"valve", "lift ^ .5", "", NULL},
        {"valve", "lift ^ .3", "formula-unit", "lift ^ .3"},
        {"valve", "lift ^ 100", "formula-unit", "lift ^ 100"},
        {"valve", "sin(lift)", "formula-unit", "lift"},
        {"engine", "sin(1)", "formula-unit", "1"},
        {"engine", "cos(1 deg)", "", NULL},
        {"engine", "tan(1 rad)", "", NULL},
        {"engine", "asin(1 deg)", "formula-unit", "1 deg"},
        {"engine", "acos(1)", "", NULL},
        {"engine", "atan(1) + 1", "formula-unit", "atan(1) + 1"},
        {"valve", "abs(lift) + 1", "formula-unit", "abs(lift) + 1"},
        {"valve", "-lift + 1", "formula-unit", "-lift + 1"},
        {"engine", "1 rpm + 1 Hz", "formula-unit", "1 rpm + 1 Hz"}, /* angle is a dimension */
        {"valve", "spring load at seat load", "formula-unit", "seat load"},
        {"valve", "spring load at 1.7", "formula-unit", "1.7"},
        {"valve", "height where spring load = lift", "formula-unit", "lift"},
        {"valve", "height where spring load = 95 lbf + lift", "", NULL},
        {"spring", "slope of spring load + 1 lbf", "formula-unit", NULL},
        {"spring", "slope of spring load + 1 lbf/in", "", NULL},
        {"engine", "count of lift + 1", "", NULL},
        {"engine", "mean of lift + 1", "formula-unit", NULL},
        {"valve", "lift ^ 15 * lift ^ 15 * lift ^ 15 * lift ^ 15 / lift ^ 15 / lift ^ 15", "",
         NULL}, /* no more than a dimension holds on the way, and then more */
        {"valve", "lift ^ 15 * lift ^ 15 * lift ^ 15 * lift ^ 15 * lift ^ 4 / lift ^ 15",
         "formula-unit", "lift ^ 15 * lift ^ 15 * lift ^ 15 * lift ^ 15 * lift ^ 4"},
        {"valve", "1 / lift ^ 15 / lift ^ 15 / lift ^ 15 / lift ^ 15 / lift ^ 15", "formula-unit",
         "1 / lift ^ 15 / lift ^ 15 / lift ^ 15 / lift ^ 15 / lift ^ 15"},
    };
    ROWS(rows);
}

static void places(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "bind height", "", NULL},       /* what sits there */
        {"spring", "installed height", "", NULL}, /* where it sits */
        {"spring", "chamber volume", "", NULL},   /* and up the places */
        {"valve", "chamber volume", "", NULL},
        {"valve", "hours", "", NULL},
        {"cylinder", "head cut", "", NULL}, /* the head that carries it */
        {"valve", "head cut", "", NULL},
        {"valve", "cos(bank angle)", "", NULL},
        {"spring", "wire price", "", NULL}, /* its set */
        {"valve", "wire price", "", NULL},
        {"rod bolt", "chamber volume", "", NULL},
        {"cylinder", "lift", "formula-place", "lift"},
        {"engine", "lift", "formula-place", "lift"},
        {"bank", "chamber volume", "formula-place", "chamber volume"},
        {"cylinder", "bolt stretch", "formula-place", "bolt stretch"},
        {"valve", "bolt stretch", "formula-place", "bolt stretch"},
        {"cylinder", "bind height", "formula-place", "bind height"},
        {"spring set", "bind height", "formula-place", "bind height"},
        {"spring set", "mean of bind height", "", "mean{[bind height]}spring"},
        {"cylinder", "mean of bolt stretch", "", "mean{[bolt stretch]}rod bolt"},
        {"bank", "spread of chamber volume", "", "spread{[chamber volume]}cylinder"},
        {"head", "largest of lift", "", "largest{[lift]}valve"},
        {"cylinder", "sum of bind height", "", "sum{[bind height]}spring"},
        {"engine", "mean of (lift - chamber volume / chamber volume * 1 in)", "", NULL},
        {"valve", "mean of lift", "formula-place", "mean of lift"},
        {"valve", "mean of chamber volume", "formula-place", "mean of chamber volume"},
        {"valve", "mean of 1 in over cylinder", "formula-place", "mean of 1 in over cylinder"},
        {"engine", "mean of 1", "formula-place", "mean of 1"},
        {"engine", "sum of bolt stretch * lift", "formula-place", "lift"}, /* no common place */
        {"engine", "sum of lift over cylinder", "formula-place", "lift"},
        {"engine", "sum of (mean of lift) over cylinder", "", "sum{mean{[lift]}valve}cylinder"},
        {"cylinder", "sum of bind height here", "formula-place", "sum of bind height here"},
        {"valve", "smallest of bind height here", "", NULL},
        {"valve", "hours while fitted", "formula-place", "hours while fitted"},
        {"piston", "hours while fitted", "", NULL},
    };
    ROWS(rows);
}

static void curves_and_spots(void **state) {
    (void)state;
    static const Row rows[] = {
        {"valve", "spring load", "formula-curve", "spring load"},
        {"valve", "first spring load", "formula-curve", "first spring load"},
        {"valve", "read spring load at lift", "formula-curve", "read spring load"},
        {"valve", "lift at 1 in", "formula-curve", "lift"},
        {"valve", "slope of lift", "formula-curve", "lift"},
        {"valve", "height where lift = 1 in", "formula-curve", "lift"},
        {"valve", "lift where spring load = 1 lbf", "formula-curve", "lift"},
        {"valve", "spring load lost to stage", "formula-curve", "spring load lost to stage"},
        {"cylinder", "bore lost to stage", "formula-curve", "bore lost to stage"},
        {"cylinder", "bore at middle", "formula-curve", "middle"},
        {"cylinder", "first bore at top", "formula-curve", "top"},
        {"piston", "skirt", "formula-curve", "skirt"},
        {"piston", "skirt at low", "", NULL},
        {"engine", "stage", "formula-curve", "stage"},
        {"valve", "spring", "formula-curve", "spring"},
    };
    ROWS(rows);
}

static void reaching(void **state) {
    (void)state;
    Loaded *l = load_two(str_from(base), (Str){0});
    const Vocab *v = l->v;
    const ClassId valve = vocab_class(v, STR("valve")), cylinder = vocab_class(v, STR("cylinder")),
                  spring = vocab_class(v, STR("spring")), bank = vocab_class(v, STR("bank"));
    assert_true(class_under(v, valve, cylinder) && class_under(v, spring, cylinder));
    assert_true(class_under(v, valve, bank) && class_under(v, cylinder, bank));
    assert_true(class_under(v, bank, CLASS_ENGINE));
    assert_false(class_under(v, cylinder, valve) || class_under(v, valve, valve));
    assert_false(class_under(v, bank, cylinder));
    for (unsigned i = 0; i < v->class_count; i++)
        assert_true(class_reaches(v, (ClassId)i, CLASS_ENGINE));
    assert_false(class_reaches(v, CLASS_ENGINE, valve) || class_reaches(v, bank, cylinder));
    unload(l);
}

static void wanted_dimension(void **state) {
    (void)state;
    Loaded *l = load_two(str_from(base), STR("quantity = probe\n unit = lbf\n of = valve\n"
                                             " is = lift\n"));
    assert_true(expect(l, "wanted", "formula-unit", "lift"));
    unload(l);
}

/* ---- the order of tags -------------------------------------------------------------------------
 */

static void order(void **state) {
    (void)state;
    Loaded *l = load_two(
        str_from(base), STR("quantity = a\n unit = in\n is = b + c\n"
                            "quantity = b\n unit = in\n is = c * 2\n"
                            "quantity = c\n unit = in\n is = 1 in + read c - previous a\n"
                            "quantity = d\n unit = in\n is = (d when a read) + first d + aim d\n"));
    assert_true(expect(l, "order", "", NULL));
    assert_int_equal(l->v->computed_count, 4);
    const Tag *a = &l->v->tags[vocab_find(l->v, STR("a"))];
    const Tag *b = &l->v->tags[vocab_find(l->v, STR("b"))];
    const Tag *c = &l->v->tags[vocab_find(l->v, STR("c"))];
    assert_true(c->order < b->order && b->order < a->order);
    for (unsigned i = 0; i < l->v->computed_count; i++)
        assert_int_equal(l->v->tags[l->v->computed[i]].order, i);
    unload(l);
}

static void rings(void **state) {
    (void)state;
    static const struct {
        const char *text, *ring;
    } cases[] = {
        {"quantity = a\n unit = in\n is = a + 1 in\n", "'a' (shop.vocab:3) needs 'a'"},
        {"quantity = a\n unit = in\n is = b\nquantity = b\n unit = in\n is = a\n",
         "'a' (shop.vocab:3) needs 'b' (shop.vocab:6) needs 'a'"},
        {"quantity = t\n unit = in\n is = a\nquantity = a\n unit = in\n is = b\n"
         "quantity = b\n unit = in\n is = c\nquantity = c\n unit = in\n is = a + 1 in\n",
         "'a' (shop.vocab:6) needs 'b' (shop.vocab:9) needs 'c' (shop.vocab:12) needs 'a'"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Loaded *l = load_two(str_from(base), str_from(cases[i].text));
        assert_true(expect(l, cases[i].ring, "formula-cycle", NULL));
        if (str_find(l->findings.items[0].message, str_from(cases[i].ring), 0) == SIZE_MAX)
            fail_msg("%.*s", STR_ARG(l->findings.items[0].message));
        unload(l);
    }
    Loaded *l = load_two(str_from(base), STR("quantity = a\n unit = in\n is = a\n"
                                             "quantity = b\n unit = in\n is = b\n"));
    assert_int_equal(l->findings.errors, 2);
    unload(l);
}

/* A chain of as many formulas as there may be tags, written last first. */
static void long_chain(void **state) {
    (void)state;
    Buf text = {0};
    for (int i = TAG_MOST - 1; i >= 0; i--) {
        buf_printf(&text, "quantity = w%c%c%c\n unit = in\n", 'a' + i / 676, 'a' + i / 26 % 26,
                   'a' + i % 26);
        int k = i ? i - 1 : TAG_MOST - 1;
        buf_printf(&text, " is = %sw%c%c%c\n", i ? "" : "read ", 'a' + k / 676, 'a' + k / 26 % 26,
                   'a' + k % 26);
    }
    Loaded *l = load_two(buf_str(&text), (Str){0});
    assert_true(expect(l, "chain", "", NULL));
    assert_int_equal(l->v->computed_count, TAG_MOST);
    assert_true(str_eq(l->v->tags[l->v->computed[0]].name, STR("waaa")));
    unload(l);
    buf_release(&text);
}

/* ---- limits and texts that nobody writes --------------------------------------------------------
 */

static void repeat(Buf *out, const char *text, int times) {
    for (int i = 0; i < times; i++)
        buf_puts(out, text);
}

static void text_right(Buf *text, const char *code) {
    Loaded *l = load_two(str_from(base), (Str){0});
    Source source = source_of("formula", buf_str(text));
    ClassId valve = vocab_class(l->v, STR("valve"));
    const Formula *f = formula_parse(l->v, &source, source.text, valve, false, 0, &l->findings);
    assert_true(expect(l, "pathological", code, NULL));
    assert_true((f != NULL) == !*code);
    unload(l);
    buf_clear(text);
}

static void limits(void **state) {
    (void)state;
    Buf text = {0};
    for (int more = 0; more < 2; more++) {
        const char *code = more ? "formula-deep" : "";
        int brackets = (FORMULA_DEPTH_MOST - 2) / 2 + more; /* each an expression in a primary */
        repeat(&text, "(", brackets);
        buf_puts(&text, "lift");
        repeat(&text, ")", brackets);
        text_right(&text, code);
        repeat(&text, "- ", FORMULA_DEPTH_MOST - 2 + more);
        buf_puts(&text, "lift");
        text_right(&text, code);
        repeat(&text, "lift + ", FORMULA_NODES_MOST / 2 - 1); /* n names and n - 1 signs */
        buf_puts(&text, more ? "- -lift" : "-lift");
        text_right(&text, code);
    }
    buf_release(&text);
}

static void pathological(void **state) {
    (void)state;
    Buf text = {0};
    const int many = 100000;
    static const struct {
        const char *repeated, *code;
    } cases[] = {
        {"(", "formula-deep"},    {"-", "formula-deep"},          {"lift + ", "formula-deep"},
        {"min(", "formula-deep"}, {"lift else ", "formula-deep"}, {"mean of ", "formula-deep"},
        {"1 * ", "formula-deep"}, {"lift ", "formula-syntax"},    {"9", "formula-syntax"},
        {"a", "formula-name"},    {"lift at ", "formula-deep"},   {"\xc3\xa9 ", "formula-name"},
        {"\xff", "formula-name"}, {"aim ", "formula-name"},       {"^", "formula-syntax"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        repeat(&text, cases[i].repeated, many);
        text_right(&text, cases[i].code);
    }
    buf_release(&text);
}

/* ---- ranges -------------------------------------------------------------------------------------
 */

static void ranges(void **state) {
    (void)state;
    static const struct {
        const char *text;
        Dim want;
        const char *unit;
        bool right;
        double low, high;
    } cases[] = {
        {"at least .060 in", DIM_LENGTH, "in", true, .060 * .0254, INFINITY},
        {"at most 2", DIM_LENGTH, "mm", true, -INFINITY, .002},
        {"At  least 2", DIM_LENGTH, "mm", false, 0, 0},
        {"1 .. 2 mm", DIM_LENGTH, "in", true, .001, .002},
        {"1 in .. 2", DIM_LENGTH, "mm", true, .0254, .0508},
        {"1 mm .. 2 in", DIM_LENGTH, "mm", true, .001, .0508},
        {"1.720 +/- .010 in", DIM_LENGTH, "mm", true, 1.710 * .0254, 1.730 * .0254},
        {"-.5 .. .5", DIM_LENGTH, "mm", true, -.0005, .0005},
        {"2 .. 2", DIM_NUMBER, NULL, true, 2, 2},
        {"20 +/- 5 degC", DIM_TEMPERATURE, "degC", true, 288.15, 298.15},
        {"1 .. 2", DIM_LENGTH, NULL, false, 0, 0},
        {"2 .. 1", DIM_LENGTH, "mm", false, 0, 0},
        {"1 +/- -1", DIM_LENGTH, "mm", false, 0, 0},
        {"1..2", DIM_LENGTH, "mm", false, 0, 0},
        {"1 .. ", DIM_LENGTH, "mm", false, 0, 0},
        {"at least", DIM_LENGTH, "mm", false, 0, 0},
        {"at least 1 lbf", DIM_LENGTH, "mm", false, 0, 0},
        {"at least 1,5", DIM_LENGTH, "mm", false, 0, 0},
        {"at least 1 tenth", DIM_LENGTH, "mm", false, 0, 0},
        {"1", DIM_LENGTH, "mm", false, 0, 0},
        {"", DIM_LENGTH, "mm", false, 0, 0},
    };
    Arena *arena = arena_new();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const Unit *unit = cases[i].unit ? unit_find(str_from(cases[i].unit), cases[i].want) : NULL;
        Range got = {-1, -1};
        RangeFault fault = {0};
        bool right = range_parse(str_from(cases[i].text), cases[i].want, unit, arena, &got, &fault);
        bool same_low = got.low == cases[i].low || fabs(got.low - cases[i].low) < 1e-9;
        bool same_high = got.high == cases[i].high || fabs(got.high - cases[i].high) < 1e-9;
        if (right != cases[i].right || (right && !(same_low && same_high)))
            fail_msg("'%s' gave %d: %g .. %g", cases[i].text, right, got.low, got.high);
        if (!right) assert_true(fault.text.n > 0 && got.low == -1);
    }
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grouping),      cmocka_unit_test(syntax),
        cmocka_unit_test(names_unknown), cmocka_unit_test(units),
        cmocka_unit_test(places),        cmocka_unit_test(curves_and_spots),
        cmocka_unit_test(reaching),      cmocka_unit_test(wanted_dimension),
        cmocka_unit_test(order),         cmocka_unit_test(rings),
        cmocka_unit_test(long_chain),    cmocka_unit_test(limits),
        cmocka_unit_test(pathological),  cmocka_unit_test(ranges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
