/* The groups of the vocabulary, and which of them the column of a tag stands in. */
#include "show/sheet_parts.h"

/* Tags that a class brings (`spring part`, `spring set`) stand in no group: they go to its first.
 */
static Str group_of(const Vocab *v, TagId tag) {
    Str group = v->tags[tag].group;
    for (TagId i = 0; !group.n && i < v->tag_count; i++) {
        if (v->tags[i].of == v->tags[tag].of) group = v->tags[i].group;
    }
    return group;
}

SheetGroups sheet_groups(const Vocab *v, Arena *a) {
    uint16_t *of = arena_array(a, v->tag_count, sizeof *of);
    SheetGroups all = {.of = of, .names = arena_array(a, v->tag_count, sizeof *all.names)};
    for (TagId tag = 0; tag < v->tag_count; tag++) {
        Str group = group_of(v, tag);
        uint16_t i = 0;
        while (i < all.count && !str_eq(all.names[i], group))
            i++;
        if (i == all.count) all.names[all.count++] = group;
        of[tag] = i;
    }
    return all;
}
