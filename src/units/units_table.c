#include "units/units_table.h"

/*
 * A new unit is one row here. Of two rows that share a spelling the one of the wanted dimension is
 * taken, else the one whose name it is, else the first.
 *
 * Factors are written as products of what defines them, so that they can be checked by eye.
 * places_shift: the last place shown in the counterpart is never coarser than the one written, and
 * less than ten times finer (tests/unit/units.c works it out).
 */

/* Exact by definition. */
#define INCH 0.0254
#define FOOT 0.3048
#define MILE 1609.344
#define POUND 0.45359237
#define GRAVITY 9.80665
/* Exact by way of those. */
#define CUBIC_INCH (16.387064e-6)
#define POUND_FORCE 4.4482216152605
#define MINUTE 60.0
#define HOUR 3600.0
#define PI 3.14159265358979323846
#define MERCURY 13595.1 /* kg/m3, conventional */
#define WATER 1000.0    /* kg/m3, conventional */

#define EXACT "NIST SP 811: exact"
#define SI_UNIT "SI"
#define DERIVED "from the exact inch, pound and standard gravity (NIST SP 811)"
#define COLUMN "NIST SP 811: conventional column, standard gravity"

#define DIM_DENSITY DIM(-3, 1, 0, 0, 0)
#define DIM_ACCELERATION DIM(1, 0, -2, 0, 0)

#define US SYSTEM_US
#define METRIC SYSTEM_METRIC
#define BOTH SYSTEM_NONE /* used in either system */

const Unit units_table[] = {
    /* length */
    {"in", "inch inches in. ins \" \u2033 \u201D ''", DIM_LENGTH, INCH, 0, US, "mm", -1, EXACT},
    {"thou", "thous thousandth thousandths", DIM_LENGTH, INCH / 1000, 0, US, "mm", 2, EXACT},
    {"uin", "\u00B5in \u03BCin microinch microinches", DIM_LENGTH, INCH / 1e6, 0, US, "um", 2,
     EXACT},
    {"ft", "foot feet ft. ' \u2032 \u2019", DIM_LENGTH, FOOT, 0, US, "m", 1, EXACT},
    {"mile", "miles mi", DIM_LENGTH, MILE, 0, US, "km", 0, EXACT},
    {"mm", "millimetre millimetres millimeter millimeters mm.", DIM_LENGTH, 1e-3, 0, METRIC, "in",
     2, SI_UNIT},
    {"um", "\u00B5m \u03BCm micron microns micrometre micrometres micrometer micrometers",
     DIM_LENGTH, 1e-6, 0, METRIC, "thou", 2, SI_UNIT},
    {"cm", "centimetre centimetres centimeter centimeters", DIM_LENGTH, 1e-2, 0, METRIC, "in", 1,
     SI_UNIT},
    {"m", "metre metres meter meters", DIM_LENGTH, 1, 0, METRIC, "ft", 0, SI_UNIT},
    {"km", "kilometre kilometres kilometer kilometers", DIM_LENGTH, 1e3, 0, METRIC, "mile", 1,
     SI_UNIT},

    /* area */
    {"in2", "sq_in sq._in square_inch square_inches", DIM_AREA, INCH *INCH, 0, US, "cm2", 0, EXACT},
    {"mm2", "sq_mm square_millimetres square_millimeters", DIM_AREA, 1e-6, 0, METRIC, "in2", 3,
     SI_UNIT},
    {"cm2", "sq_cm square_centimetres square_centimeters", DIM_AREA, 1e-4, 0, METRIC, "in2", 1,
     SI_UNIT},

    /* volume over a depth, which is an area; as a cut's yield it is not said in square inches */
    {"cc/thou", "cc_per_thou ccs_per_thou", DIM_AREA, 1e-6 / (INCH / 1000), 0, US, "cc/mm", -1,
     EXACT},
    {"cc/mm", "", DIM_AREA, 1e-3, 0, METRIC, "cc/thou", 2, SI_UNIT},

    /* volume */
    {"cc", "ccs ccm cm3 ml millilitre millilitres milliliter milliliters", DIM_VOLUME, 1e-6, 0,
     BOTH, NULL, 0, SI_UNIT},
    {"in3", "ci cid cu_in cu._in cu.in. cubic_inch cubic_inches", DIM_VOLUME, CUBIC_INCH, 0, US,
     "cc", -1, EXACT},
    {"L", "l ltr litre litres liter liters", DIM_VOLUME, 1e-3, 0, METRIC, "in3", -1, EXACT},

    /* mass */
    {"g", "gram grams gramme grammes gm gms", DIM_MASS, 1e-3, 0, BOTH, NULL, 0, SI_UNIT},
    {"kg", "kilogram kilograms kilo kilos kgs", DIM_MASS, 1, 0, METRIC, "lb", 0, SI_UNIT},
    {"mg", "milligram milligrams", DIM_MASS, 1e-6, 0, METRIC, NULL, 0, SI_UNIT},
    {"lb", "lbs lb. lbs. pound pounds lbm", DIM_MASS, POUND, 0, US, "kg", 1, EXACT},
    {"oz", "ounce ounces oz.", DIM_MASS, POUND / 16, 0, US, "g", -1, EXACT},

    /* force */
    {"lbf", "lb lbs lb. lbs. pound pounds", DIM_FORCE, POUND_FORCE, 0, US, "N", 0, EXACT},
    {"ozf", "oz ounce ounces", DIM_FORCE, POUND_FORCE / 16, 0, US, "N", 1, EXACT},
    {"N", "newton newtons", DIM_FORCE, 1, 0, METRIC, "lbf", 1, SI_UNIT},
    {"daN", "", DIM_FORCE, 10, 0, METRIC, "lbf", 0, SI_UNIT},
    {"kN", "", DIM_FORCE, 1e3, 0, METRIC, "lbf", -2, SI_UNIT},
    {"kgf", "kg kgs kp", DIM_FORCE, GRAVITY, 0, METRIC, "lbf", 0, EXACT},

    /* force over length */
    {"lbf/in", "lb/in lbs/in lb/inch lbs/inch pounds/inch pounds_per_inch lb_per_in lbs_per_in",
     DIM_RATE, POUND_FORCE / INCH, 0, US, "N/mm", 1, DERIVED},
    {"N/mm", "", DIM_RATE, 1e3, 0, METRIC, "lbf/in", 0, SI_UNIT},
    {"kgf/mm", "kg/mm kp/mm", DIM_RATE, GRAVITY * 1e3, 0, METRIC, "lbf/in", -1, EXACT},

    /* torque, and energy, which has the same dimension */
    {"lbf ft",
     "lb-ft lbs-ft lb.ft lbft ft-lb ft-lbs ft.lb ft.lbs ftlb ftlbs foot-pound foot-pounds "
     "foot_pounds pound-feet pound_feet",
     DIM_TORQUE, POUND_FORCE *FOOT, 0, US, "N m", 0, DERIVED},
    {"lbf in",
     "lb-in lbs-in lb.in lbin in-lb in-lbs in.lb in.lbs inlb inlbs inch-pound inch-pounds "
     "inch_pounds pound-inches",
     DIM_TORQUE, POUND_FORCE *INCH, 0, US, "N m", 1, DERIVED},
    {"ozf in", "oz-in in-oz", DIM_TORQUE, POUND_FORCE / 16 * INCH, 0, US, "N m", 3, DERIVED},
    {"N m", "Nm N.m newton_metre newton_metres newton_meters", DIM_TORQUE, 1, 0, METRIC, "lbf ft",
     1, SI_UNIT},
    {"kgf m", "kg-m kgm m-kg mkg mkp kpm", DIM_TORQUE, GRAVITY, 0, METRIC, "lbf ft", 0, EXACT},
    {"J", "joule joules", DIM_TORQUE, 1, 0, METRIC, "lbf ft", 1, SI_UNIT},

    /* pressure */
    {"psi", "lb/in2 lbf/in2 lbs/in2 lb/sq_in lbs/sq_in", DIM_PRESSURE, POUND_FORCE / (INCH * INCH),
     0, US, "kPa", 0, DERIVED},
    {"kPa", "", DIM_PRESSURE, 1e3, 0, METRIC, "psi", 1, SI_UNIT},
    {"bar", "bars", DIM_PRESSURE, 1e5, 0, METRIC, "psi", -1, EXACT},
    {"Pa", "pascal pascals", DIM_PRESSURE, 1, 0, METRIC, "psi", 4, SI_UNIT},
    {"MPa", "", DIM_PRESSURE, 1e6, 0, METRIC, "psi", -2, SI_UNIT},
    {"mbar", "millibar millibars", DIM_PRESSURE, 100, 0, METRIC, "inHg", 2, EXACT},
    {"hPa", "", DIM_PRESSURE, 100, 0, METRIC, "inHg", 2, SI_UNIT},
    {"inHg", "in_Hg in-Hg in.Hg \"Hg \u2033Hg inches_of_mercury inches_Hg", DIM_PRESSURE,
     INCH *MERCURY *GRAVITY, 0, US, "kPa", 0, COLUMN},
    {"inH2O", "in_H2O in-H2O in.H2O \"H2O \u2033H2O inches_of_water inches_H2O", DIM_PRESSURE,
     INCH *WATER *GRAVITY, 0, US, "kPa", 1, COLUMN},
    {"mmHg", "mm_Hg mm-Hg", DIM_PRESSURE, 1e-3 * MERCURY *GRAVITY, 0, METRIC, "inHg", 2, COLUMN},

    /* flow */
    {"cfm", "ft3/min cu_ft/min cubic_feet_per_minute", DIM_FLOW, FOOT *FOOT *FOOT / MINUTE, 0, US,
     "L/s", 1, EXACT},
    {"L/s", "lps", DIM_FLOW, 1e-3, 0, METRIC, "cfm", 0, EXACT},
    {"L/min", "lpm", DIM_FLOW, 1e-3 / MINUTE, 0, METRIC, "cfm", 2, EXACT},
    {"m3/h", "m3/hr", DIM_FLOW, 1 / HOUR, 0, METRIC, "cfm", 1, EXACT},

    /* power */
    {"hp", "bhp horsepower", DIM_POWER, 550 * POUND_FORCE *FOOT, 0, US, "kW", 1,
     "NIST SP 811: 550 ft lbf/s"},
    {"PS", "cv metric_hp hp_metric metric_horsepower", DIM_POWER, 75 * GRAVITY, 0, METRIC, "hp", 1,
     "NIST SP 811: 75 m kgf/s"},
    {"kW", "kilowatt kilowatts", DIM_POWER, 1e3, 0, METRIC, "hp", 0, SI_UNIT},
    {"W", "watt watts", DIM_POWER, 1, 0, METRIC, "hp", 3, SI_UNIT},

    /* speed */
    {"ft/min", "fpm feet/min feet_per_minute", DIM_SPEED, FOOT / MINUTE, 0, US, "m/s", 3, EXACT},
    {"ft/s", "fps ft/sec feet/s feet_per_second", DIM_SPEED, FOOT, 0, US, "m/s", 1, EXACT},
    {"m/s", "m/sec", DIM_SPEED, 1, 0, METRIC, "ft/min", -2, SI_UNIT},
    {"mph", "mi/h miles_per_hour", DIM_SPEED, MILE / HOUR, 0, US, "km/h", 0, EXACT},
    {"km/h", "kph kmh kmph", DIM_SPEED, 1e3 / HOUR, 0, METRIC, "mph", 1, SI_UNIT},

    /* turning, frequency, angle */
    {"rpm", "rev/min r/min revs/min", DIM_TURNING, 2 * PI / MINUTE, 0, BOTH, NULL, 0,
     "2 pi rad a turn"},
    {"Hz", "hertz", DIM_FREQUENCY, 1, 0, BOTH, NULL, 0, SI_UNIT},
    {"deg", "degs degree degrees \u00B0 \u00BA", DIM_ANGLE, PI / 180, 0, BOTH, NULL, 0,
     "SI: 180 deg is pi rad"},
    {"rad", "radian radians", DIM_ANGLE, 1, 0, BOTH, NULL, 0, SI_UNIT},
    {"rev", "revs revolution revolutions turn turns", DIM_ANGLE, 2 * PI, 0, BOTH, NULL, 0,
     "2 pi rad a turn"},

    /* time */
    {"s", "sec secs second seconds", DIM_TIME, 1, 0, BOTH, NULL, 0, SI_UNIT},
    {"ms", "millisecond milliseconds", DIM_TIME, 1e-3, 0, BOTH, NULL, 0, SI_UNIT},
    {"min", "mins minute minutes", DIM_TIME, MINUTE, 0, BOTH, NULL, 0, EXACT},
    {"h", "hr hrs hour hours", DIM_TIME, HOUR, 0, BOTH, NULL, 0, EXACT},
    {"day", "days", DIM_TIME, 24 * HOUR, 0, BOTH, NULL, 0, EXACT},

    /* temperature */
    {"degC", "\u00B0C \u00BAC \u2103 C deg_C degrees_C celsius", DIM_TEMPERATURE, 1, 273.15, METRIC,
     "degF", 0, EXACT},
    {"degF", "\u00B0F \u00BAF \u2109 F deg_F degrees_F fahrenheit", DIM_TEMPERATURE, 5.0 / 9,
     459.67 * 5 / 9, US, "degC", 1, EXACT},
    {"K", "kelvin", DIM_TEMPERATURE, 1, 0, BOTH, NULL, 0, SI_UNIT},

    /* acceleration, density */
    {"m/s2", "", DIM_ACCELERATION, 1, 0, METRIC, "ft/s2", 0, SI_UNIT},
    {"ft/s2", "", DIM_ACCELERATION, FOOT, 0, US, "m/s2", 1, EXACT},
    {"gn", "g", DIM_ACCELERATION, GRAVITY, 0, BOTH, NULL, 0, EXACT},
    {"g/cm3", "g/cc g/ml", DIM_DENSITY, 1e3, 0, METRIC, "lb/in3", 2, SI_UNIT},
    {"kg/m3", "", DIM_DENSITY, 1, 0, METRIC, "lb/ft3", 2, SI_UNIT},
    {"lb/in3", "lbs/in3 lb/cu_in", DIM_DENSITY, POUND / CUBIC_INCH, 0, US, "g/cm3", -1, EXACT},
    {"lb/ft3", "lbs/ft3 lb/cu_ft", DIM_DENSITY, POUND / (FOOT * FOOT * FOOT), 0, US, "kg/m3", -1,
     EXACT},

    /* plain numbers; the one without a name is written as nothing at all */
    {"%", "percent pct", DIM_NUMBER, 0.01, 0, BOTH, NULL, 0, "a hundredth"},
    {"", "ratio number count :1 to_1", DIM_NUMBER, 1, 0, BOTH, NULL, 0, "a plain number"},
};

const size_t units_table_count = sizeof units_table / sizeof *units_table;

const Unit *unit_rows(size_t *count) {
    *count = units_table_count;
    return units_table;
}
