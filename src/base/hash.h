/* 64-bit content hash (FNV-1a over words with a strong finish): for change detection and tables,
 * not for security. Stable between versions of the program: it is stored in the index. */
#ifndef THOU_BASE_HASH_H
#define THOU_BASE_HASH_H

#include "base/str.h"

uint64_t hash_bytes(Str s);

#endif
