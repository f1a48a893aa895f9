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

static uint64_t key_hash(ClassId cls, SubjectId under, char letter, uint32_t number,
                         uint8_t suffix) {
    uint64_t what = (uint64_t)cls << 16 | (uint64_t)(uint8_t)letter << 8 | suffix;
    uint64_t h = ((uint64_t)under << 32 | number) ^ what * 0x9E3779B97F4A7C15u;
    h *= 0xC2B2AE3D27D4EB4Fu;
    return h ^ h >> 32;
}

/* Sets are told apart by their name in any case: s31 is S31. */
static uint32_t set_key(Str name) {
    char folded[64];
    uint64_t h = name.n;
    for (size_t at = 0; at < name.n; at += sizeof folded) {
        size_t n = name.n - at < sizeof folded ? name.n - at : sizeof folded;
        for (size_t i = 0; i < n; i++)
            folded[i] = to_lower(name.p[at + i]);
        h = h * 0x9E3779B97F4A7C15u ^ hash_bytes((Str){folded, n});
    }
    return (uint32_t)(h ^ h >> 32);
}

static uint32_t key_number(const Subject *s) {
    return s->kind == SUBJECT_SET ? set_key(s->name) : s->number;
}

static void table_put(Binder *b, SubjectId id) {
    const Subject *s = &b->job->subjects[id];
    uint64_t h = key_hash(s->cls, under_of(s), s->letter, key_number(s), s->suffix);
    uint32_t mask = b->table_room - 1;
    uint32_t at = (uint32_t)h & mask;
    while (b->table[at])
        at = (at + 1) & mask;
    b->table[at] = id + 1;
}

void subject_table_grow(Binder *b) {
    b->table_room = b->table_room ? b->table_room * 2 : 256;
    b->table = arena_array(b->job->arena, b->table_room, sizeof *b->table);
    for (SubjectId id = 0; id < b->job->subject_count; id++)
        table_put(b, id);
}

typedef struct Key {
    ClassId cls;
    char letter;
    uint8_t suffix;
    SubjectId under;
    uint32_t number;
} Key;

static bool has_key(const Subject *s, const Key *k) {
    return s->cls == k->cls && s->letter == k->letter && s->suffix == k->suffix &&
           under_of(s) == k->under && key_number(s) == k->number;
}

static SubjectId find_in_table(const Binder *b, const Key *k) {
    if (!b->table_room) return SUBJECT_NONE;
    uint32_t mask = b->table_room - 1;
    uint32_t at = (uint32_t)key_hash(k->cls, k->under, k->letter, k->number, k->suffix) & mask;
    for (; b->table[at]; at = (at + 1) & mask) {
        if (has_key(&b->job->subjects[b->table[at] - 1], k)) return b->table[at] - 1;
    }
    return SUBJECT_NONE;
}

SubjectId subject_find(const Binder *b, ClassId cls, SubjectId under, char letter, uint32_t number,
                       uint8_t suffix) {
    const Key k = {cls, letter, suffix, under, number};
    SubjectId id = b->behind[cls];
    if (id >= b->job->subject_count || !has_key(&b->job->subjects[id], &k))
        id = find_in_table(b, &k);
    if (id != SUBJECT_NONE) b->behind[cls] = id + 1;
    return id;
}

void subjects_push(Binder *b, SubjectList *list, SubjectId id) {
    arena_grow(b->job->arena, list->ids, list->count, list->room);
    list->ids[list->count++] = id;
}

SubjectId subject_add(Binder *b, Subject s) {
    Job *j = b->job;
    if (j->subject_count >= SUBJECT_MOST) {
        fault(b, TOO_MANY, b->line.whole, "this log names more than %u places and items; split it",
              (unsigned)SUBJECT_MOST);
        return SUBJECT_ENGINE;
    }
    arena_grow(j->arena, j->subjects, j->subject_count, j->subject_room);
    SubjectId id = j->subject_count++;
    j->subjects[id] = s;
    subjects_push(b, &j->classes[s.cls], id);
    b->kinds |= (uint32_t)1 << b->v->classes[s.cls].kind;
    if (s.kind == SUBJECT_PLACE) j->place_count[s.cls]++;
    if ((b->table_used + 1) * 2 > b->table_room)
        subject_table_grow(b);
    else
        table_put(b, id);
    b->table_used++;
    if (id >= b->sitting_room) {
        uint32_t room = b->sitting_room ? b->sitting_room * 2 : 64;
        Sitting *grown = arena_array(j->arena, room, sizeof *grown);
        if (b->sitting) memcpy(grown, b->sitting, b->sitting_room * sizeof *grown);
        b->sitting = grown;
        b->sitting_room = room;
    }
    Sitting *sit = &b->sitting[id];
    sit->at = sit->renamed = SUBJECT_NONE;
    for (int i = 0; i < HERE_MOST; i++)
        sit->here[i] = SUBJECT_NONE;
    return id;
}

SubjectId named_subject(const Binder *b, ClassKind kind, Str name) {
    bool any = b->kinds >> kind & 1; /* most logs name neither banks nor heads */
    for (ClassId c = 0; any && c < b->v->class_count; c++) {
        if (b->v->classes[c].kind != kind) continue;
        const SubjectList *list = &b->job->classes[c];
        for (uint32_t i = 0; i < list->count; i++) {
            if (str_ieq(b->job->subjects[list->ids[i]].name, name)) return list->ids[i];
        }
    }
    return SUBJECT_NONE;
}

SubjectId set_subject(Binder *b, ClassId set_class, Str name) {
    SubjectId id = subject_find(b, set_class, SUBJECT_NONE, 0, set_key(name), 0);
    if (id != SUBJECT_NONE) return id;
    return subject_add(b, (Subject){.cls = set_class,
                                    .kind = SUBJECT_SET,
                                    .up = SUBJECT_NONE,
                                    .home = SUBJECT_NONE,
                                    .name = name});
}

SubjectId item_subject(Binder *b, ClassId item_class, SubjectId set, uint32_t number) {
    SubjectId id = subject_find(b, item_class, set, 0, number, 0);
    if (id != SUBJECT_NONE) return id;
    return subject_add(b, (Subject){.cls = item_class,
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
        b, (Subject){.cls = item_class, .kind = SUBJECT_ITEM, .up = SUBJECT_NONE, .home = place});
    b->sitting[id].at = place;
    b->sitting[id].entry = b->entry;
    b->sitting[place].here[base] = id;
    Event *e = add_event(b, EVENT_PLACE);
    e->slot = base;
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
