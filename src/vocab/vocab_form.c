/* Forms: the grids that are filled in at the bench. */
#include "vocab/parts.h"

static bool form_there(Loader *l, const Block *b) {
    for (uint16_t i = 0; i < l->v->form_count; i++) {
        if (!str_ieq(l->v->forms[i].name, b->name)) continue;
        vocab_fault(l->findings, K_TWICE, b->source, b->at, "a form '%.*s' is there already",
                    STR_ARG(b->name));
        return true;
    }
    return false;
}

void forms_declare(Loader *l) {
    Vocab *v = l->v;
    uint16_t room = 0;
    for (uint32_t i = 0; i < l->count; i++) {
        Block *b = &l->blocks[i];
        if (b->kind != BLOCK_FORM) continue;
        if (v->form_count == TAG_MOST)
            vocab_fault(l->findings, K_FULL, b->source, b->at, "more than %d forms", TAG_MOST);
        b->left_out = v->form_count == TAG_MOST || form_there(l, b);
        if (b->left_out) continue;
        arena_grow(v->arena, v->forms, v->form_count, room);
        b->index = v->form_count++;
        v->forms[b->index] = (Form){.name = b->name, .rows = CLASS_NONE};
    }
}

void parse_rows(Loader *l, Block *b, const Prop *p) {
    ClassId rows = prop_class(l, p, p->value);
    if (rows == CLASS_NONE) return;
    ClassKind kind = l->v->classes[rows].kind;
    if (rows != CLASS_ENGINE && (kind == CLASS_PLACE || kind == CLASS_ITEM))
        l->v->forms[b->index].rows = rows;
    else
        prop_fault(l, K_CLASS, p, "a form's rows are places or items, and '%.*s' is neither",
                   STR_ARG(p->value));
}

/* As a grid has it: measured on the rows themselves, on what sits there, or on where they sit. */
static bool fits(const Vocab *v, ClassId rows, const Tag *tag) {
    const Class *r = &v->classes[rows], *o = &v->classes[tag->of];
    if (tag->kind != TAG_NUMBER && tag->kind != TAG_WORDS && tag->kind != TAG_CHOICE &&
        tag->kind != TAG_PLACEMENT)
        return false;
    return (r->kind == CLASS_ITEM ? r->up : rows) == (o->kind == CLASS_ITEM ? o->up : tag->of);
}

static bool read_column(Loader *l, const Form *form, const Prop *p, Str entry, FormColumn *out) {
    Str rest;
    TagId id = vocab_match(l->v, entry, &rest);
    if (id == TAG_NONE) return prop_tag(l, p, entry) != TAG_NONE; /* says so */
    const Tag *tag = &l->v->tags[id];
    *out = (FormColumn){id, SPOT_NONE};
    for (uint8_t i = 0; i < tag->spot_count && rest.n; i++) {
        if (!str_ieq(tag->spots[i], rest)) continue;
        out->spot = i;
        rest.n = 0;
    }
    if (rest.n) {
        vocab_fault(l->findings, K_VALUE, p->source, rest, "'%.*s' has no spot '%.*s'",
                    STR_ARG(tag->name), STR_ARG(rest));
        return false;
    }
    if (form->rows == CLASS_NONE || fits(l->v, form->rows, tag)) return true;
    vocab_fault(l->findings, K_CLASS, p->source, entry,
                "'%.*s' is not measured on what the rows are", STR_ARG(entry));
    return false;
}

void parse_columns(Loader *l, Block *b, const Prop *p) {
    Form *form = &l->v->forms[b->index];
    unsigned room = list_room(l, p, LIST_MOST);
    FormColumn *columns = arena_array(l->v->arena, room + 1, sizeof *columns);
    Str rest = p->value, entry;
    uint8_t count = 0;
    while (count < room && list_next(&rest, &entry)) {
        if (!read_column(l, form, p, entry, &columns[count])) return;
        count++;
    }
    form->columns = columns;
    form->column_count = count;
}

/* A form whose columns the shop took away is gone. */
void forms_check(Loader *l) {
    for (uint32_t i = 0; i < l->count; i++) {
        const Block *b = &l->blocks[i];
        if (b->kind != BLOCK_FORM || b->left_out) continue;
        bool rows = block_prop(b, STR("rows")) != NULL;
        bool columns =
            block_prop(b, STR("columns")) != NULL || (b->shop && b->source != l->v->sources[1]);
        if (rows && columns) continue;
        vocab_fault(l->findings, K_MISSING, b->source, b->at, "the form '%.*s' needs '%s'",
                    STR_ARG(b->name), rows ? "columns" : "rows");
    }
}
