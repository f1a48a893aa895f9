autocmd BufRead,BufNewFile *.job,*.part,shop.vocab,trade.vocab setfiletype thou
