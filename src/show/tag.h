/*
 * What a name of the vocabulary means, for people: everything that its block, the formulas and
 * rules that use it, and the shop say of it. No job is needed.
 */
#ifndef THOU_SHOW_TAG_H
#define THOU_SHOW_TAG_H

#include "show/table.h"
#include "vocab/vocab.h"

/* The page of one tag. width: columns of the terminal, 0 for no folding. */
void tag_text(Buf *out, const Vocab *v, TagId tag, Arena *a, int width, bool colour);
/* A line a tag: its name, its unit, what it means; in two lines each where the width is small.
 * grouped: the tags come by group, with the groups' headings. */
void tag_list_text(Buf *out, const Vocab *v, const TagId *tags, uint32_t count, bool grouped,
                   Arena *a, int width, bool colour);
/* A row a tag, for table_json and table_csv. */
Table *tag_table(const Vocab *v, const TagId *tags, uint32_t count, Arena *a);

/* Codes of findings that the vocabulary switches on for a tag; how many. */
enum { TAG_CHECKS_MOST = 12 };
unsigned tag_checks(const Tag *t, const char *codes[TAG_CHECKS_MOST]);
/* "in", "one of inline, V, flat", "words": what a value of it is. In `a`. */
Str tag_value_kind(const Tag *t, Arena *a);

#endif
