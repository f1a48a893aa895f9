#include "units/units.h"
#include "unit/rows.h"
#include <math.h>
#include <pthread.h>

static void close_to(double got, double want, double relative) {
    if (fabs(got - want) > relative * fabs(want)) fail_msg("%.17g is not %.17g", got, want);
}

/* What builders write, and what it is. NULL: refused. */
typedef struct FindRow {
    const char *name; /* the input too */
    Dim want;
    const char *unit;
} FindRow;

static const FindRow find_rows[] = {
    {"in", DIM_LENGTH, "in"},
    {"\"", DIM_LENGTH, "in"},
    {"inch", DIM_LENGTH, "in"},
    {"INCHES", DIM_LENGTH, "in"},
    {" in ", DIM_LENGTH, "in"},
    {"thousandths", DIM_LENGTH, "thou"},
    {"\u00B5m", DIM_LENGTH, "um"},
    {"\u03BCm", DIM_LENGTH, "um"},
    {"MM", DIM_LENGTH, "mm"},
    {"cc", DIM_VOLUME, "cc"},
    {"ml", DIM_VOLUME, "cc"},
    {"cm3", DIM_VOLUME, "cc"},
    {"l", DIM_VOLUME, "L"},
    {"cu in", DIM_VOLUME, "in3"},
    {"in^3", DIM_VOLUME, "in3"},
    {"in\u00B3", DIM_VOLUME, "in3"},
    {"cm\u00B2", DIM_AREA, "cm2"},
    /* mass or force: the wanted dimension tells */
    {"lb", DIM_FORCE, "lbf"},
    {"lb", DIM_MASS, "lb"},
    {"lbs", DIM_FORCE, "lbf"},
    {"LBS", DIM_MASS, "lb"},
    {"lb", DIM_LENGTH, "lb"},
    {"lbf", DIM_MASS, "lbf"},
    {"oz", DIM_FORCE, "ozf"},
    {"oz", DIM_MASS, "oz"},
    {"kg", DIM_FORCE, "kgf"},
    {"kg", DIM_MASS, "kg"},
    {"lb/in", DIM_RATE, "lbf/in"},
    {"lbs / inch", DIM_RATE, "lbf/in"},
    {"lb/mm", DIM_RATE, "lbf/mm"},
    {"N/mm", DIM_RATE, "N/mm"},
    {"kg/mm", DIM_RATE, "kgf/mm"},
    {"lb-ft", DIM_TORQUE, "lbf ft"},
    {"ft-lb", DIM_TORQUE, "lbf ft"},
    {"ft lbf", DIM_TORQUE, "lbf ft"},
    {"ft*lb", DIM_TORQUE, "lbf ft"},
    {"FT-LBS", DIM_TORQUE, "lbf ft"},
    {"in\u00B7lb", DIM_TORQUE, "lbf in"},
    {"lb\u22C5in", DIM_TORQUE, "lbf in"},
    {"Nm", DIM_TORQUE, "N m"},
    {"N-m", DIM_TORQUE, "N m"},
    {"N mm", DIM_TORQUE, "N mm"},
    {"lb/in2", DIM_PRESSURE, "psi"},
    {"lb/in^2", DIM_PRESSURE, "psi"},
    {"N/mm2", DIM_PRESSURE, "MPa"},
    {"KPA", DIM_PRESSURE, "kPa"},
    {"in H2O", DIM_PRESSURE, "inH2O"},
    {"\"Hg", DIM_PRESSURE, "inHg"},
    {"psi", DIM_FORCE, "psi"},
    {"CFM", DIM_FLOW, "cfm"},
    {"ft3/min", DIM_FLOW, "cfm"},
    {"ft^3 / min", DIM_FLOW, "cfm"},
    {"ft lbf / s", DIM_POWER, "ft lbf/s"},
    {"rev/min", DIM_TURNING, "rpm"},
    {"RPM", DIM_TURNING, "rpm"},
    {"rev/s", DIM_TURNING, "rev/s"},
    {"\u00B0", DIM_ANGLE, "deg"},
    {"degrees", DIM_ANGLE, "deg"},
    {"\u00B0C", DIM_TEMPERATURE, "degC"},
    {"deg F", DIM_TEMPERATURE, "degF"},
    {"F", DIM_TEMPERATURE, "degF"},
    {"hours", DIM_TIME, "h"},
    {"hr", DIM_TIME, "h"},
    {"Min", DIM_TIME, "min"},
    {"percent", DIM_NUMBER, "%"},
    {":1", DIM_NUMBER, ""},
    {"", DIM_NUMBER, ""},
    {"in/in/degF", DIM(0, 0, 0, -1, 0), "in/in/degF"},
    {"1/K", DIM(0, 0, 0, -1, 0), "1/K"},
    {"g/cm^3", DIM(-3, 1, 0, 0, 0), "g/cm3"},
    {"g", DIM(1, 0, -2, 0, 0), "gn"},
    {"in2 in2", DIM(4, 0, 0, 0, 0), "in2 in2"},
    /* case that means something */
    {"Mm", DIM_LENGTH, NULL},
    {"mPa", DIM_PRESSURE, NULL},
    {"Mg", DIM_MASS, NULL},
    {"ML", DIM_VOLUME, NULL},
    {"Mbar", DIM_PRESSURE, NULL},
    {"Ms", DIM_TIME, NULL},
    {"M", DIM_LENGTH, NULL},
    {"G", DIM_MASS, NULL},
    {"k", DIM_TEMPERATURE, NULL},
    /* two meanings, with advice */
    {"tenth", DIM_LENGTH, NULL},
    {"Tenths", DIM_LENGTH, NULL},
    {"hundredths", DIM_LENGTH, NULL},
    {"point", DIM_NUMBER, NULL},
    {"points", DIM_NUMBER, NULL},
    {"mil", DIM_LENGTH, NULL},
    {"ton", DIM_FORCE, NULL},
    {"gallon", DIM_VOLUME, NULL},
    {"qt", DIM_VOLUME, NULL},
    {"psig", DIM_PRESSURE, NULL},
    {"lb/ft s", DIM_FORCE, NULL},
    {"lb/ft-s", DIM_FORCE, NULL},
    /* no unit at all */
    {"", DIM_LENGTH, NULL},
    {"furlong", DIM_LENGTH, NULL},
    {"1", DIM_NUMBER, NULL},
    {"1 mm", DIM_LENGTH, NULL},
    {"in/", DIM_LENGTH, NULL},
    {"/in", DIM_LENGTH, NULL},
    {"in -", DIM_LENGTH, NULL},
    {"-in", DIM_LENGTH, NULL},
    {"in--in", DIM_AREA, NULL},
    {"in//in", DIM_NUMBER, NULL},
    {"in0", DIM_LENGTH, NULL},
    {"in^", DIM_LENGTH, NULL},
    {"in^-1", DIM_LENGTH, NULL},
    {"in33", DIM_LENGTH, NULL},
    {"\u00B2", DIM_LENGTH, NULL},
    {"3", DIM_NUMBER, NULL},
    {"ratio/in", DIM_NUMBER, NULL},
    {"in furlong", DIM_AREA, NULL},
    {"in?", DIM_LENGTH, NULL},
    {"lbf_ft", DIM_TORQUE, NULL},
};

static void find_row(void **state) {
    const FindRow *row = *state;
    const Unit *u = unit_find(str_from(row->name), row->want);
    if (!row->unit) {
        if (u) fail_msg("'%s' was read as '%s'", row->name, u->name);
        return;
    }
    if (!u) fail_msg("'%s' was not found", row->name);
    assert_string_equal(u->name, row->unit);
}

static void advice_is_given(void **state) {
    (void)state;
    static const char *const doubtful[] = {"tenth", "TENTHS",  "hundredth", "point",   "mils",
                                           "tons",  "gallons", "quart",     "lb/ft s", " ton "};
    for (size_t i = 0; i < sizeof doubtful / sizeof *doubtful; i++)
        assert_non_null(unit_advice(str_from(doubtful[i])));
    assert_null(unit_advice(STR("in")));
    assert_null(unit_advice(STR("furlong")));
    assert_null(unit_advice(STR("in/in/degF")));
    assert_null(unit_advice(STR("")));
}

/* Published factors. NIST SP 811 as seen in secondary copies, and GNU units 2.22 (references.md);
 * digits as printed there, so most are good to the last one shown. */
typedef struct FactorRow {
    const char *name; /* the unit */
    Dim want;
    double value; /* of one, in `in` */
    const char *in;
    double relative;
} FactorRow;

static const FactorRow factor_rows[] = {
    {"in", DIM_LENGTH, 25.4, "mm", 1e-15},
    {"in3", DIM_VOLUME, 16.387064, "cc", 1e-15},
    {"lbf", DIM_FORCE, 4.4482216152605, "N", 1e-15},
    {"kgf", DIM_FORCE, 9.80665, "N", 1e-15},
    {"lbf/in", DIM_RATE, 0.175126835246476, "N/mm", 3e-15},
    {"oz", DIM_MASS, 28.349523125, "g", 1e-15},
    {"lb", DIM_MASS, 453.59237, "g", 1e-15},
    {"lbf ft", DIM_TORQUE, 1.3558179483314, "N m", 1e-14},
    {"lbf in", DIM_TORQUE, 0.112984829027617, "N m", 1e-14},
    {"psi", DIM_PRESSURE, 6.89475729316836, "kPa", 1e-15},
    {"inHg", DIM_PRESSURE, 3386.388640341, "Pa", 1e-13},
    {"inH2O", DIM_PRESSURE, 249.08891, "Pa", 1e-13},
    {"cfm", DIM_FLOW, 0.4719474432, "L/s", 1e-15},
    {"hp", DIM_POWER, 745.69987158227, "W", 1e-14},
    {"PS", DIM_POWER, 735.49875, "W", 1e-15},
};

static void factor_row(void **state) {
    const FactorRow *row = *state;
    const Unit *u = unit_find(str_from(row->name), row->want);
    const Unit *in = unit_find(str_from(row->in), row->want);
    assert_non_null(u);
    assert_non_null(in);
    close_to(unit_from_si(in, unit_to_si(u, 1)), row->value, row->relative);
}

/* lbf ft x rpm / hp and N m x rpm / kW (references.md, from the same factors). */
static void power_constants(void **state) {
    (void)state;
    double rpm = unit_to_si(unit_find(STR("rpm"), DIM_TURNING), 1);
    double lbf_ft = unit_to_si(unit_find(STR("lbf ft"), DIM_TORQUE), 1);
    double hp = unit_to_si(unit_find(STR("hp"), DIM_POWER), 1);
    close_to(hp / (lbf_ft * rpm), 5252.11312203255, 1e-14);
    close_to(1000 / rpm, 9549.29658551372, 1e-14);
}

/* Fixed points: ice and steam by definition of the scales, absolute zero, where the two meet. */
static void temperatures(void **state) {
    (void)state;
    const Unit *c = unit_find(STR("degC"), DIM_TEMPERATURE);
    const Unit *f = unit_find(STR("degF"), DIM_TEMPERATURE);
    close_to(unit_to_si(c, 0), 273.15, 1e-15);
    close_to(unit_to_si(f, 32), 273.15, 1e-15);
    close_to(unit_from_si(f, unit_to_si(c, 100)), 212, 1e-14);
    close_to(unit_from_si(f, unit_to_si(c, -40)), -40, 1e-14);
    close_to(unit_from_si(c, unit_to_si(f, 68)), 20, 1e-13);
    assert_true(fabs(unit_to_si(f, -459.67)) < 1e-12);
    close_to(unit_diff_from_si(f, unit_diff_to_si(c, 10)), 18, 1e-15);
    close_to(unit_diff_to_si(f, 9), 5, 1e-15);
}

/* Each row: its name and every other spelling find it, a value comes back, its counterpart is of
 * its kind and of the other system, and the places shown there are neither coarser than what was
 * written nor ten times finer. */
static void table_row(void **state) {
    const Unit *u = *state;
    char spelling[64];
    assert_ptr_equal(unit_find(str_from(u->name), u->dim), u);
    assert_true(*u->source && u->factor > 0 && *dim_name(u->dim));
    Str also = str_from(u->also);
    for (Str word = str_word(&also); word.n; word = str_word(&also)) {
        snprintf(spelling, sizeof spelling, "%.*s", STR_ARG(word));
        for (char *p = spelling; *p; p++)
            if (*p == '_') *p = ' ';
        if (unit_find(str_from(spelling), u->dim) != u)
            fail_msg("'%s' is not %s", spelling, u->name);
        if (unit_advice(str_from(spelling))) fail_msg("'%s' is refused elsewhere", spelling);
    }
    static const double values[] = {0, 1, -0.005, 44.8, 1.72, 12345.678};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        double scale = fabs(values[i]) + u->offset / u->factor;
        assert_true(fabs(unit_from_si(u, unit_to_si(u, values[i])) - values[i]) <= 4e-16 * scale);
        close_to(unit_diff_from_si(u, unit_diff_to_si(u, values[i])), values[i], 4e-16);
    }
    assert_ptr_equal(unit_in(u, u->system), u);
    assert_ptr_equal(unit_in(u, SYSTEM_NONE), u);
    if (!u->other) {
        assert_ptr_equal(unit_in(u, SYSTEM_US), u);
        assert_ptr_equal(unit_in(u, SYSTEM_METRIC), u);
        return;
    }
    assert_true(u->system != SYSTEM_NONE);
    const Unit *o = unit_in(u, u->system == SYSTEM_US ? SYSTEM_METRIC : SYSTEM_US);
    assert_string_equal(o->name, u->other);
    assert_true(o != u && o->dim == u->dim && o->system != u->system);
    double places = -log10(u->factor / o->factor);
    assert_int_equal(u->places_shift, (int)ceil(places - 1e-9));
}

static void names_are_unique_in_a_dimension(void **state) {
    (void)state;
    size_t count;
    const Unit *rows = unit_rows(&count);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++)
            assert_true(rows[i].dim != rows[j].dim || strcmp(rows[i].name, rows[j].name) != 0);
}

/* A made unit reads back from its own name, and is made once. */
static void made_units_last(void **state) {
    (void)state;
    static const char *const texts[] = {"lbf/mm", "in/in/degF", "1/K", "ft lbf/s",
                                        "N mm",   "cfm/inH2O",  "mm3", "lb ft2"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const Unit *u = unit_find(str_from(texts[i]), DIM_NUMBER);
        if (!u) fail_msg("%s", texts[i]);
        assert_ptr_equal(unit_find(str_from(texts[i]), DIM_NUMBER), u);
        assert_ptr_equal(unit_find(str_from(u->name), u->dim), u);
        assert_ptr_equal(unit_in(u, SYSTEM_US), u);
    }
    close_to(unit_to_si(unit_find(STR("lb/mm"), DIM_RATE), 1), 4448.2216152605, 1e-15);
}

static void dimensions(void **state) {
    (void)state;
    Dim d;
    assert_true(dim_mul(DIM_RATE, DIM_LENGTH) == DIM_FORCE);
    assert_true(dim_div(DIM_FORCE, DIM_AREA) == DIM_PRESSURE);
    assert_true(dim_mul(DIM_PRESSURE, DIM_FLOW) == DIM_POWER);
    assert_true(dim_mul(DIM_TORQUE, dim_div(DIM_TURNING, DIM_ANGLE)) == DIM_POWER);
    assert_true(DIM_TURNING != DIM_FREQUENCY);
    assert_true(dim_pow(DIM_AREA, 1, 2, &d) && d == DIM_LENGTH);
    assert_true(dim_pow(DIM_LENGTH, 1, 2, &d) && dim_mul(d, d) == DIM_LENGTH);
    assert_false(dim_pow(DIM_LENGTH, 1, 4, &d));
    assert_true(dim_pow(DIM_LENGTH, -3, 1, &d) && d == DIM(-3, 0, 0, 0, 0));
    assert_true(dim_pow(DIM_LENGTH, 31, 1, &d) && d == DIM(31, 0, 0, 0, 0));
    d = 77;
    assert_false(dim_pow(DIM_LENGTH, 32, 1, &d));
    assert_false(dim_pow(DIM_LENGTH, -32, 1, &d));
    assert_false(dim_pow(DIM_LENGTH, 1, 0, &d));
    assert_true(d == 77); /* set on success alone */
    assert_true(dim_pow(DIM_FORCE, 0, 1, &d) && d == DIM_NUMBER);
    assert_string_equal(dim_name(DIM_RATE), "force over length");
    assert_string_equal(dim_name(DIM(9, 0, 0, 0, 0)), "");
}

/* Past 63 in halves of an exponent there is no dimension: nothing leads round or back to one. */
static void dimensions_run_over(void **state) {
    (void)state;
    Dim many = DIM_LENGTH, d;
    for (int i = 1; i < 63; i++)
        many = dim_mul(many, DIM_LENGTH);
    assert_true(dim_div(many, dim_div(many, DIM_LENGTH)) == DIM_LENGTH);
    many = dim_mul(many, DIM_LENGTH);
    assert_true(many == DIM_OVER);
    for (int i = 0; i < 400; i++)
        many = dim_div(many, DIM_LENGTH);
    assert_true(many == DIM_OVER && dim_mul(many, DIM_LENGTH) == DIM_OVER);
    assert_true(dim_div(DIM_LENGTH, many) == DIM_OVER);
    assert_true(dim_div(many, many) == DIM_OVER);
    assert_false(dim_pow(many, 1, 1, &d));
    assert_false(dim_pow(many, 0, 1, &d));
    for (int i = 0; i < 70; i++)
        d = i ? dim_div(d, DIM_TIME) : DIM_NUMBER;
    assert_true(d == DIM_OVER);
    assert_non_null(unit_find(STR("m9 m9 m9 m9 m9 m9 m9"), DIM_NUMBER));
    assert_null(unit_find(STR("m9 m9 m9 m9 m9 m9 m9 m"), DIM_NUMBER));
    assert_null(unit_find(STR("m9 m9 m9 m9 m9 m9 m9 m9"), DIM_NUMBER));
}

/* As many factors as an expression may have, and one more; endless ones at once. */
static void expressions_have_limits(void **state) {
    (void)state;
    static char text[1 << 20];
    assert_non_null(unit_find(STR("m m m m m m m m"), DIM_LENGTH));
    assert_null(unit_find(STR("m m m m m m m m m"), DIM_LENGTH));
    memset(text, 'm', sizeof text);
    assert_null(unit_find((Str){text, sizeof text}, DIM_LENGTH));
    memset(text, '/', sizeof text);
    assert_null(unit_find((Str){text, sizeof text}, DIM_LENGTH));
    assert_null(unit_advice((Str){text, sizeof text}));
    memset(text, ' ', sizeof text);
    assert_null(unit_find((Str){text, sizeof text}, DIM_LENGTH));
}

static void *find_many(void *out) {
    const Unit **found = out;
    for (int i = 0; i < 20000; i++) {
        char text[] = "in1 s1 kg1";
        text[2] = (char)('2' + i % 8);
        text[5] = (char)('2' + i / 8 % 8);
        found[i % 64] = unit_find(str_from(text), DIM_NUMBER);
        if (unit_find(STR("ft-lb"), DIM_TORQUE)->dim != DIM_TORQUE) return NULL;
    }
    return out;
}

static void two_threads_make_each_unit_once(void **state) {
    (void)state;
    static const Unit *found[2][64];
    pthread_t threads[2];
    void *ended;
    for (int i = 0; i < 2; i++)
        assert_int_equal(pthread_create(&threads[i], NULL, find_many, (void *)found[i]), 0);
    for (int i = 0; i < 2; i++) {
        pthread_join(threads[i], &ended);
        assert_non_null(ended);
    }
    for (int i = 0; i < 64; i++) {
        assert_non_null(found[0][i]);
        assert_ptr_equal(found[0][i], found[1][i]);
    }
}

/* For tests/units_gnu.sh: what one of each is in SI, its dimension as exponents. */
static int list(void) {
    size_t count;
    const Unit *rows = unit_rows(&count);
    for (size_t i = 0; i < count; i++) {
        printf("%s|%.17g|%.17g", rows[i].name, unit_to_si(&rows[i], 1) - rows[i].offset,
               rows[i].offset);
        for (int base = 0; base < 5; base++)
            printf("|%d", (int8_t)(uint8_t)(rows[i].dim >> 8 * base) / 2);
        printf("\n");
    }
    return 0;
}

int main(int argc, char **argv) {
    static Rows all;
    size_t count;
    const Unit *rows = unit_rows(&count);
    if (argc > 1 && strcmp(argv[1], "--list") == 0) return list();
    rows_add(&all, "two threads", two_threads_make_each_unit_once,
             NULL); /* first: they make the index */
    ROWS(&all, find_rows, find_row);
    ROWS(&all, factor_rows, factor_row);
    for (size_t i = 0; i < count; i++)
        rows_add(&all, rows[i].name, table_row, &rows[i]);
    rows_add(&all, "advice", advice_is_given, NULL);
    rows_add(&all, "power constants", power_constants, NULL);
    rows_add(&all, "temperatures", temperatures, NULL);
    rows_add(&all, "unique names", names_are_unique_in_a_dimension, NULL);
    rows_add(&all, "made units", made_units_last, NULL);
    rows_add(&all, "dimensions", dimensions, NULL);
    rows_add(&all, "dimensions run over", dimensions_run_over, NULL);
    rows_add(&all, "limits", expressions_have_limits, NULL);
    return rows_run(&all, "units");
}
