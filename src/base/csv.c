#include "base/csv.h"

#include "base/buf.h"

enum { STATED = 5 }; /* bytes of "sep=;" */

static Str without_mark(Str text) {
    return str_starts(text, STR("\xef\xbb\xbf")) ? str_skip(text, 3) : text;
}

static bool ends_line(char c) {
    return c == '\n' || c == '\r';
}

char csv_stated(Str text) {
    text = without_mark(text);
    if (text.n < STATED || !str_ieq((Str){text.p, STATED - 1}, STR("sep="))) return 0;
    char c = text.p[STATED - 1];
    bool alone = text.n == STATED || ends_line(text.p[STATED]);
    return alone && (c == ',' || c == ';' || c == '\t') ? c : 0;
}

static bool at_end(const CsvReader *r) {
    return r->at >= r->text.n;
}

static char here(const CsvReader *r) {
    return r->text.p[r->at];
}

static void skip_blanks(CsvReader *r) {
    while (!at_end(r) && is_blank(here(r)) && here(r) != r->separator)
        r->at++;
}

/* Behind the opening quote; *closed says whether it has its end. */
static Str quoted(CsvReader *r, Arena *a, bool *closed) {
    Buf b = {0};
    *closed = false;
    while (!at_end(r)) {
        char c = here(r);
        r->at++;
        if (c == '"' && (at_end(r) || here(r) != '"')) {
            *closed = true;
            break;
        }
        if (c == '"') r->at++;
        if (c == '\n') r->line++;
        buf_putc(&b, c);
    }
    Str text = arena_str(a, buf_str(&b));
    buf_release(&b);
    return text;
}

static Str bare(CsvReader *r) {
    size_t from = r->at;
    while (!at_end(r) && here(r) != r->separator && !ends_line(here(r)))
        r->at++;
    return str_trim((Str){r->text.p + from, r->at - from});
}

static Str field(CsvReader *r, Arena *a, const char **fault) {
    skip_blanks(r);
    if (at_end(r) || here(r) != '"') return bare(r);
    bool closed;
    r->at++;
    Str text = quoted(r, a, &closed);
    if (!closed) *fault = "a quote in it is never closed";
    Str behind = bare(r);
    if (behind.n) *fault = "there is something behind a closing quote";
    return str_trim(text);
}

static void end_line(CsvReader *r) {
    if (at_end(r)) return;
    bool both = here(r) == '\r' && r->at + 1 < r->text.n && r->text.p[r->at + 1] == '\n';
    r->at += both ? 2 : 1;
    r->line++;
}

void csv_start(CsvReader *r, Str text, char separator) {
    *r = (CsvReader){.text = without_mark(text), .line = 1, .separator = separator};
    if (!csv_stated(text)) return;
    r->at = STATED;
    end_line(r);
}

bool csv_next(CsvReader *r, Arena *a, CsvRecord *out) {
    if (at_end(r)) return false;
    size_t from = r->at;
    out->count = 0;
    out->line = r->line;
    out->fault = NULL;
    for (;;) {
        Str text = field(r, a, &out->fault);
        if (out->count < CSV_FIELDS)
            out->fields[out->count++] = text;
        else
            out->fault = "it has more than 256 fields";
        if (at_end(r) || here(r) != r->separator) break;
        r->at++;
    }
    out->whole = (Str){r->text.p + from, r->at - from};
    end_line(r);
    return true;
}

enum { SNIFFED = 20 };

/* Into how many fields it parts the first records; 0 when not all into as many. */
static uint32_t parts(Str text, char separator, int records) {
    Arena *a = arena_new();
    CsvRecord *record = arena_alloc(a, sizeof *record);
    CsvReader r;
    uint32_t fields = 0;
    bool even = true;
    csv_start(&r, text, separator);
    for (int i = 0; i < records && even && csv_next(&r, a, record); i++) {
        if (record->count == 1 && !record->fields[0].n) continue;
        if (!fields) fields = record->count;
        even = record->count == fields;
    }
    arena_free(a);
    return even ? fields : 0;
}

/* By many records, where rows may be ragged by the head alone. */
char csv_sniff(Str text, bool no_comma) {
    static const char separators[] = {';', '\t', ','};
    char found = 0;
    unsigned count = 0;
    size_t tried = sizeof separators - (no_comma ? 1 : 0); /* the comma stands last */
    for (int records = SNIFFED; records > 0 && !count; records -= SNIFFED - 1) {
        for (size_t i = 0; i < tried; i++) {
            if (parts(text, separators[i], records) < 2) continue;
            found = separators[i];
            count++;
        }
        if (records == 1) break;
    }
    return count == 1 ? found : 0;
}
