#include "cli/command.h"
#include "show/table.h"

#include <unistd.h>

/* A terminal gets it folded under the name; a file or a pipe as one line, to be searched. */
static void fold_message(Buf *b, Str text) {
    static const char name[] = "thou: ";
    buf_puts(b, name);
    if (isatty(STDERR_FILENO) && str_find(text, STR("\n"), 0) == SIZE_MAX) {
        fold_text(b, text, (int)out_width(STDERR_FILENO), (int)sizeof name - 1);
    } else {
        buf_add(b, text);
        buf_putc(b, '\n');
    }
}

void complain(const char *format, ...) {
    Buf b = {0}, said = {0};
    va_list list;
    va_start(list, format);
    buf_vprintf(&said, format, list);
    va_end(list);
    fold_message(&b, buf_str(&said));
    Str text = buf_str(&b);
    /* One write, so that lines of two programs do not mix; where it fails, nobody is listening. */
    ssize_t written = write(STDERR_FILENO, text.p, text.n);
    (void)written;
    buf_release(&b);
    buf_release(&said);
}
