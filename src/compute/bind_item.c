/* Things that move: which item sits where, sets in use, part cards, scrap. */
#include "base/utf8.h"
#include "compute/bind.h"

#include <math.h>

ClassId item_class_of(const Binder *b, TagId tag, uint8_t *slot) {
    for (ClassId c = 0; c < b->v->class_count; c++) {
        const Class *k = &b->v->classes[c];
        if (k->kind != CLASS_ITEM) continue;
        for (uint8_t i = 0; i < k->slot_count; i++) {
            if (k->placement[i] != tag) continue;
            *slot = i;
            return c;
        }
        *slot = 0;
        if (k->set_tag == tag || k->part_tag == tag) return c;
    }
    return CLASS_NONE;
}

bool read_items(Binder *b, ClassId item_class, Str text, SubjectList *out) {
    out->count = 0;
    SubjectId known = known_subject(b, item_class, text);
    if (known != SUBJECT_NONE) {
        subjects_push(b, out, known);
        return true;
    }
    for (Str rest = text, word; (word = str_word(&rest)).n;) {
        if (word.p[word.n - 1] == ',') word.n--;
        if (!word.n) continue;
        if (str_ieq(word, STR("-")) || str_ieq(word, STR("none"))) {
            subjects_push(b, out, SUBJECT_NONE);
            continue;
        }
        if (str_find_char(word, '#', 0) == SIZE_MAX) {
            fault(b, UNKNOWN_SUBJECT, word,
                  "`%.*s` is no numbered %.*s: write #7, or S31#7 with its set, or none",
                  STR_ARG(word), STR_ARG(b->v->classes[item_class].name));
            return false;
        }
        SubjectList one = {0};
        if (!read_subjects(b, item_class, word, &one)) return false;
        for (uint32_t i = 0; i < one.count; i++)
            subjects_push(b, out, one.ids[i]);
    }
    return out->count > 0;
}

static void take_out(Binder *b, SubjectId place, uint8_t here) {
    SubjectId item = b->sitting[place].here[here];
    if (item == SUBJECT_NONE) return;
    b->sitting[place].here[here] = SUBJECT_NONE;
    b->sitting[item].at = SUBJECT_NONE;
}

/* An unnamed thing that was measured here in this entry takes the name of what is said to sit here.
 */
static void name_unnamed(Binder *b, SubjectId place, uint8_t here, SubjectId item) {
    SubjectId old = b->sitting[place].here[here];
    if (old == SUBJECT_NONE || b->job->subjects[old].number) return;
    if (b->sitting[old].entry == b->entry) b->sitting[old].renamed = item;
}

static bool may_sit(Binder *b, SubjectId item, Str text) {
    const Sitting *sit = &b->sitting[item];
    if (sit->scrapped) {
        fault(b, ITEM_SCRAPPED, text, "%.*s was scrapped above; a scrapped part cannot be fitted",
              STR_ARG(subject_name(b->job, item, b->job->arena)));
        return false;
    }
    if (sit->at != SUBJECT_NONE && sit->entry == b->entry && b->job->subjects[item].number) {
        Str place = subject_name(b->job, sit->at, b->job->arena);
        Str name = subject_name(b->job, item, b->job->arena);
        fault(
            b, ITEM_TWICE, text,
            "%.*s sits at %.*s already in this entry; if it was moved, empty that place first with "
            "`%.*s %.*s = none`",
            STR_ARG(name), STR_ARG(place), STR_ARG(b->v->classes[b->job->subjects[item].cls].name),
            STR_ARG(place));
        return false;
    }
    return true;
}

static void empty(Binder *b, ClassId c, uint8_t slot, SubjectId place) {
    take_out(b, place, (uint8_t)(b->job->slot_base[c] + slot));
    Event *e = add_event(b, EVENT_EMPTY);
    e->subject2 = place;
    e->slot = (uint8_t)(b->job->slot_base[c] + slot);
}

/* Two parts put at one place in one entry are a row label repeated, or a change that was not said.
 */
static bool is_free(Binder *b, SubjectId place, uint8_t here, Str text) {
    SubjectId there = b->sitting[place].here[here];
    if (there == SUBJECT_NONE || !b->job->subjects[there].number) return true;
    if (b->sitting[there].entry != b->entry) return true;
    Arena *a = b->job->arena;
    Str name = subject_name(b->job, there, a), at = subject_name(b->job, place, a);
    fault(
        b, ITEM_TWICE, text,
        "%.*s was put at %.*s in this entry already; if it came out again, say `%.*s %.*s = none` "
        "first",
        STR_ARG(name), STR_ARG(at), STR_ARG(b->v->classes[b->job->subjects[there].cls].name),
        STR_ARG(at));
    return false;
}

static void say_mixed(Binder *b, ClassId c, uint8_t slot, SubjectId place, SubjectId there,
                      Str text) {
    Arena *a = b->job->arena;
    const Class *k = &b->v->classes[c];
    Str name = subject_name(b->job, there, a), at = subject_name(b->job, place, a);
    Str plain = b->v->tags[k->placement[0]].name,
        one = b->v->tags[k->placement[slot ? slot : 1]].name;
    if (slot)
        fault(b, SLOT_MIXED, text,
              "%.*s is at %.*s as its only %.*s, and came out for this: if it stays, give it its "
              "own slot first, as `%.*s %.*s = ...`; if it came out, say `%.*s %.*s = none` first",
              STR_ARG(name), STR_ARG(at), STR_ARG(k->name), STR_ARG(one), STR_ARG(at),
              STR_ARG(plain), STR_ARG(at));
    else
        fault(b, SLOT_MIXED, text,
              "%.*s is at %.*s in a slot of its own, and came out for this, which is the only "
              "%.*s there: say the slot, as `%.*s %.*s = ...`, or say `... %.*s = none` first",
              STR_ARG(name), STR_ARG(at), STR_ARG(k->name), STR_ARG(one), STR_ARG(at), STR_ARG(at));
}

/* The plain name says that nothing shares the place: what is there in a slot with a name of its
 * own, or was there plainly, cannot stay and count beside it. */
static void part_slots(Binder *b, ClassId c, uint8_t slot, SubjectId place, SubjectId item,
                       Str text) {
    for (uint8_t i = 0; i < b->v->classes[c].slot_count; i++) {
        if ((i == 0) == (slot == 0)) continue;
        SubjectId there = b->sitting[place].here[b->job->slot_base[c] + i];
        if (there == SUBJECT_NONE || there == item) continue;
        bool here_now = b->sitting[there].entry == b->entry;
        if (b->job->subjects[there].number || here_now) say_mixed(b, c, slot, place, there, text);
        empty(b, c, i, place);
    }
}

void sit_down(Binder *b, ClassId c, uint8_t slot, SubjectId place, SubjectId item, Str text) {
    uint8_t here = (uint8_t)(b->job->slot_base[c] + slot);
    if (b->sitting[place].here[here] == item) return; /* said again */
    if (!may_sit(b, item, text) || !is_free(b, place, here, text)) return;
    name_unnamed(b, place, here, item);
    part_slots(b, c, slot, place, item, text);
    take_out(b, place, here);
    SubjectId old = b->sitting[item].at;
    if (old != SUBJECT_NONE) {
        for (int i = 0; i < HERE_MOST; i++) {
            if (b->sitting[old].here[i] == item) b->sitting[old].here[i] = SUBJECT_NONE;
        }
    }
    b->sitting[place].here[here] = item;
    b->sitting[item].at = place;
    b->sitting[item].slot = here;
    b->sitting[item].entry = b->entry;
    Event *e = add_event(b, EVENT_PLACE);
    e->subject = item;
    e->subject2 = place;
    e->slot = here;
}

/* Several items may be said for as many places; a struck line moves nothing. */
void place_item(Binder *b, ClassId c, uint8_t slot, SubjectId place, Str right) {
    SubjectList *items = &b->list;
    if (!read_items(b, c, right, items)) return;
    if (items->count != 1) {
        fault(b, WRONG_COUNT, right, "one place takes one %.*s", STR_ARG(b->v->classes[c].name));
        return;
    }
    if (b->line.struck) return;
    if (items->ids[0] == SUBJECT_NONE)
        empty(b, c, slot, place);
    else
        sit_down(b, c, slot, place, items->ids[0], right);
}

static bool real_place(Binder *b, ClassId c, SubjectId place, Str text) {
    const Subject *s = &b->job->subjects[place];
    if (s->cls == b->v->classes[c].up && (s->kind == SUBJECT_PLACE || s->kind == SUBJECT_CARRIED))
        return true;
    fault(b, UNKNOWN_SUBJECT, text, "a %.*s sits at a %.*s: say which",
          STR_ARG(b->v->classes[c].name), STR_ARG(b->v->classes[b->v->classes[c].up].name));
    return false;
}

void bind_placement(Binder *b, TagId tag, Str subject, Str right) {
    uint8_t slot;
    ClassId c = item_class_of(b, tag, &slot);
    SubjectList places = {0}, items = {0};
    if (!read_subjects(b, b->v->classes[c].up, subject, &places)) return;
    if (!read_items(b, c, right, &items)) return;
    if (items.count != places.count && !(items.count == 1 && items.ids[0] == SUBJECT_NONE)) {
        fault(b, WRONG_COUNT, right,
              "%u numbers for %u places: write one for each, and none for an empty one",
              items.count, places.count);
        return;
    }
    for (uint32_t i = 0; i < places.count; i++) {
        if (!real_place(b, c, places.ids[i], subject.n ? subject : b->line.left)) return;
    }
    if (b->line.struck) return;
    for (uint32_t i = 0; i < places.count; i++) {
        SubjectId item = items.ids[items.count == 1 ? 0 : i];
        if (item == SUBJECT_NONE)
            empty(b, c, slot, places.ids[i]);
        else
            sit_down(b, c, slot, places.ids[i], item, right);
    }
}

void bind_set(Binder *b, TagId tag, Str right) {
    uint8_t slot;
    size_t len;
    ClassId c = item_class_of(b, tag, &slot);
    if (right.n > 32 || str_find_char(right, ' ', 0) != SIZE_MAX ||
        str_find_char(right, '#', 0) != SIZE_MAX || utf8_odd_blank(right, 0, &len) != SIZE_MAX) {
        fault(b, VALUE_FORM, right, "a set's name is one word without #, as S31");
        return;
    }
    put_words(b, tag, SUBJECT_ENGINE, right);
    if (b->line.struck) return;
    ClassId sets = b->v->classes[c].set;
    uint32_t known = b->job->classes[sets].count;
    SubjectId set = set_subject(b, sets, right);
    if (b->job->classes[sets].count > known) doubt_new_set(b, sets, set, right);
    bool second = b->set_in_use[c] != SUBJECT_NONE && b->set_in_use[c] != set &&
                  b->set_entry[c] == b->entry && b->set_said[c];
    b->set_doubtful[c] = second || (b->set_doubtful[c] && b->set_entry[c] == b->entry);
    b->set_in_use[c] = set;
    b->set_entry[c] = b->entry;
    b->set_said[c] = true;
}

/* ---- part cards ------------------------------------------------------------------------------ */

/* " (did you mean 'HL-1450'?)"; empty. The file system may tell case apart where a person does not.
 */
static Str near_card(const Binder *b, Str name) {
    Near near;
    near_start(&near, name);
    if (b->door->offer_cards) b->door->offer_cards(b->door->ctx, &near);
    Str text = near_text(&near, b->job->arena);
    return text.n ? arena_printf(b->job->arena, " (%.*s)", STR_ARG(text)) : text;
}

static const Job *use_card(Binder *b, TagId tag, Str name) {
    Job *j = b->job;
    for (uint8_t i = 0; i < j->card_count; i++) {
        if (j->cards[i].tag == tag && str_eq(j->cards[i].name, name)) return j->cards[i].card;
    }
    const Job *card = b->door && b->door->card ? b->door->card(b->door->ctx, name) : NULL;
    if (j->card_count == CARD_MOST) {
        fault(b, TOO_MANY, name, "this log names more than %d part cards", CARD_MOST);
        return card;
    }
    j->cards[j->card_count++] = (CardUse){tag, name, card};
    if (!card && b->door && b->door->card && !j->is_card) {
        Str hint = near_card(b, name);
        fault(b, PART_MISSING, name,
              "there is no card parts/%.*s.part in this book%.*s, so the maker's limits are not "
              "checked; write it, or mend the name",
              STR_ARG(name), STR_ARG(hint));
    }
    return card;
}

void bind_part(Binder *b, TagId tag, Str subject, Str right) {
    Str name =
        right.n && right.p[0] == '"' && right.n > 2 ? (Str){right.p + 1, right.n - 2} : right;
    if (!read_subjects(b, b->v->tags[tag].of, subject, &b->list)) return;
    SubjectList list = b->list; /* use_card may not disturb it */
    for (uint32_t i = 0; i < list.count; i++)
        put_words(b, tag, list.ids[i], right);
    if (!b->line.struck) use_card(b, tag, name);
}

/* ---- scrap
 * -------------------------------------------------------------------------------------------------
 */

static ClassId class_of_item_text(Binder *b, Str text) {
    size_t hash = str_find_char(text, '#', 0);
    SubjectId set =
        hash && hash != SIZE_MAX ? named_subject(b, CLASS_SET, (Str){text.p, hash}) : SUBJECT_NONE;
    if (set != SUBJECT_NONE) return b->v->classes[b->job->subjects[set].cls].holds;
    ClassId only = CLASS_NONE;
    for (ClassId c = 0; c < b->v->class_count; c++) {
        if (b->set_in_use[c] == SUBJECT_NONE) continue;
        if (only != CLASS_NONE) return CLASS_NONE;
        only = c;
    }
    return only;
}

void bind_scrap(Binder *b, Str subject, Str right) {
    ClassId c = class_of_item_text(b, subject);
    if (c == CLASS_NONE || str_find_char(subject, '#', 0) == SIZE_MAX) {
        fault(b, SET_UNSAID, subject.n ? subject : b->line.left,
              "say which part is scrapped with its set and number, as `scrapped S31#7 = lost its "
              "rate`");
        return;
    }
    SubjectList items = {0};
    if (!read_subjects(b, c, subject, &items) || b->line.struck) return;
    for (uint32_t i = 0; i < items.count; i++) {
        SubjectId item = items.ids[i], place = b->sitting[item].at;
        if (place != SUBJECT_NONE) take_out(b, place, b->sitting[item].slot);
        b->sitting[item].scrapped = true;
        Event *e = add_event(b, EVENT_SCRAP);
        e->subject = item;
        e->text = right;
    }
}

/* Moves the events from `from` on to where the reading stands: they are to be played in the order
 * of the file. */
static void move_events(Job *j, uint32_t from, uint32_t reading) {
    const Reading *r = &j->readings[reading];
    uint32_t count = j->event_count - from, at = from;
    for (uint32_t i = from; i < j->event_count; i++) {
        Event *e = &j->events[i];
        e->entry = r->entry;
        e->source = r->source;
        e->before = reading;
        e->span = (Span){r->off, r->len};
    }
    while (at > 0 && j->events[at - 1].before > reading)
        at--;
    Event *moved = arena_array(j->arena, count + 1, sizeof *moved);
    memcpy(moved, j->events + from, count * sizeof *moved);
    memmove(j->events + at + count, j->events + at, (from - at) * sizeof *moved);
    memcpy(j->events + at, moved, count * sizeof *moved);
}

void fit_unnamed(Binder *b, ClassId item_class, uint32_t reading) {
    Job *j = b->job;
    ClassId place = b->v->classes[item_class].up;
    if (j->classes[item_class].count) return;
    uint32_t before = j->event_count;
    for (uint32_t i = 0; i < j->place_count[place]; i++)
        (void)item_at(b, item_class, j->classes[place].ids[i], (Str){0});
    move_events(j, before, reading);
}

void rename_items(Binder *b) {
    Job *j = b->job;
    bool any = false;
    for (SubjectId id = 0; id < j->subject_count && !any; id++)
        any = b->sitting[id].renamed != SUBJECT_NONE;
    if (!any) return;
    for (uint32_t i = 0; i < j->reading_count; i++) {
        SubjectId to = b->sitting[j->readings[i].subject].renamed;
        if (to != SUBJECT_NONE) j->readings[i].subject = to;
    }
    for (uint32_t i = 0; i < j->event_count; i++) {
        Event *e = &j->events[i];
        if (e->subject != SUBJECT_NONE && b->sitting[e->subject].renamed != SUBJECT_NONE)
            e->subject = b->sitting[e->subject].renamed;
    }
}
