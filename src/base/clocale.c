#include "base/clocale.h"
#include "base/fatal.h"
#include <pthread.h>

static locale_t the_locale;
static pthread_once_t once = PTHREAD_ONCE_INIT;

static void make(void) {
    the_locale = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (!the_locale) fatal("the C locale could not be made: out of memory");
}

locale_t clocale(void) {
    pthread_once(&once, make);
    return the_locale;
}
