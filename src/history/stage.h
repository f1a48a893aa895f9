/*
 * git's index as a record leaves it: a copy in which only the recorded files differ. A thread reads
 * and writes it while the objects are written, which takes about as long. Inside this room only.
 *
 * Between stage_begin and stage_end nothing else touches the index or the stage but what is below.
 */
#ifndef THOU_HISTORY_STAGE_H
#define THOU_HISTORY_STAGE_H

#include "history/gate.h"
#include <pthread.h>
#include <semaphore.h>

typedef struct Stage {
    const History *h;
    const Gate *gate;
    git_index *index;
    time_t begun; /* by the file system's clock */
    /* what was given */
    const git_tree_update *updates;
    const struct stat *states; /* of the files, one an update; those taken out have none */
    size_t count;
    bool over;  /* it was given */
    bool sound; /* so far; if not, err says why */
    Err err;
    pthread_t thread;
    bool threaded;     /* else stage_begin read and stage_end writes */
    sem_t read, given; /* the index is read; there is what to put into it */
} Stage;

/* The gate is entered. Whatever the outcome, stage_end comes last. */
bool stage_begin(Stage *s, const History *h, const Gate *gate, Err *err);
/* The mode of a plain file in the index, 0 when it has none of that name. Waits for the index. */
unsigned stage_mode(Stage *s, const char *repo_path);
/* What shall differ, once; it stays as it is until stage_end. Nothing: nothing is written. */
void stage_give(Stage *s, const git_tree_update *updates, const struct stat *states, size_t count);
/* Waits. True when the gate's own_index holds the new index, on the disk; *err says why not. */
bool stage_end(Stage *s, Err *err);

#endif
