/*
 * CSV by RFC 4180 (section 2 has the grammar; each row below says which of its rules it is about),
 * with the extensions csv.h states; and the lines of gauges.
 */
#include "base/csv.h"
#include "base/buf.h"
#include "base/pattern.h"
#include "rows.h"

#include <string.h>

typedef struct Row {
    const char *name;
    char separator;
    const char *text, *back; /* fields in <>, records by / with their line, ! before a faulty one */
} Row;

static const Row rows[] = {
    {"rule 1: records by CRLF", ',', "a,b\r\nc,d\r\n", "1<a><b>/2<c><d>/"},
    {"rule 2: no last line end", ',', "a,b\r\nc,d", "1<a><b>/2<c><d>/"},
    {"rule 4: an empty last field", ',', "a,b,\n", "1<a><b><>/"},
    {"rule 5: quotes", ',', "\"a\",\"b\"\n", "1<a><b>/"},
    {"rule 6: a line end in quotes", ',', "\"a\r\nb\",c\nd,e\n", "1<a\r\nb><c>/3<d><e>/"},
    {"rule 6: a separator in quotes", ',', "\"a,b\",c\n", "1<a,b><c>/"},
    {"rule 7: a doubled quote", ',', "\"a\"\"b\",\"\"\"\"\n", "1<a\"b><\">/"},
    {"empty quotes", ',', "\"\",x\n", "1<><x>/"},
    {"LF alone, CR alone", ',', "a\nb\rc\r\n", "1<a>/2<b>/3<c>/"},
    {"empty lines", ',', "\n\na\n", "1<>/2<>/3<a>/"},
    {"byte-order mark", ',',
     "\xef\xbb\xbf"
     "a,b\n",
     "1<a><b>/"},
    {"byte-order mark and quote", ',', "\xef\xbb\xbf\"a\",b\n", "1<a><b>/"},
    {"blanks around", ',', " a , b \n", "1<a><b>/"},
    {"blanks around quotes", ',', " \"a\" ,b\n", "1<a><b>/"},
    {"a quote within", ',', "a\"b,c\n", "1<a\"b><c>/"},
    {"semicolons", ';', "a,b;c\n", "1<a,b><c>/"},
    {"tabs", '\t', "a\t\tb\n", "1<a><><b>/"},
    {"nothing", ',', "", ""},
    {"a first line that states the separator", ';', "sep=;\r\na;b\n", "2<a><b>/"},
    {"it may stand behind a byte-order mark", ',', "\xef\xbb\xbfSEP=,\na,b\n", "2<a><b>/"},
    {"it states nothing when there is more", ';', "sep=;x\n", "1<sep=><x>/"},
    {"nor with what parts no columns", '|', "sep=|\na", "1<sep=><>/2<a>/"},
    {"nor further down", ';', "a\nsep=;\n", "1<a>/2<sep=><>/"},
    {"it alone", ';', "sep=;", ""},
    {"an open quote takes the rest", ',', "a,\"b\nc,d\n", "!1<a><b\nc,d\n>/"},
    {"text behind a quote", ',', "\"a\"b,c\n", "!1<a><c>/"},
    {"text behind a quote harms no other", ',', "\"a\"b\nc\n", "!1<a>/2<c>/"},
};

static void csv_row(void **state) {
    const Row *row = *state;
    Arena *a = arena_new();
    CsvRecord *record = arena_alloc(a, sizeof *record);
    CsvReader r;
    Buf b = {0};
    csv_start(&r, str_from(row->text), row->separator);
    while (csv_next(&r, a, record)) {
        buf_printf(&b, "%s%u", record->fault ? "!" : "", record->line);
        for (uint32_t i = 0; i < record->count; i++)
            buf_printf(&b, "<%.*s>", STR_ARG(record->fields[i]));
        buf_putc(&b, '/');
    }
    buf_putc(&b, '\0');
    assert_string_equal(b.p, row->back);
    buf_release(&b);
    arena_free(a);
}

static void most_fields(void **state) {
    (void)state;
    Arena *a = arena_new();
    CsvRecord *record = arena_alloc(a, sizeof *record);
    Buf b = {0};
    buf_fill(&b, ',', CSV_FIELDS - 1);
    CsvReader r;
    csv_start(&r, buf_str(&b), ',');
    assert_true(csv_next(&r, a, record));
    assert_int_equal(record->count, CSV_FIELDS);
    assert_null(record->fault);
    buf_putc(&b, ',');
    csv_start(&r, buf_str(&b), ',');
    assert_true(csv_next(&r, a, record));
    assert_non_null(record->fault);
    buf_release(&b);
    arena_free(a);
}

typedef struct Sniff {
    const char *name, *text;
    bool no_comma;
    char back;
} Sniff;

static const Sniff sniffs[] = {
    {"commas", "a,b\n1,2\n", false, ','},
    {"semicolons", "a;b\n1;2\n", false, ';'},
    {"tabs", "a\tb\n1\t2\n", false, '\t'},
    {"decimal commas", "a;b\n1,5;2\n1,5;2,5\n", false, ';'},
    {"as many commas as semicolons", "a;b\n", false, ';'},
    {"could be both", "a;b,c\n1;2,3\n", false, 0},
    {"could be both, commas are decimal", "a;b,c\n1;2,3\n", true, ';'},
    {"stated and seen alike", "sep=;\na;b\n1;2\n", false, ';'},
    {"one column", "a\n1\n", false, 0},
    {"a ragged row", "a;b;c\n1;2,5;3\n1;2\n", false, ';'},
    {"nothing", "", false, 0},
    {"in quotes it does not count", "\"a;b\",c\n\"1;2\",3\n", false, ','},
};

static void sniff_row(void **state) {
    const Sniff *row = *state;
    assert_int_equal(csv_sniff(str_from(row->text), row->no_comma), row->back);
}

typedef struct Line {
    const char *name, *pattern, *line, *number, *unit; /* number NULL: it does not fit */
} Line;

static const Line lines[] = {
    {"the number alone", "VALUE", "44.8", "44.8", ""},
    {"signed", "VALUE", " +044.80 ", "+044.80", ""},
    {"a fraction", "VALUE", "1-3/4", "1-3/4", ""},
    {"more than the number", "VALUE", "44.8 cc", NULL, NULL},
    {"with its unit", "VALUE UNIT", "44.8 cc", "44.8", "cc"},
    {"glued", "VALUE UNIT", "44.8cc", "44.8", "cc"},
    {"a unit with a slash", "VALUE UNIT", "300 lbf/in", "300", "lbf/in"},
    {"no unit", "VALUE UNIT", "44.8", NULL, NULL},
    {"literals", "01A+VALUE", "01A+0044.8", "0044.8", ""},
    {"another literal", "01A+VALUE", "02A+0044.8", NULL, NULL},
    {"case matters", "N VALUE", "n 1", NULL, NULL},
    {"anything in front", "...VALUE", "ID: 44.8", "44.8", ""},
    {"anything behind", "VALUE ...", "44.8 mm ok", "44.8", ""},
    {"anything, a literal, the number", "... L=VALUE UNIT ...", "T 20.1 L=44.8 N ok", "44.8", "N"},
    {"the first that fits", "... VALUE ...", "a 1 b 2", "1", ""},
    {"never the end of digits", "1...VALUE", "123", NULL, NULL},
    {"never behind a point", "...VALUE", "1.2.3", NULL, NULL},
    {"never behind a comma", "...VALUE", "44,8", NULL, NULL},
    {"never a part of an exponent", "...VALUE", "1e3", NULL, NULL},
    {"blanks are any blanks", "N VALUE", "N\t\t 3", "3", ""},
    {"and none", "N VALUE", "N3", "3", ""},
    {"an empty line", "VALUE", "", NULL, NULL},
    {"a word", "VALUE", "ERR", NULL, NULL},
};

static void line_row(void **state) {
    const Line *row = *state;
    Str number, unit;
    bool fits = pattern_fits(str_from(row->pattern), str_from(row->line), &number, &unit);
    assert_null(pattern_fault(str_from(row->pattern)));
    assert_int_equal(fits, row->number != NULL);
    if (!fits) return;
    assert_true(str_eq(number, str_from(row->number)));
    assert_true(str_eq(unit, str_from(row->unit)));
}

static void pattern_faults(void **state) {
    (void)state;
    char longest[PATTERN_MOST + 2] = "VALUE";
    memset(longest + 5, '.', PATTERN_MOST - 5);
    assert_null(pattern_fault(str_from(longest)));
    longest[PATTERN_MOST] = 'x';
    assert_non_null(pattern_fault(str_from(longest)));
    assert_non_null(pattern_fault(STR("N ... UNIT")));
    assert_non_null(pattern_fault(STR("")));
    assert_non_null(pattern_fault(STR("VALUE VALUE")));
    assert_non_null(pattern_fault(STR("VALUE UNIT UNIT")));
}

/* Many `...` and a long line: no more than the product of their lengths. */
static void pattern_stays_quick(void **state) {
    (void)state;
    Buf pattern = {0}, line = {0};
    Str number, unit;
    for (int i = 0; i < 40; i++)
        buf_puts(&pattern, "...a");
    buf_puts(&pattern, "...VALUE");
    buf_fill(&line, 'a', 100000);
    assert_false(pattern_fits(buf_str(&pattern), buf_str(&line), &number, &unit));
    buf_release(&pattern);
    buf_release(&line);
}

int main(void) {
    static Rows all;
    ROWS(&all, rows, csv_row);
    ROWS(&all, sniffs, sniff_row);
    ROWS(&all, lines, line_row);
    rows_add(&all, "fields at the limit and one past it", most_fields, NULL);
    rows_add(&all, "faulty patterns", pattern_faults, NULL);
    rows_add(&all, "patterns stay quick", pattern_stays_quick, NULL);
    return rows_run(&all, "csv");
}
