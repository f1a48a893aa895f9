/* Texts compiled into the program by tests/tools/embed.sh; a NUL stands behind each. */
#ifndef THOU_VOCAB_TEXTS_H
#define THOU_VOCAB_TEXTS_H

#include <stddef.h>

extern const unsigned char text_trade_vocab[]; /* format/trade.vocab */
extern const size_t text_trade_vocab_size;
extern const unsigned char text_schema_sql[]; /* src/index/schema.sql */
extern const size_t text_schema_sql_size;
extern const unsigned char text_template_job[]; /* format/template.job */
extern const size_t text_template_job_size;
extern const unsigned char text_start_vocab[]; /* format/start.vocab */
extern const size_t text_start_vocab_size;
extern const unsigned char text_start_job[]; /* format/start.job */
extern const size_t text_start_job_size;
extern const unsigned char text_complete_bash[]; /* src/cli/complete.bash */
extern const size_t text_complete_bash_size;
extern const unsigned char text_complete_zsh[]; /* src/cli/complete.zsh */
extern const size_t text_complete_zsh_size;
extern const unsigned char text_complete_fish[]; /* src/cli/complete.fish */
extern const size_t text_complete_fish_size;
extern const unsigned char text_page_css[]; /* src/show/page.css */
extern const size_t text_page_css_size;

#endif
