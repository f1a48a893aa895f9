/* The "C" locale as an object, so that numbers are read and written the same everywhere. */
#ifndef THOU_BASE_CLOCALE_H
#define THOU_BASE_CLOCALE_H

#include <locale.h>

locale_t clocale(void); /* made once, any thread; never freed */

#endif
