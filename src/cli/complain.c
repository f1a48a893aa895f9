#include "cli/command.h"

#include <unistd.h>

void complain(const char *format, ...) {
    Buf b = {0};
    va_list list;
    buf_puts(&b, "thou: ");
    va_start(list, format);
    buf_vprintf(&b, format, list);
    va_end(list);
    buf_putc(&b, '\n');
    Str text = buf_str(&b);
    /* One write, so that lines of two programs do not mix; where it fails, nobody is listening. */
    ssize_t written = write(STDERR_FILENO, text.p, text.n);
    (void)written;
    buf_release(&b);
}
