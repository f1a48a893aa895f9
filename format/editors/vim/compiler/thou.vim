" `:make` checks the file at hand; `:make 26-014` a job of the book.
if exists('current_compiler')
  finish
endif
let current_compiler = 'thou'
CompilerSet makeprg=thou\ check\ %
" FILE:LINE:COLUMN: error: what, and the line with its caret below, which is passed over
CompilerSet errorformat=%f:%l:%c:\ %trror:\ %m,%f:%l:%c:\ %tarning:\ %m,%-G\ \ \|%.%#,%-Gthou:\ %.%#
