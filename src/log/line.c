#include "log/line.h"

#include "base/near.h"
#include "base/utf8.h"

const FindingKind line_kinds[] = {
    {"date-form", LEVEL_ERROR, "a date or time at the start of a line that is not ISO 8601"},
    {"odd-blank", LEVEL_ERROR, "what looks like a blank and is none, where it changes the line"},
    {"heading-form", LEVEL_ERROR, "an entry heading whose title holds ` = ` or ` | `"},
    {"heading-unspaced", LEVEL_WARNING, "an entry heading with no blank line above it"},
    {"block-open", LEVEL_ERROR, "a block note `>>` that is never closed with `<<`"},
    {"block-close", LEVEL_ERROR, "a `<<` that closes no block note"},
};
const size_t line_kinds_count = sizeof line_kinds / sizeof *line_kinds;
enum { DATE_FORM, ODD_BLANK, HEADING_FORM, HEADING_UNSPACED, BLOCK_OPEN, BLOCK_CLOSE };

/* Most texts hold none of the bytes that such a character begins with. */
static bool holds_odd_blank(Str text) {
    static const char firsts[] = {'\xC2', '\xE2', '\xE3', '\xEF'};
    size_t len;
    for (size_t i = 0; i < sizeof firsts; i++) {
        if (str_find_char(text, firsts[i], 0) != SIZE_MAX)
            return utf8_odd_blank(text, 0, &len) != SIZE_MAX;
    }
    return false;
}

void line_start(LineReader *r, const Source *source, Findings *findings) {
    r->source = source;
    r->at = r->block_off = 0;
    r->in_block = r->row_parted = false;
    r->blank_before = true;
    r->findings = findings;
    row_start(&r->row);
    if (str_starts(source->text, STR("\xEF\xBB\xBF"))) r->at = 3;
    r->has_odd_blank = holds_odd_blank(str_skip(source->text, r->at));
}

static void complain(LineReader *r, int kind, Str part, const char *text) {
    if (!r->findings) return;
    finding_add(r->findings, &line_kinds[kind], r->source, line_span(r->source, part), "%s", text);
}

static bool blank_at(const char *p, const char *start, const char *end) {
    return p < start || p >= end || is_blank(*p);
}

static bool parts_line(char c) {
    return c == '=' || c == '|';
}

/* The first `=` or `|` from p on, or `end`. */
static const char *next_mark(const char *p, const char *end) {
    for (; end - p >= WORD_BYTES; p += WORD_BYTES) {
        const uint64_t text = word_at(p);
        uint64_t marks = word_noughts(text ^ WORD_OF('=')) | word_noughts(text ^ WORD_OF('|'));
        if (marks) return p + word_first(marks) / 8;
    }
    while (p < end && !parts_line(*p))
        p++;
    return p;
}

/* The first `=` or `|` with a blank (or the end of the line) on either side; NULL without one. */
static const char *separator(const char *p, const char *end) {
    for (const char *q = next_mark(p, end); q < end; q = next_mark(q + 1, end)) {
        if (blank_at(q - 1, p, end) && blank_at(q + 1, p, end)) return q;
        if (*q == '|' && q == p) return q; /* an outer bar may touch its cell */
    }
    return NULL;
}

/* Cuts a remark (`;` after a blank) off the end of *s. A value in quotes is passed over whole. */
static Str cut_remark(Str *s) {
    size_t from = 0;
    if (s->n && s->p[0] == '"') {
        size_t close = str_find_char(*s, '"', 1);
        if (close != SIZE_MAX) from = close;
    }
    for (size_t at = str_find_char(*s, ';', from); at != SIZE_MAX;
         at = str_find_char(*s, ';', at + 1)) {
        if (at > 0 && !is_blank(s->p[at - 1])) continue;
        Str remark = str_trim(str_skip(*s, at + 1));
        *s = str_trim((Str){s->p, at});
        return remark;
    }
    return (Str){0};
}

static Str title_after(Str s, size_t skip, bool *spaced) {
    *spaced = skip >= s.n || is_blank(s.p[skip]);
    return str_trim(str_skip(s, skip));
}

static void bad_date(LineReader *r, Line *out, Str part) {
    out->kind = LINE_BROKEN;
    complain(r, DATE_FORM, part,
             "this line starts like a date or a time, but not as 2026-03-02 or 2026-03-02 14:20; "
             "write it so, or put > before it to make it a note");
}

static bool says_date(Str s) {
    Date date;
    size_t len;
    return s.n && date_begins(s.p[0]) && date_read(s, &date, &len) != DATE_NONE;
}

/* `corrects 2026-03-04`, in any case: a title that only begins with the word is a title. */
static bool says_corrects(Str title) {
    Str rest = title, first = str_word(&rest);
    return str_ieq(first, STR("corrects")) &&
           (str_eq(first, STR("corrects")) || says_date(str_trim(rest)));
}

/* `correction`, `corr.`, `corects`. */
static bool nearly_says_corrects(Str word) {
    return (word.n >= 4 && str_ieq((Str){word.p, 4}, STR("corr"))) ||
           (word.n > 6 && near_distance(word, STR("corrects"), 2) <= 2);
}

/* `mends 2026-03-04`: other words for it count only right before the date. */
static bool says_mends(Str word) {
    static const char *const words[] = {"fix", "fixes", "fixed", "mends", "mended", "amends"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (str_ieq(word, str_from(words[i]))) return true;
    }
    return false;
}

/* `correction of 2026-03-04`, `this corrects 2026-03-04`: read as an entry of its own, the wrong
 * value would stand beside it as an earlier state, and the change between them as wear. */
static bool nearly_corrects(Str title) {
    bool named = false, mends = false, numbers = false;
    for (size_t i = 0; i < title.n && !numbers; i++)
        numbers = is_digit(title.p[i]);
    if (!numbers) return false; /* as of most: it holds no date */
    for (Str rest = title; rest.n; rest = str_trim(rest)) {
        if ((named || mends) && says_date(rest)) return true;
        Str word = str_word(&rest);
        named |= nearly_says_corrects(word);
        mends = says_mends(word);
    }
    return false;
}

/* `DATE [corrects DATE] title`. The date itself has been read. */
static void heading(LineReader *r, Line *out, Str s, size_t len) {
    bool spaced;
    Str title = title_after(s, len, &spaced);
    if (!spaced) {
        bad_date(r, out, s);
        return;
    }
    if (says_corrects(title)) {
        Str date = str_trim(str_skip(title, 9));
        if (date_read(date, &out->corrected, &len) != DATE_OK) {
            bad_date(r, out, date.n ? date : title);
            return;
        }
        title = title_after(date, len, &spaced);
        out->corrects = true;
    } else if (nearly_corrects(title)) { /* it heads an entry all the same */
        complain(r, HEADING_FORM, title,
                 "this reads like a correction: write `corrects` and the date of the entry right "
                 "behind the date, as `2026-03-09 corrects 2026-03-04`, or name no date here");
    }
    if (separator(title.p, title.p + title.n)) {
        out->kind = LINE_BROKEN;
        complain(r, HEADING_FORM, title,
                 "a heading's title cannot hold ` = ` or ` | `: put the reading on its own line");
        return;
    }
    out->kind = LINE_HEADING;
    out->body = title;
    if (!out->after_blank) {
        complain(r, HEADING_UNSPACED, s,
                 "this starts a new entry, but no blank line stands above it; if it is a sentence "
                 "that begins with a date, put > before it");
    }
}

/* Whether the line is another than it looks for the odd blank at `at`: it begins with it, has it
 * behind its date, in its name, or beside what would be its equals sign or a bar. In the words of a
 * note or a fact it does no harm. */
static bool blank_misleads(Str s, const char *sep, size_t at, size_t len) {
    Date date;
    size_t dated, next = at + len;
    if (sep && s.p + at < sep) return true;
    if (at == 0 && date_read(str_trim(str_skip(s, len)), &date, &dated) != DATE_NONE) return true;
    if (is_digit(s.p[0]) && date_read(s, &date, &dated) != DATE_NONE && dated == at) return true;
    if (sep && *sep == '=') return false;
    return (at > 0 && parts_line(s.p[at - 1])) || (next < s.n && parts_line(s.p[next]));
}

/* AltGr, held a moment too long behind a bar, makes a no-break space of the blank after it: the
 * line looks right, and would be a note. */
static bool odd_blank(LineReader *r, Line *out, Str s) {
    size_t len = 0;
    if (s.p[0] == '>' || s.p[0] == ';') return false;
    const char *sep = separator(s.p, s.p + s.n);
    for (size_t at = 0; (at = utf8_odd_blank(s, at, &len)) != SIZE_MAX; at += len) {
        if (!blank_misleads(s, sep, at, len)) continue;
        Str part = {s.p + at, len};
        out->kind = LINE_BROKEN;
        complain(
            r, ODD_BLANK, part,
            "what looks like a blank here, or like nothing, is neither space nor tab (AltGr or "
            "Option held down makes it, so does pasting): type the space anew, or put > before "
            "the line if it is a note");
        return true;
    }
    return false;
}

static bool start_of_block(LineReader *r, Line *out, Str s) {
    if (!str_eq(s, STR(">>"))) return false;
    r->in_block = true;
    r->block_off = line_span(r->source, s).off;
    out->body = (Str){0};
    return true;
}

static void quoted(LineReader *r, Line *out, Str s) {
    out->kind = LINE_NOTE;
    out->quoted_note = true;
    if (start_of_block(r, out, s)) return;
    out->body = str_trim(str_skip(s, 1));
}

static void in_block(LineReader *r, Line *out, Str s) {
    out->kind = LINE_NOTE;
    out->quoted_note = true;
    out->body = s;
    if (!str_eq(s, STR("<<"))) return;
    out->body = (Str){0};
    r->in_block = false;
}

static void divided(Line *out, Str s, const char *sep) {
    const char *p = s.p, *end = s.p + s.n;
    if (p[0] == 'x' && s.n > 1 && is_blank(p[1])) {
        out->struck = true;
        p++;
    }
    if (*sep == '|') {
        out->kind = LINE_GRID;
        out->body = str_between(p, end);
        out->remark = cut_remark(&out->body);
        return;
    }
    out->kind = LINE_READING;
    out->left = str_between(p, sep);
    out->right = str_between(sep + 1, end);
    out->remark = cut_remark(&out->right);
}

/* `#7 | 182`, as most rows of a grid of springs begin. */
static bool names_item(Str s) {
    size_t i = 0;
    while (i < s.n && is_digit(s.p[i]))
        i++;
    while (i < s.n && is_blank(s.p[i]))
        i++;
    return i == s.n || s.p[i] == '|' || s.p[i] == '=';
}

/* `#` and `[` always; a list's marks and a bracket only where a heading would stand. */
static bool dresses_date(char c, bool heads) {
    return c == '#' || c == '[' || (heads && (c == '-' || c == '*' || c == '(' || c == '.'));
}

/* `x`, `Date:`, and where a heading would stand `Mon` and `Monday,`. */
static bool word_before_date(Str word, bool heads) {
    static const char *const days[] = {"monday", "tuesday",  "wednesday", "thursday",
                                       "friday", "saturday", "sunday"};
    while (word.n &&
           (word.p[word.n - 1] == ':' || word.p[word.n - 1] == ',' || word.p[word.n - 1] == '.'))
        word.n--;
    if (str_ieq(word, STR("x")) || str_ieq(word, STR("date"))) return true;
    for (size_t i = 0; i < sizeof days / sizeof *days && heads && word.n >= 3; i++) {
        Str day = str_from(days[i]);
        if (word.n <= day.n && str_ieq(word, (Str){day.p, word.n})) return true;
    }
    return false;
}

static bool may_precede_date(char c, bool heads) {
    switch (to_lower(c)) {
    case 'x':
    case 'd': return true;
    case 'm':
    case 't':
    case 'w':
    case 'f':
    case 's': return heads;
    default: return false;
    }
}

/* A heading that other programs' habits dress up, or that was meant to be struck: `# 2026-03-02`,
 * `[2026-03-02]`, `x 2026-03-02`, `Date: 2026-03-02`, `Mon 2026-03-02`, `March 2, 2026`. `heads`: a
 * blank line is above, as a heading's should be. */
static bool hidden_date(Str s, bool heads) {
    Str rest = s;
    if (is_alpha(s.p[0])) {
        if (says_date(s)) return true;
        if (!may_precede_date(s.p[0], heads) || !word_before_date(str_word(&rest), heads))
            return false;
    } else if (!dresses_date(s.p[0], heads)) {
        return false;
    }
    while (rest.n && (is_blank(rest.p[0]) || rest.p[0] == ':' || dresses_date(rest.p[0], heads)))
        rest = str_skip(rest, 1);
    bool begins = rest.n && (is_digit(rest.p[0]) || (heads && is_alpha(rest.p[0])));
    return begins && !names_item(rest) && says_date(rest);
}

static void classify(LineReader *r, Line *out, Str s) {
    if (r->has_odd_blank && odd_blank(r, out, s)) return;
    if (s.p[0] == '>') {
        quoted(r, out, s);
        return;
    }
    if (s.p[0] == ';') { /* a remark on a line of its own */
        out->kind = LINE_NOTE;
        out->body = s;
        return;
    }
    if (hidden_date(s, out->after_blank)) {
        bad_date(r, out, s);
        return;
    }
    if (is_digit(s.p[0])) {
        size_t len;
        DateFault fault = date_read(s, &out->date, &len);
        if (fault == DATE_OK) {
            heading(r, out, s, len);
            return;
        }
        if (fault != DATE_NONE) {
            bad_date(r, out, s);
            return;
        }
    }
    const char *sep = separator(s.p, s.p + s.n);
    if (sep) {
        divided(out, s, sep);
        return;
    }
    out->kind = LINE_NOTE;
    out->body = s;
    if (str_eq(s, STR("<<"))) {
        out->kind = LINE_BROKEN;
        complain(r, BLOCK_CLOSE, s, "this closes a block note, but none was opened with >>");
    }
}

static void end_of_text(LineReader *r, Line *out) {
    out->kind = LINE_END;
    if (!r->in_block) return;
    r->in_block = false;
    complain(
        r, BLOCK_OPEN, (Str){r->source->text.p + r->block_off, 2},
        "this block note is never closed: everything after it is taken as note; write << alone "
        "on a line where it ends");
}

/* Most lines: a row of numbers. Gives the line feed behind it; NULL when it is another line. */
static const char *plain_row(LineReader *r, Line *out, const char *p, const char *end) {
    if (r->in_block) return NULL;
    while (p < end && is_blank(*p))
        p++;
    const char *feed = row_begins(p, end) ? row_plain(p, end, &r->row) : NULL;
    if (!feed) return NULL;
    Str last = r->row.cells[r->row.count - 1].text;
    out->kind = LINE_GRID;
    out->body = (Str){p, (size_t)(last.p + last.n - p)};
    r->blank_before = false;
    return feed;
}

/* The line from p to its line feed, or to the text's end. */
static void take_line(LineReader *r, Line *out, const char *p, const char *feed) {
    const Str text = r->source->text;
    r->at = (uint32_t)(feed - text.p) + (feed < text.p + text.n);
    if (feed > p && feed[-1] == '\r') feed--;
    out->whole = (Str){p, (size_t)(feed - p)};
}

static void other_line(LineReader *r, Line *out) {
    Str s = str_between(out->whole.p, out->whole.p + out->whole.n);
    r->blank_before = s.n == 0;
    if (r->in_block)
        in_block(r, out, s);
    else if (s.n == 0)
        out->kind = LINE_BLANK;
    else
        classify(r, out, s);
}

void line_next(LineReader *r, Line *out) {
    Str text = r->source->text;
    *out = (Line){.off = r->at, .after_blank = r->blank_before};
    if (r->at >= text.n) {
        end_of_text(r, out);
        return;
    }
    const char *p = text.p + r->at, *end = text.p + text.n, *feed = plain_row(r, out, p, end);
    r->row_parted = feed != NULL;
    if (!feed) feed = memchr(p, '\n', (size_t)(end - p));
    take_line(r, out, p, feed ? feed : end);
    if (!r->row_parted) other_line(r, out);
}

bool line_next_row(LineReader *r, Line *row) {
    const Str text = r->source->text;
    const uint32_t off = r->at;
    const char *p = text.p + off, *feed = plain_row(r, row, p, text.p + text.n);
    if (!feed) return false;
    take_line(r, row, p, feed);
    row->off = off;
    row->after_blank = false;
    return true;
}

bool line_ruled(Str body) {
    bool dash = false;
    for (size_t i = 0; i < body.n; i++) {
        char c = body.p[i];
        if (c == '-' || c == '=' || c == '+')
            dash = true;
        else if (c != '|' && c != ':' && !is_blank(c))
            return false;
    }
    return dash;
}
