/*
 * The subjects of a job: places, banks, heads, items and sets, found by what they are in a table of
 * open addressing; and how they are called.
 */
#include "compute/bind.h"

#include "base/hash.h"

static SubjectId under_of(const Subject *s) {
    if (s->kind == SUBJECT_CARRIED) return s->home;
    if (s->kind == SUBJECT_ITEM && s->number) return s->up;
    return SUBJECT_NONE;
}

static uint32_t key_slot(const Binder *b, const SubjectKey *k) {
    uint64_t h = (k->what ^ k->under * 0x9E3779B97F4A7C15u) * 0xC2B2AE3D27D4EB4Fu;
    return (uint32_t)(h ^ h >> 32) & (b->table_room - 1);
}

static bool has_own_name(const Subject *s) {
    return s->kind == SUBJECT_SET || s->kind == SUBJECT_BANK || s->kind == SUBJECT_CARRIER;
}

/* Sets, banks and heads are told apart by their name in any case: s31 is S31. */
static SubjectKey name_key(ClassId cls, Str name) {
    char folded[64];
    uint64_t h = name.n;
    for (size_t at = 0; at < name.n; at += sizeof folded) {
        size_t n = name.n - at < sizeof folded ? name.n - at : sizeof folded;
        for (size_t i = 0; i < n; i++)
            folded[i] = to_lower(name.p[at + i]);
        h = h * 0x9E3779B97F4A7C15u ^ hash_bytes((Str){folded, n});
    }
    return (SubjectKey){(uint64_t)cls << 48 | h >> 16, 0};
}

static void table_put(Binder *b, SubjectId id) {
    uint32_t at = key_slot(b, &b->keys[id]);
    while (b->table[at])
        at = (at + 1) & (b->table_room - 1);
    b->table[at] = id + 1;
}

void subject_table_grow(Binder *b) {
    b->table_room = b->table_room ? b->table_room * 2 : 256;
    b->table = arena_array(b->job->arena, b->table_room, sizeof *b->table);
    for (SubjectId id = 0; id < b->job->subject_count; id++)
        table_put(b, id);
}

static SubjectId table_find(const Binder *b, const SubjectKey *k) {
    if (!b->table_room) return SUBJECT_NONE;
    for (uint32_t at = key_slot(b, k); b->table[at]; at = (at + 1) & (b->table_room - 1)) {
        if (same_key(&b->keys[b->table[at] - 1], k)) return b->table[at] - 1;
    }
    return SUBJECT_NONE;
}

SubjectId subject_look_up(const Binder *b, ClassId cls, SubjectKey key) {
    SubjectId id = table_find(b, &key);
    if (id != SUBJECT_NONE) b->behind[cls] = id + 1;
    return id;
}

/* The one of a class that has a name; else SUBJECT_NONE, and the key for it. Names of one hash are
 * numbered in their keys. */
static SubjectId find_named(const Binder *b, ClassId cls, Str name, SubjectKey *key) {
    *key = name_key(cls, name);
    for (SubjectId id; (id = table_find(b, key)) != SUBJECT_NONE; key->under++) {
        if (str_ieq(b->job->subjects[id].name, name)) return id;
    }
    return SUBJECT_NONE;
}

static SubjectKey key_of(const Binder *b, const Subject *s) {
    SubjectKey key = subject_key(s->cls, under_of(s), s->letter, s->number, s->suffix);
    if (has_own_name(s)) find_named(b, s->cls, s->name, &key);
    return key;
}

void subjects_grow(Binder *b, SubjectList *list) {
    arena_grow(b->job->arena, list->ids, list->count, list->room);
}

/* The bit of a name's length: that of which no name is need not be looked for. */
static uint32_t length_bit(Str name) {
    return (uint32_t)1 << (name.n < 31 ? name.n : 31);
}

SubjectId subject_add(Binder *b, const Subject *s) {
    Job *j = b->job;
    if (b->look_only) return SUBJECT_NONE;
    if (j->subject_count >= SUBJECT_MOST) {
        fault(b, TOO_MANY, b->line.whole, "this log names more than %u places and items; split it",
              (unsigned)SUBJECT_MOST);
        return SUBJECT_ENGINE;
    }
    arena_grow(j->arena, j->subjects, j->subject_count, j->subject_room);
    SubjectKey key = key_of(b, s);
    SubjectId id = j->subject_count++;
    subjects_push(b, &j->classes[s->cls], id);
    if (has_own_name(s)) {
        b->name_lengths |= length_bit(s->name);
        b->named++;
    }
    if (s->kind == SUBJECT_PLACE) j->place_count[s->cls]++;
    arena_grow(j->arena, b->keys, id, b->keys_room);
    b->keys[id] = key;
    if ((b->table_used + 1) * 2 > b->table_room)
        subject_table_grow(b);
    else
        table_put(b, id);
    b->table_used++;
    if (id >= b->sitting_room) {
        uint32_t room = b->sitting_room ? b->sitting_room * 2 : 64;
        Sitting *grown = arena_bare_array(j->arena, room, sizeof *grown);
        if (b->sitting) memcpy(grown, b->sitting, b->sitting_room * sizeof *grown);
        b->sitting = grown;
        b->sitting_room = room;
    }
    Sitting *sit = &b->sitting[id];
    *sit = (Sitting){.at = SUBJECT_NONE, .renamed = SUBJECT_NONE};
    for (int i = 0; i < HERE_MOST; i++)
        sit->here[i] = SUBJECT_NONE;
    j->subjects[id] = *s; /* last: it was written by parts just now, and is read in larger ones */
    return id;
}

SubjectId named_subject(const Binder *b, ClassKind kind, Str name) {
    SubjectId id = SUBJECT_NONE;
    SubjectKey key;
    bool any = b->name_lengths & length_bit(name);
    for (ClassId c = 0; any && c < b->v->class_count && id == SUBJECT_NONE; c++) {
        if (b->v->classes[c].kind == kind && b->job->classes[c].count)
            id = find_named(b, c, name, &key);
    }
    return id;
}

SubjectId set_subject(Binder *b, ClassId set_class, Str name) {
    SubjectKey key;
    SubjectId id = find_named(b, set_class, name, &key);
    if (id != SUBJECT_NONE) return id;
    return subject_add(b, &(Subject){.cls = set_class,
                                     .kind = SUBJECT_SET,
                                     .up = SUBJECT_NONE,
                                     .home = SUBJECT_NONE,
                                     .name = name});
}

SubjectId item_subject(Binder *b, ClassId item_class, SubjectId set, uint32_t number) {
    SubjectId id = subject_find(b, item_class, set, 0, number, 0);
    if (id != SUBJECT_NONE) return id;
    return subject_add(b, &(Subject){.cls = item_class,
                                     .kind = SUBJECT_ITEM,
                                     .number = number,
                                     .up = set,
                                     .home = SUBJECT_NONE});
}

SubjectId item_at(Binder *b, ClassId item_class, SubjectId place, Str text) {
    const Class *k = &b->v->classes[item_class];
    uint8_t base = b->job->slot_base[item_class];
    SubjectId found = SUBJECT_NONE;
    for (uint8_t slot = 0; slot < k->slot_count; slot++) {
        SubjectId here = b->sitting[place].here[base + slot];
        if (here == SUBJECT_NONE) continue;
        if (found != SUBJECT_NONE) {
            fault(b, SUBJECT_NEEDED, text,
                  "two %.*s sit at %.*s: write the number of the one that was measured, as #3",
                  STR_ARG(k->plural), STR_ARG(text));
            return SUBJECT_NONE;
        }
        found = here;
    }
    if (found != SUBJECT_NONE) return found;
    SubjectId id = subject_add(
        b, &(Subject){.cls = item_class, .kind = SUBJECT_ITEM, .up = SUBJECT_NONE, .home = place});
    if (id == SUBJECT_NONE) return id;
    b->sitting[id].at = place;
    b->sitting[id].entry = b->entry;
    b->sitting[place].here[base] = id;
    Event *e = add_event(b, EVENT_PLACE);
    e->subject = id;
    e->subject2 = place;
    e->slot = base;
    return id;
}

/* ---- names for people ------------------------------------------------------------------------ */

Str subject_name(const Job *j, SubjectId id, Arena *a) {
    if (id == SUBJECT_NONE) return STR("-");
    const Subject *s = &j->subjects[id];
    char suffix[2] = {s->suffix ? (char)('a' + s->suffix - 1) : 0, 0};
    char letter[2] = {s->letter, 0};
    switch (s->kind) {
    case SUBJECT_BANK:
    case SUBJECT_CARRIER:
    case SUBJECT_SET: return s->name;
    case SUBJECT_PLACE:
        if (s->cls == CLASS_ENGINE) return j->vocab->classes[CLASS_ENGINE].name;
        return arena_printf(a, "%s%u%s", letter, s->number, suffix);
    case SUBJECT_CARRIED: {
        Str head = j->subjects[s->home].name;
        return arena_printf(a, "%.*s:%s%u%s", STR_ARG(head), letter, s->number, suffix);
    }
    case SUBJECT_ITEM: break;
    }
    if (s->number) return arena_printf(a, "%.*s#%u", STR_ARG(j->subjects[s->up].name), s->number);
    Str place = subject_name(j, s->home, a);
    return arena_printf(a, "%.*s at %.*s", STR_ARG(j->vocab->classes[s->cls].name), STR_ARG(place));
}
