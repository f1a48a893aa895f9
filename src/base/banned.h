/*
 * Included before every source file by the Makefile: the functions that cannot be used safely, or
 * that a locale can bend, do not compile here.
 */
#ifndef THOU_BASE_BANNED_H
#define THOU_BASE_BANNED_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#pragma GCC poison strcpy strcat sprintf vsprintf strtok gets atoi atol atof strncpy strncat
#pragma GCC poison strtod strtof asctime gmtime localtime tmpnam mktemp
/* Not poisoned: libgit2 has fields of this name. A call does not compile all the same. */
#define ctime(t) ctime_is_banned_here

#endif
