/* What was written in the log beside its readings, entry by entry: for the shop's own page. */
#include "log/line.h"
#include "show/sheet_parts.h"

static void write_entry(Sheet *s, const Line *heading, const char **open) {
    buf_puts(s->out, *open);
    *open = "";
    char day[DATE_TEXT];
    buf_puts(s->out, "<h3><time>");
    buf_puts(s->out, date_text((Date){heading->date.day, -1}, day));
    buf_puts(s->out, "</time> ");
    buf_html(s->out, heading->body);
    buf_puts(s->out, "</h3>\n");
}

/* Headings without a note are passed over. The state at a day shows no later entry. */
void sheet_log(Sheet *s) {
    LineReader lines;
    Line line, heading = {0};
    bool told = true, any = false, counts = true;
    const char *open = "<section class=\"full log\">\n<h2>From the log</h2>\n";
    line_start(&lines, s->j->sources[0], NULL);
    for (line_next(&lines, &line); line.kind != LINE_END; line_next(&lines, &line)) {
        if (line.kind == LINE_HEADING) {
            heading = line;
            told = false;
            counts = line.date.day <= s->how->until;
        }
        if (line.kind != LINE_NOTE || !line.body.n || !counts) continue;
        if (!told) write_entry(s, &heading, &open);
        buf_puts(s->out, open);
        told = any = true;
        open = "";
        buf_puts(s->out, line.quoted_note ? "<p class=\"quoted\">" : "<p>");
        buf_html(s->out, line.body);
        buf_puts(s->out, "</p>\n");
    }
    if (any) buf_puts(s->out, "</section>\n");
}
