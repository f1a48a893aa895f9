/* Texts compiled into the program by tests/tools/embed.sh; a NUL stands behind each. */
#ifndef THOU_VOCAB_TEXTS_H
#define THOU_VOCAB_TEXTS_H

#include <stddef.h>

extern const unsigned char text_trade_vocab[]; /* format/trade.vocab */
extern const size_t text_trade_vocab_size;
extern const unsigned char text_schema_sql[]; /* src/index/schema.sql */
extern const size_t text_schema_sql_size;

#endif
