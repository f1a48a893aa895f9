/* The vocabulary's text: each property good and bad, names, limits, what a shop lays over it. */
#include "vocab_case.h"

#include "base/buf.h"
#include <math.h>

/* Names used before they are declared, on purpose: valve stands on cylinder, which stands below. */
static const char base[] = "place = valve\n on = cylinder\n each = 2\n letters = I E\n"
                           "place = cylinder\n count = cylinders\n"
                           "place = bank\n names = cylinder\n"
                           "place = head\n carries = cylinder\n"
                           "item = spring\n sits at = valve\n slots = outer inner\n"
                           "quantity = cylinders\n unit = number\n"
                           "quantity = spring load\n of = spring\n unit = lbf\n"
                           "  over = height in in\n"
                           "quantity = lift\n of = valve\n unit = in\n"
                           "quantity = chamber volume\n also = chamber\n of = cylinder\n"
                           "  unit = cc\n"
                           "fact = shim stock\n kind = stock\n unit = in\n"
                           "fact = stage\n";

typedef struct Row {
    const char *name, *text, *code, *at; /* code "": it must load without a finding */
} Row;

#define Q "quantity = probe\n unit = in\n"
#define F "fact = probe\n"
#define R "rule = probe\n says = x\n"
#define M "form = probe\n"
#define S "quantity = guide\n of = valve\n unit = in\n spots = top, low\n uses = top\n"
#define T "fit = probe\n says = x\n"
#define C "caution = probe\n says = x\n"

static const Row rows[] = {
    {"nothing more", "", "", NULL},
    {"note", "just words\n", "", NULL},
    {"struck line", "x quantity = probe\n", "", NULL},
    {"heading", "\n2026-01-02  Title\n", "vocab-line", NULL},
    {"grid", "a | b\n", "vocab-line", "a | b"},
    {"property like note", F "kind words\n", "vocab-note", "kind words"},
    {"block like note", "quantity probe\n", "vocab-note", "quantity probe"},
    {"quoted note", F "> kind words\n", "", NULL},
    {"no block", "units = metric\n unit = in\n", "vocab-line", "unit"},
    {"unknown property", Q " plausable = 1 .. 2\n", "vocab-property", "plausable"},
    {"property of another block", F " plausible = 1 .. 2\n", "vocab-property", "plausible"},
    {"stated twice", Q " unit = mm\n", "vocab-twice", "unit"},
    {"none takes away", Q " plausible = none\n", "", NULL},

    {"on", "place = lobe\n on = valve\n each = 1\n", "", NULL},
    {"on what is not there", "place = lobe\n on = valv\n each = 1\n", "vocab-class", "valv"},
    {"on an item", "place = lobe\n on = spring\n each = 1\n", "vocab-class", "spring"},
    {"on itself", "place = lobe\n on = lobe\n each = 1\n", "vocab-class", "lobe"},
    {"on each other", "place = lobe\n on = cam\n each = 1\nplace = cam\n on = engine\n each = 1\n",
     "", NULL},
    {"no count", "place = lobe\n", "vocab-missing", "lobe"},
    {"count", "place = lobe\n count = cylinders\n", "", NULL},
    {"count by a curve", "place = lobe\n count = spring load\n", "vocab-tag", "spring load"},
    {"count on a place", "place = lobe\n on = valve\n count = cylinders\n", "vocab-value",
     "cylinders"},
    {"each 255", "place = lobe\n on = valve\n each = 255\n", "", NULL},
    {"each 256", "place = lobe\n on = valve\n each = 256\n", "vocab-tag", "256"},
    {"each 0", "place = lobe\n on = valve\n each = 0\n", "vocab-value", "0"},
    {"each tag", "place = lobe\n on = valve\n each = cylinders\n", "", NULL},
    {"letters", "place = lobe\n each = 1\n letters = A B C D\n", "", NULL},
    {"five letters", "place = lobe\n each = 1\n letters = A B C D F\n", "vocab-value", "F"},
    {"small letter", "place = lobe\n each = 1\n letters = a\n", "vocab-value", "a"},
    {"another's letter", "place = lobe\n each = 1\n letters = E\n", "vocab-twice", "E"},
    {"suffix", "place = lobe\n on = valve\n each = 2\n suffix = yes\n", "", NULL},
    {"suffix no", "place = lobe\n on = valve\n each = 2\n suffix = no\n", "vocab-value", "no"},
    {"suffix and letters", "place = lobe\n each = 2\n suffix = yes\n letters = L\n", "vocab-value",
     "lobe"},
    {"names an item", "place = row\n names = spring\n", "vocab-class", "spring"},
    {"carries", "place = barrel\n carries = cylinder\n", "", NULL},
    {"engine again", "place = engine\n", "vocab-twice", "engine"},
    {"plural", "place = lobe\n each = 1\n plural = lobi\nquantity = p\n unit = in\n of = lobi\n",
     "", NULL},
    {"plural taken", "place = lobe\n each = 1\n plural = valve\n", "vocab-twice", "valve"},
    {"item without place", "item = shell\n", "vocab-missing", "shell"},
    {"three slots", "item = shell\n sits at = valve\n slots = a b c\n", "", NULL},
    {"four slots", "item = shell\n sits at = valve\n slots = a b c d\n", "vocab-full", "d"},
    {"item's tag taken", "fact = spring set\n", "vocab-twice", "spring set"},

    {"also", Q " also = one, two words\n", "", NULL},
    {"also taken", Q " also = chamber\n", "vocab-twice", "chamber"},
    {"of", Q " of = springs\n", "", NULL},
    {"of unknown", Q " of = sprong\n", "vocab-class", "sprong"},
    {"no unit", "quantity = probe\n", "vocab-missing", "probe"},
    {"unit unknown", "quantity = probe\n unit = furlongs\n", "vocab-unit", "furlongs"},
    {"unit of two meanings", "quantity = probe\n unit = lb\n", "vocab-unit", "lb"},
    {"lb in a torque", "quantity = probe\n unit = lb in2\n", "vocab-unit", "lb in2"},
    {"kg is a mass", "quantity = probe\n unit = kg\n", "", NULL},
    {"tenths", "quantity = probe\n unit = tenths\n", "vocab-unit", "tenths"},
    {"shows", Q " shows = 9 places\n", "", NULL},
    {"shows 10", Q " shows = 10 places\n", "vocab-value", "10 places"},
    {"shows bare", Q " shows = 3\n", "vocab-value", "3"},
    {"plausible", Q " plausible = .5 .. 3\n", "", NULL},
    {"plausible unit", Q " plausible = 10 .. 60 mm\n", "", NULL},
    {"plausible other unit", Q " plausible = 1 .. 2 lbf\n", "vocab-value", "lbf"},
    {"plausible turned", Q " plausible = 3 .. 2\n", "vocab-value", "3 .. 2"},
    {"plausible no blanks", Q " plausible = 1..2\n", "vocab-value", "1..2"},
    {"repeats", Q " repeats within = .002\n", "", NULL},
    {"repeats zero", Q " repeats within = 0\n", "vocab-value", "0"},
    {"alike", Q " alike = .002\n", "", NULL},
    {"alike percent", Q " alike = 3 percent\n", "", NULL},
    {"alike too much", Q " alike = 101 percent\n", "vocab-value", "101 percent"},
    {"alike all", Q " alike = 100 percent\n", "", NULL},
    {"changes alike", Q " changes alike = .002 lbf\n", "vocab-value", "lbf"},
    {"agrees", Q " is = 1 in\n agrees within = 1 percent\n", "", NULL},
    {"agrees without is", Q " agrees within = 1 percent\n", "vocab-value", "1 percent"},
    {"only", Q " only = falls\n", "", NULL},
    {"only what", Q " only = grows\n", "vocab-value", "grows"},
    {"lowered by", Q " lowered by = stage\n", "", NULL},
    {"lowered by unknown", Q " lowered by = stages\n", "vocab-tag", "stages"},
    {"made of", Q " made of = shim stock\n stocked = .015, .030 in\n", "", NULL},
    {"made of no stock", Q " made of = lift\n", "vocab-tag", "lift"},
    {"stocked alone", Q " stocked = .015\n", "vocab-value", ".015"},
    {"stocked of nothing", Q " made of = shim stock\n stocked = .015, 0\n", "vocab-value",
     ".015, 0"},
    {"over in in", Q " over = width in in\n reach = 10 percent\n", "", NULL},
    {"over a range", Q " over = width in in, .5 .. 3\n", "", NULL},
    {"over no range", Q " over = width in in, wide\n", "vocab-value", "wide"},
    {"over without unit", Q " over = width\n", "vocab-value", "width"},
    {"over odd unit", Q " over = width in ells\n", "vocab-unit", "width in ells"},
    {"reach alone", Q " reach = 10 percent\n", "vocab-value", "10 percent"},
    {"indexed", Q " indexed = no\n", "", NULL},
    {"indexed yes", Q " indexed = yes\n", "vocab-value", "yes"},
    {"compared at",
     "quantity = bench\n unit = in\n" Q " over = width in in\n compared at = bench\n"
     " shift means = a\n tilt means = b\n",
     "", NULL},
    {"compared at another kind", Q " over = width in in\n compared at = stage\n", "vocab-tag",
     "stage"},
    {"compared at alone", Q " compared at = stage\n", "vocab-value", "stage"},
    {"shift alone", Q " shift means = a\n", "vocab-value", "a"},
    {"tilt alone", Q " tilt means = a\n", "vocab-value", "a"},
    {"spots", Q " spots = top thrust, top pin\n uses = top pin\n", "", NULL},
    {"uses mean", Q " spots = a, b\n uses = mean\n", "", NULL},
    {"uses unknown", Q " spots = a, b\n uses = c\n", "vocab-value", "c"},
    {"spot twice", Q " spots = a, a\n", "vocab-name", "a, a"},
    {"spots on a curve", Q " over = width in in\n spots = a, b\n", "vocab-value", "a, b"},
    {"set aside by", Q " set aside by = stage, lift\n", "", NULL},
    {"set aside by unknown", Q " set aside by = stage, lifd\n", "vocab-tag", "lifd"},
    {"changed by", Q " changed by = stage, lift\n", "", NULL},
    {"changed by unknown", Q " changed by = stage, lifd\n", "vocab-tag", "lifd"},
    {"drawn", "quantity = probe\n of = valve\n unit = in\n drawn = place\n", "", NULL},
    {"drawn on the engine", "quantity = probe\n unit = in\n drawn = place\n", "vocab-value",
     "place"},
    {"drawn otherwise", "quantity = probe\n of = valve\n unit = in\n drawn = yes\n", "vocab-value",
     "yes"},
    {"drawn choices", "fact = probe\n kind = choice\n choices = a 1, b 2\n drawn = upright, vee\n",
     "", NULL},
    {"drawn too few", "fact = probe\n kind = choice\n choices = a 1, b 2\n drawn = vee\n",
     "vocab-value", "vee"},
    {"drawn otherwise too",
     "fact = probe\n kind = choice\n choices = a 1, b 2\n drawn = vee, star\n", "vocab-value",
     "vee, star"},
    {"holds", Q " holds = entry\n", "", NULL},
    {"holds for ever", Q " holds = job\n", "vocab-value", "job"},
    {"role", F " role = stage\n", "", NULL},
    {"role unknown", F " role = master\n", "vocab-value", "master"},
    {"usual", F " usual = one, two words\n", "", NULL},
    {"usual of no words", F " kind = date\n usual = one\n", "vocab-value", "one"},
    {"orders", F " orders = cylinder\n", "", NULL},
    {"orders what no numbers run through", F " orders = valve\n", "vocab-class", "valve"},
    {"orders unknown", F " orders = clynder\n", "vocab-class", "clynder"},
    {"orders of no words", F " kind = date\n orders = cylinder\n", "vocab-value", "cylinder"},
    {"role twice", F " role = by\nfact = probe two\n role = by\n", "vocab-twice", "by"},
    {"words", Q " group = g\n says = s\n source = t\n", "", NULL},

    {"choice", F " kind = choice\n choices = inline 1, V 2\n", "", NULL},
    {"choice without number", F " kind = choice\n choices = inline, V 2\n", "vocab-value",
     "inline, V 2"},
    {"choice twice", F " kind = choice\n choices = v 1, V 2\n", "vocab-twice", "v 1, V 2"},
    {"choice of nothing", F " kind = choice\n", "vocab-missing", "probe"},
    {"choices of words", F " choices = a 1\n", "vocab-value", "a 1"},
    {"kind unknown", F " kind = number\n", "vocab-value", "number"},
    {"stock without unit", F " kind = stock\n", "vocab-missing", "probe"},
    {"unit of words", F " unit = in\n", "vocab-value", "in"},
    {"date", F " kind = date\n", "", NULL},
    {"part", F " kind = part\n of = spring\n", "", NULL},

    {"rule", R " for = valve\n must = lift > 0 in\n level = error\n", "", NULL},
    {"rule without must", R, "vocab-missing", "probe"},
    {"rule without sign", R " must = 1\n", "formula-syntax", "1"},
    {"rule one-sided", R " must = 1 <\n", "formula-syntax", "1 <"},
    {"rule of two units", R " for = valve\n must = lift <= 3 lbf\n", "formula-unit", "3 lbf"},
    {"rule level", R " must = 1 < 2\n level = hint\n", "vocab-value", "hint"},
    {"rule twice", R " must = 1 < 2\n" R " must = 1 < 2\n", "vocab-twice", "probe"},
    {"caution", C " tags = lift\n words = compressor, Valve Job\n", "", NULL},
    {"caution for nothing", C, "vocab-missing", "probe"},
    {"caution unknown tag", C " tags = lifd\n", "vocab-tag", "lifd"},

    {"form", M " rows = valve\n columns = lift, spring, spring load\n", "", NULL},
    {"form of items", M " rows = springs\n columns = spring load, spring load\n", "", NULL},
    {"form without rows", M " columns = lift\n", "vocab-missing", "probe"},
    {"form without columns", M " rows = valve\n", "vocab-missing", "probe"},
    {"form of no class", M " rows = valv\n columns = lift\n", "vocab-class", "valv"},
    {"form of the engine", M " rows = engine\n columns = cylinders\n", "vocab-class", "engine"},
    {"form of a bank", M " rows = bank\n columns = lift\n", "vocab-class", "bank"},
    {"form of an unknown tag", M " rows = valve\n columns = lifd\n", "vocab-tag", "lifd"},
    {"form of another class", M " rows = cylinder\n columns = lift\n", "vocab-class", "lift"},
    {"form with a spot", S M " rows = valve\n columns = guide low, guide\n", "", NULL},
    {"form with no such spot", S M " rows = valve\n columns = guide deep\n", "vocab-value", "deep"},
    {"form of a stock", M " rows = valve\n columns = shim stock\n", "vocab-class", "shim stock"},
    {"form twice", M " rows = valve\n columns = lift\n" M " rows = valve\n columns = lift\n",
     "vocab-twice", "probe"},
    {"fit", T " choose = spring\n to aim = lift\n step = .001 in\n table = lift, lift\n", "", NULL},
    {"fit evens", T " choose = spring\n for = valve\n evens = lift\n", "", NULL},
    {"fit adjusts", T " for = valve\n adjust = lift\n from = shim stock\n stack = at most 3\n", "",
     NULL},
    {"fit twice", T " choose = spring\n" T " choose = spring\n", "vocab-twice", "probe"},
    {"fit for nothing", T, "vocab-missing", "probe"},
    {"fit nowhere", T " adjust = lift\n from = shim stock\n stack = 1 .. 1\n", "vocab-missing",
     "probe"},
    {"fit says nothing", "fit = probe\n choose = spring\n", "vocab-missing", "probe"},
    {"fit of a place", T " choose = valve\n", "vocab-class", "valve"},
    {"fit elsewhere", T " choose = spring\n for = cylinder\n", "vocab-class", "probe"},
    {"fit to aim and even", T " choose = spring\n to aim = lift\n evens = lift\n", "vocab-twice",
     "lift"},
    {"fit a curve", T " choose = spring\n to aim = spring load\n", "vocab-tag", "spring load"},
    {"fit aim elsewhere", T " choose = spring\n to aim = cylinders\n", "vocab-class", "probe"},
    {"fit from no stock", T " for = valve\n adjust = lift\n from = stage\n stack = at most 1\n",
     "vocab-tag", "stage"},
    {"fit no stack", T " for = valve\n adjust = lift\n from = shim stock\n", "vocab-missing",
     "probe"},
    {"fit no stock", T " for = valve\n adjust = lift\n stack = at most 1\n", "vocab-missing",
     "probe"},
    {"fit stack 4", T " for = valve\n adjust = lift\n from = shim stock\n stack = 0 .. 4\n", "",
     NULL},
    {"fit stack 5", T " for = valve\n adjust = lift\n from = shim stock\n stack = 0 .. 5\n",
     "vocab-value", "0 .. 5"},
    {"fit half a piece",
     T " for = valve\n adjust = lift\n from = shim stock\n stack = at most 1.5\n", "vocab-value",
     "at most 1.5"},
    {"fit step of another kind", T " choose = spring\n to aim = lift\n step = 1 lbf\n",
     "formula-unit", "1 lbf"},

    {"limit", "limit lift I = at least .4 by KL\n", "", NULL},
    {"limit letter", "limit lift M = at least .4\n", "vocab-limit", "M"},
    {"limit unknown", "limit lifd = at least .4\n", "vocab-limit", NULL},
    {"limit words", "limit stage = at least 4\n", "vocab-limit", "at least 4"},
    {"limit a curve", "limit spring load = at least 90\n", "vocab-limit", "at least 90"},
    {"limit a curve at", "limit spring load E @ 1.7 = at least 90\n", "", NULL},
    {"limit a curve at a load", "limit spring load E @ 1.7 lbf = at least 90\n", "vocab-limit",
     "lbf"},
    {"limit at on no curve", "limit lift @ 1 in = at least .4\n", "vocab-limit", "at least .4"},
    {"limit range", "limit lift = .4\n", "vocab-limit", ".4"},
    {"aim", "aim lift E = .4\n", "", NULL},
    {"aim range", "aim lift = at least .4\n", "vocab-limit", "at least .4"},
    {"units", "units = us\n", "", NULL},
    {"units of both", "units = both\n", "vocab-value", "both"},
};

static void properties(void **state) {
    (void)state;
    unsigned wrong = 0;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Buf text = {0};
        buf_puts(&text, base);
        buf_puts(&text, rows[i].text);
        Loaded *l = load_two(buf_str(&text), (Str){0});
        wrong += !expect(l, rows[i].name, rows[i].code, rows[i].at);
        unload(l);
        buf_release(&text);
    }
    assert_int_equal(wrong, 0);
}

/* Each row of the property table stands in at least one row above, good or bad. */
static void each_property_is_tested(void **state) {
    (void)state;
    for (size_t p = 0; p < vocab_rows_count; p++) {
        Buf want = {0};
        buf_printf(&want, "%s = ", vocab_rows[p].name.p);
        bool found = str_find(STR(""), buf_str(&want), 0) != SIZE_MAX ||
                     str_find(str_from(base), buf_str(&want), 0) != SIZE_MAX;
        for (size_t i = 0; i < sizeof rows / sizeof *rows && !found; i++)
            found = str_find(str_from(rows[i].text), buf_str(&want), 0) != SIZE_MAX;
        if (!found) fail_msg("no test states '%s'", vocab_rows[p].name.p);
        buf_release(&want);
    }
}

static void names_refused(void **state) {
    (void)state;
    unsigned wrong = 0;
    static const struct {
        const char *name, *code;
    } cases[] = {
        {"one two three four five six", ""},
        {"one two three four five six seven", "vocab-name"},
        {"all bolts", "vocab-name"},
        {"each bolt", "vocab-name"},
        {"bolt I", "vocab-name"},
        {"bolt e", "vocab-name"},
        {"bolt I3a", "vocab-name"},
        {"bolt 3", "vocab-name"},
        {"3rd bolt", "vocab-name"},
        {"bolt .5", "vocab-name"},
        {"a#b", "vocab-name"},
        {"a:b", "vocab-name"},
        {"a@b", "vocab-name"},
        {"a;b", "vocab-name"},
        {"a|b", "vocab-name"},
        {"a=b", "vocab-name"},
        {"a (b)", "vocab-name"},
        {"a / b", "vocab-name"},
        {"a -b", "vocab-name"},
        {"limit of wear", "vocab-name"},
        {"aim height", "vocab-name"},
        {"accept this", "vocab-name"},
        {"x mark", "vocab-name"},
        {"first gear", "vocab-name"},
        {"sum of gears", "vocab-name"},
        {"spring load at rest", "vocab-name"},
        {"lift at rest", ""},
        {"mean piston speed", ""},
        {"ring gap per inch of bore", ""},
        {"leak-down", ""},
        {"cam's lift", ""},
        {"Ma\xc3\x9f", ""},
        {"lift", "vocab-twice"},
        {"CHAMBER VOLUME", "vocab-twice"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Buf text = {0};
        buf_printf(&text, "%sfact = %s\n", base, cases[i].name);
        Loaded *l = load_two(buf_str(&text), (Str){0});
        wrong += !expect(l, cases[i].name, cases[i].code, cases[i].name);
        unload(l);
        buf_release(&text);
    }
    assert_int_equal(wrong, 0);
}

static void matches(void **state) {
    (void)state;
    Loaded *l = load_two(str_from(base), (Str){0});
    const struct {
        const char *left, *tag, *rest;
    } cases[] = {
        {"chamber volume 3", "chamber volume", "3"},
        {"chamber 3", "chamber volume", "3"},
        {"  Chamber \t VOLUME   B:1..4  ", "chamber volume", "B:1..4"},
        {"chamber", "chamber volume", ""},
        {"spring I1", "spring", "I1"},
        {"spring set", "spring set", ""},
        {"spring loads", "spring", "loads"},
        {"spring load #4", "spring load", "#4"},
        {"outer spring I1", "outer spring", "I1"},
        {"outer", NULL, "outer"},
        {"chambers 3", NULL, "chambers 3"},
        {"", NULL, ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Str rest;
        TagId tag = vocab_match(l->v, str_from(cases[i].left), &rest);
        if (cases[i].tag) {
            assert_int_not_equal(tag, TAG_NONE);
            assert_true(str_eq(l->v->tags[tag].name, str_from(cases[i].tag)));
        } else {
            assert_int_equal(tag, TAG_NONE);
        }
        assert_true(str_eq(rest, str_from(cases[i].rest)));
    }
    assert_int_equal(vocab_find(l->v, STR("chamber 3")), TAG_NONE);
    assert_int_equal(vocab_match(l->v, STR("lift"), NULL), vocab_find(l->v, STR("LIFT")));
    assert_int_equal(vocab_class(l->v, STR("Valves")), vocab_class(l->v, STR("valve")));
    assert_int_equal(vocab_class(l->v, STR("engine")), CLASS_ENGINE);
    assert_true(str_find(vocab_near(l->v, STR("chambr"), l->arena), STR("'chamber'"), 0) !=
                SIZE_MAX);
    unload(l);
}

static const Tag *tag_named(const Loaded *l, const char *name) {
    TagId tag = vocab_find(l->v, str_from(name));
    assert_int_not_equal(tag, TAG_NONE);
    return &l->v->tags[tag];
}

static void what_is_read(void **state) {
    (void)state;
    Buf text = {0};
    buf_puts(&text, base);
    buf_puts(
        &text, Q
        " also = other\n of = spring\n shows = 2 places\n plausible = .5 .. 3 in\n"
        " repeats within = 1 mm\n alike = 3 percent\n changes alike = .002\n"
        " over = temperature in degC\n reach = 10 percent\n only = falls\n"
        " set aside by = lift, stage\n changed by = stage\n holds = entry\n group = g\n says = s\n"
        " source = t\n role = run time\n"
        "fact = shape\n kind = choice\n choices = inline 1, long V 2.5\n"
        "caution = care\n words = Valve Job\n says = w\n");
    Loaded *l = load_two(buf_str(&text), (Str){0});
    assert_true(expect(l, "all", "", NULL));
    const Tag *t = tag_named(l, "other");
    assert_int_equal(t->of, vocab_class(l->v, STR("spring")));
    assert_int_equal(t->places, 2);
    assert_true(fabs(t->plausible.low - .0127) < 1e-12 && fabs(t->plausible.high - .0762) < 1e-12);
    assert_true(fabs(t->repeatability - .001) < 1e-15);
    assert_true(fabs(t->alike_part - .03) < 1e-15 && t->alike == 0);
    assert_true(fabs(t->change_alike - 5.08e-5) < 1e-15);
    assert_true(t->has_curve && str_eq(t->over_name, STR("temperature")));
    assert_true(t->over->dim == DIM_TEMPERATURE && fabs(t->reach - .1) < 1e-15);
    assert_int_equal(t->trend, TREND_FALLS);
    assert_int_equal(t->set_aside_count, 2);
    assert_int_equal(t->changed_count, 1);
    assert_int_equal(l->v->roles[ROLE_RUN_TIME], t - l->v->tags);
    const Tag *shape = tag_named(l, "shape");
    assert_int_equal(shape->choice_count, 2);
    assert_true(str_eq(shape->choices[1].name, STR("long V")) && shape->choices[1].number == 2.5);
    assert_true(str_eq(l->v->cautions[0].words[0], STR("valve job")));
    const Class *spring = &l->v->classes[vocab_class(l->v, STR("spring"))];
    assert_int_equal(spring->slot_count, 3);
    assert_int_equal(l->v->tags[spring->placement[2]].kind, TAG_PLACEMENT);
    assert_true(str_eq(l->v->tags[spring->placement[2]].name, STR("inner spring")));
    assert_int_equal(l->v->tags[spring->placement[0]].of, vocab_class(l->v, STR("valve")));
    assert_int_equal(l->v->tags[spring->set_tag].kind, TAG_SET);
    assert_int_equal(l->v->classes[spring->set].holds, spring - l->v->classes);
    assert_int_equal(tag_named(l, "bank")->kind, TAG_BANK);
    assert_int_equal(tag_named(l, "head")->kind, TAG_CARRIER);
    unload(l);
    buf_release(&text);
}

static void shop_over_trade(void **state) {
    (void)state;
    Loaded *l = load_two(str_from(base), STR("quantity = lift\n unit = mm\n says = theirs\n"
                                             "quantity = gap\n unit = in\n is = lift - 1 mm\n"
                                             " of = valve\n"
                                             "units = metric\n"
                                             "limit lift = at least 9\n"
                                             "limit lift = at most 12 by KL\n"
                                             "limit lift = at least 10\n"
                                             "limit lift I = at least 10\n"
                                             "limit lift I = none\n"
                                             "aim lift = 11\n"));
    assert_true(expect(l, "shop", "", NULL));
    const Tag *lift = tag_named(l, "lift");
    assert_true(lift->from_shop && lift->unit_from_shop && lift->of != CLASS_ENGINE);
    assert_string_equal(lift->unit->name, "mm");
    assert_true(lift->where == l->v->sources[0]);
    assert_false(tag_named(l, "spring load")->from_shop);
    assert_true(tag_named(l, "gap")->from_shop && tag_named(l, "gap")->is);
    assert_int_equal(l->v->units, SYSTEM_METRIC);
    assert_int_equal(l->v->limit_count, 3);
    assert_true(fabs(l->v->limits[0].range.low - .010) < 1e-15);
    assert_true(isinf(l->v->limits[0].range.high));
    assert_true(str_eq(l->v->limits[1].by, STR("KL")));
    assert_true(l->v->limits[2].is_aim && l->v->limits[2].range.low == l->v->limits[2].range.high);
    unload(l);
}

static void shop_faults(void **state) {
    (void)state;
    unsigned wrong = 0;
    static const Row cases[] = {
        {"takes away", "quantity = spring load\n over = none\n", "", NULL},
        {"takes a needed one away", "quantity = lift\n unit = none\n", "vocab-missing", "lift"},
        {"other kind of block", "fact = lift\n", "vocab-twice", "lift"},
        {"twice in the shop", "quantity = lift\n unit = mm\nquantity = lift\n unit = in\n",
         "vocab-twice", "unit"},
        {"twice new", "fact = new\nfact = new\n", "vocab-twice", "new"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Loaded *l = load_two(str_from(base), str_from(cases[i].text));
        wrong += !expect(l, cases[i].name, cases[i].code, cases[i].at);
        unload(l);
    }
    assert_int_equal(wrong, 0);
}

static void hash_follows_text(void **state) {
    (void)state;
    Source us = {.text = STR("units = us\n")}, metric = {.text = STR("units = metric\n")};
    assert_true(vocab_hash(&us) == vocab_hash(&us));
    assert_true(vocab_hash(&us) != vocab_hash(&metric));
    assert_true(vocab_hash(NULL) != vocab_hash(&us));
}

static void classes_at_the_limit(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        Buf text = {0};
        for (int i = 1; i < CLASS_MOST + more; i++)
            buf_printf(&text, "place = p%c%c\n each = 1\n", 'a' + i / 26, 'a' + i % 26);
        Loaded *l = load_two(buf_str(&text), (Str){0});
        assert_true(expect(l, "classes", more ? "vocab-full" : "", NULL));
        unload(l);
        buf_release(&text);
    }
}

static void lists_at_the_limit(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        Buf text = {0};
        buf_puts(&text, Q " spots = ");
        for (int i = 0; i < SPOT_MOST + more; i++)
            buf_printf(&text, "%ss%c", i ? ", " : "", 'a' + i);
        Loaded *l = load_two(buf_str(&text), (Str){0});
        assert_true(expect(l, "spots", more ? "vocab-full" : "", NULL));
        unload(l);
        buf_clear(&text);
        buf_puts(&text, F " also = ");
        for (int i = 0; i < LIST_MOST + more; i++)
            buf_printf(&text, "%sz%c%c", i ? ", " : "", 'a' + i / 26, 'a' + i % 26);
        l = load_two(buf_str(&text), (Str){0});
        assert_true(expect(l, "also", more ? "vocab-full" : "", NULL));
        unload(l);
        buf_release(&text);
    }
}

static void tags_at_the_limit(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        Buf text = {0};
        for (int i = 0; i < TAG_MOST + more; i++)
            buf_printf(&text, "fact = w%c%c%c\n", 'a' + i / 676, 'a' + i / 26 % 26, 'a' + i % 26);
        Loaded *l = load_two(buf_str(&text), (Str){0});
        assert_true(expect(l, "tags", more ? "vocab-full" : "", NULL));
        assert_int_equal(l->v->tag_count, TAG_MOST);
        assert_int_equal(vocab_find(l->v, STR("wbcd")), 676 + 2 * 26 + 3);
        unload(l);
        buf_release(&text);
    }
}

/* Texts that nobody writes must end, with findings or without. */
static void odd_texts(void **state) {
    (void)state;
    Buf text = {0};
    buf_puts(&text, "quantity = ");
    buf_fill(&text, 'y', 1000000);
    buf_puts(&text, "\n unit = in\n says = ");
    buf_fill(&text, 'y', 1000000);
    buf_puts(&text, "\nfact =\n = \n=\nquantity = \n also = , , \n");
    for (int i = 0; i < 100000; i++)
        buf_puts(&text, "nonsense = 1\n");
    Loaded *l = load_two(buf_str(&text), (Str){0});
    assert_true(l->findings.errors > 100000);
    unload(l);
    buf_release(&text);
    for (unsigned cut = 0; cut < sizeof base; cut += 3) {
        l = load_two((Str){base, cut}, (Str){0});
        unload(l);
    }
}

static void trade_loads(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Findings findings = {.arena = arena};
    Vocab *v = vocab_load(NULL, &findings);
    for (uint32_t i = 0; i < findings.count; i++)
        print_message("%.*s\n", STR_ARG(findings.items[i].message));
    assert_int_equal(findings.count, 0);
    assert_true(v->tag_count > 100);
    for (TagId i = 0; i < v->tag_count; i++) {
        assert_int_equal(vocab_find(v, v->tags[i].name), i);
        for (unsigned k = 0; k < v->tags[i].also_count; k++)
            assert_int_equal(vocab_find(v, v->tags[i].also[k]), i);
        if (v->tags[i].kind == TAG_NUMBER) assert_non_null(v->tags[i].unit);
    }
    vocab_free(v);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(properties),           cmocka_unit_test(each_property_is_tested),
        cmocka_unit_test(names_refused),        cmocka_unit_test(matches),
        cmocka_unit_test(what_is_read),         cmocka_unit_test(shop_over_trade),
        cmocka_unit_test(shop_faults),          cmocka_unit_test(hash_follows_text),
        cmocka_unit_test(classes_at_the_limit), cmocka_unit_test(lists_at_the_limit),
        cmocka_unit_test(tags_at_the_limit),    cmocka_unit_test(odd_texts),
        cmocka_unit_test(trade_loads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
