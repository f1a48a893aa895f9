#include "vocab/parts.h"

const FindingKind vocab_kinds[] = {
    [K_LINE] = {"vocab-line", LEVEL_ERROR, "a line that a vocabulary has no place for"},
    [K_NOTE] = {"vocab-note", LEVEL_WARNING, "a note that begins like a property"},
    [K_PROPERTY] = {"vocab-property", LEVEL_ERROR, "a property that its block does not have"},
    [K_TWICE] = {"vocab-twice", LEVEL_ERROR, "a name or property that is there already"},
    [K_NAME] = {"vocab-name", LEVEL_ERROR, "a name that can't be declared"},
    [K_VALUE] = {"vocab-value", LEVEL_ERROR, "a property's value that can't be read"},
    [K_UNIT] = {"vocab-unit", LEVEL_ERROR, "a unit that is unknown or does not fit"},
    [K_CLASS] = {"vocab-class", LEVEL_ERROR, "a class that is unknown or does not fit"},
    [K_TAG] = {"vocab-tag", LEVEL_ERROR, "a tag that is unknown or does not fit"},
    [K_MISSING] = {"vocab-missing", LEVEL_ERROR, "a block lacks a property it needs"},
    [K_LIMIT] = {"vocab-limit", LEVEL_ERROR, "a shop's limit or aim that can't be read"},
    [K_IMPLAUSIBLE] = {"vocab-implausible", LEVEL_WARNING,
                       "a shop's limit or aim where no plausible value lies"},
    [K_AIM] = {"vocab-aim", LEVEL_WARNING, "a shop's aim that its limit excludes"},
    [K_FULL] = {"vocab-full", LEVEL_ERROR, "more of a thing than a vocabulary can hold"},
    [K_SYNTAX] = {"formula-syntax", LEVEL_ERROR, "a formula that can't be read"},
    [K_DEEP] = {"formula-deep", LEVEL_ERROR, "a formula nested too deep or too long"},
    [K_FORMULA_NAME] = {"formula-name", LEVEL_ERROR, "a name in a formula that is not declared"},
    [K_FORMULA_UNIT] = {"formula-unit", LEVEL_ERROR, "units in a formula that do not fit"},
    [K_FORMULA_PLACE] = {"formula-place", LEVEL_ERROR, "a name that can't be read from its place"},
    [K_CURVE] = {"formula-curve", LEVEL_ERROR, "a curve, spot or fact used as a number"},
    [K_CYCLE] = {"formula-cycle", LEVEL_ERROR, "formulas that need each other"},
};
const size_t vocab_kinds_count = sizeof vocab_kinds / sizeof *vocab_kinds;
_Static_assert(sizeof vocab_kinds / sizeof *vocab_kinds == K_COUNT, "a row for each kind");
