/* Lists of subjects as the index writes them. */
#include "index/internal.h"

enum { REMEMBERED = 16 };

typedef struct Named {
    SubjectId *ids;
    uint32_t count;
    Str of, places;
} Named;

struct Naming {
    const Job *job;
    Arena *arena;
    Str *names; /* by subject; made when first asked for */
    Named lists[REMEMBERED];
    uint32_t next;
};

Naming *naming_new(const Job *j, Arena *a) {
    Naming *n = arena_alloc(a, sizeof *n);
    n->job = j;
    n->arena = a;
    n->names = arena_array(a, (size_t)j->subject_count + 1, sizeof *n->names);
    return n;
}

static Str name_of(Naming *n, SubjectId id) {
    if (!n->names[id].n)
        n->names[id] = id == SUBJECT_ENGINE ? STR("engine") : subject_name(n->job, id, n->arena);
    return n->names[id];
}

/* What a name has in common with those beside it: `S31` of `S31#7`, `B:` of `B:2`. */
static size_t prefix_of(Str name) {
    size_t at = str_find_char(name, '#', 0);
    if (at != SIZE_MAX) return at;
    at = str_find_char(name, ':', 0);
    return at == SIZE_MAX ? 0 : at + 1;
}

static size_t common_prefix(Naming *n, const SubjectId *ids, uint32_t count) {
    Str first = name_of(n, ids[0]);
    size_t prefix = prefix_of(first);
    for (uint32_t i = 1; i < count; i++) {
        Str name = name_of(n, ids[i]);
        if (prefix_of(name) != prefix || memcmp(name.p, first.p, prefix) != 0) return 0;
    }
    return prefix;
}

static void write_list(Naming *n, Named *list) {
    Buf b = {0};
    size_t prefix = list->count ? common_prefix(n, list->ids, list->count) : 0;
    buf_putc(&b, '[');
    for (uint32_t i = 0; i < list->count; i++) {
        if (i) buf_putc(&b, ',');
        buf_json(&b, str_skip(name_of(n, list->ids[i]), prefix));
    }
    buf_putc(&b, ']');
    if (prefix) list->of = (Str){name_of(n, list->ids[0]).p, prefix};
    list->places = arena_str(n->arena, buf_str(&b));
    buf_release(&b);
}

void digest_names(Naming *n, const SubjectId *ids, uint32_t count, Str *of, Str *places) {
    Named *found = NULL;
    size_t size = count * sizeof *ids;
    for (uint32_t i = 0; i < REMEMBERED && !found; i++) {
        Named *list = &n->lists[i];
        if (list->ids && list->count == count && memcmp(list->ids, ids, size) == 0) found = list;
    }
    if (!found) {
        found = &n->lists[n->next++ % REMEMBERED];
        *found = (Named){.ids = arena_alloc(n->arena, size + 1), .count = count};
        if (count) memcpy(found->ids, ids, size);
        write_list(n, found);
    }
    *of = found->of;
    *places = found->places;
}
