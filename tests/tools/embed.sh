#!/bin/sh
# Writes C that holds the texts compiled into the program, byte for byte.
set -eu
embed() {
    printf 'const unsigned char %s[] = {\n' "$1"
    od -An -v -tx1 "$2" | sed 's/ \([0-9a-f][0-9a-f]\)/0x\1,/g'
    printf '0};\nconst size_t %s_size = sizeof %s - 1;\n' "$1" "$1"
}
echo '#include <stddef.h>'
echo '#include "vocab/texts.h"'
embed text_trade_vocab format/trade.vocab
embed text_schema_sql src/index/schema.sql
embed text_template_job format/template.job
embed text_start_vocab format/start.vocab
embed text_start_job format/start.job
embed text_complete_bash src/cli/complete.bash
embed text_complete_zsh src/cli/complete.zsh
embed text_complete_fish src/cli/complete.fish
embed text_page_css src/show/page.css
