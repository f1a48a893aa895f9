/* Just enough of UTF-8 to line up columns and to keep what is written valid. */
#ifndef THOU_BASE_UTF8_H
#define THOU_BASE_UTF8_H

#include "base/str.h"

/* Decodes the character at the start of s (s.n > 0); *len gets its bytes. Malformed: U+FFFD and 1.
 */
uint32_t utf8_next(Str s, size_t *len);
size_t utf8_width(Str s);             /* columns on a terminal: wide East Asian 2, combining 0 */
Str utf8_clip(Str s, size_t columns); /* the longest start that fits */
/* Offset, at or after `from`, of the first character that looks like a blank or like nothing and is
 * neither space nor tab: a no-break space, one of no width, a soft hyphen. *len gets its bytes;
 * SIZE_MAX when there is none. */
size_t utf8_odd_blank(Str s, size_t from, size_t *len);
/* Offset of the first byte that is no UTF-8, or SIZE_MAX. A NUL counts as no text. */
size_t utf8_bad(Str s);

#endif
