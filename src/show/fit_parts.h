/* What fit_text.c (the fit found) and fit_none.c (that there is none, and why) share. */
#ifndef THOU_SHOW_FIT_PARTS_H
#define THOU_SHOW_FIT_PARTS_H

#include "compute/say.h"
#include "show/fit.h"

typedef struct FitText {
    Buf *out;
    const FitAnswer *f;
    const FitShow *how;
    const Job *j;
    const Vocab *v;
    const Fit *fit;
    Arena *a;
    bool close, extended, nominal; /* marks in use */
} FitText;

/* A folded line, its later lines two further in. */
void fit_say(FitText *t, int indent, const char *format, ...) __attribute__((format(printf, 3, 4)));
void fit_heading(FitText *t, const char *text);
Shown fit_shown(const FitText *t, TagId tag);
Str fit_limit_name(const FitText *t, const Force *f);
Str fit_place_name(const FitText *t, uint32_t p);
Str fit_item_name(const FitText *t, SubjectId item);

/* fit_none.c: how many can be served, who is left without, and what stands in the way. */
void fit_why_text(FitText *t);

#endif
