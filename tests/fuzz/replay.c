/*
 * Runs a fuzz target on the files named, without a fuzzer: what was found once is met again by
 * every `make test`. Prints how many there were; a fault ends the process as it would any other.
 */
#include "base/file.h"
#include <stdio.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int main(int argc, char **argv) {
    for (int i = 1; i < argc; i++) {
        Arena *a = arena_new();
        Str text;
        Err err = {0};
        if (!file_read(a, argv[i], &text, NULL, &err)) {
            fprintf(stderr, "%s\n", err.text);
            return 2;
        }
        LLVMFuzzerTestOneInput((const uint8_t *)text.p, text.n);
        arena_free(a);
    }
    printf("%d\n", argc - 1);
    return 0;
}
