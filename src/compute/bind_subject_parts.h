/* What bind_subject.c (the text) and bind_take.c (what it means) share. */
#ifndef THOU_COMPUTE_BIND_SUBJECT_PARTS_H
#define THOU_COMPUTE_BIND_SUBJECT_PARTS_H

#include "compute/bind.h"

typedef struct Token { /* [carrier or bank `:`] [set `#`] [letter] number [letter] [suffix] */
    Str scope;         /* before the colon */
    bool hash;
    Str set; /* before the # */
    char letter;
    uint32_t number; /* 0 when there is none */
    uint8_t suffix;
} Token;

typedef struct Asked { /* one call of read_subjects */
    Binder *b;
    ClassId cls;
    Str text; /* the token at hand */
    SubjectList *out;
} Asked;

/* Each adds to the list; false after a finding. */
bool take_token(const Asked *q, const Token *t);
/* A subject of whatever class, if the tag's class allows it. */
bool take_subject(const Asked *q, SubjectId id);
/* All places of class c (and a letter), at or under `under` (SUBJECT_NONE: anywhere). */
bool take_all_places(const Asked *q, ClassId c, char letter, SubjectId under);
/* All places of class c on a bank, in the order in which the job gives the bank's places. */
bool take_places_of_bank(const Asked *q, ClassId c, SubjectId bank);

#endif
