if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1
setlocal commentstring=#\ %s comments=:#
setlocal shiftwidth=4 expandtab
compiler drysheath
let b:undo_ftplugin = 'setlocal commentstring< comments< shiftwidth< expandtab< makeprg< errorformat<'
