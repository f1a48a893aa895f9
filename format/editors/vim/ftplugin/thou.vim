" Logs of engine builds: `:make` checks the log, `:cnext` goes to the next finding.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1
compiler thou
setlocal commentstring=>\ %s
let b:undo_ftplugin = 'setlocal commentstring< makeprg< errorformat<'
