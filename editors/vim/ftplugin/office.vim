if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1
setlocal commentstring=#\ %s
setlocal shiftwidth=4 expandtab
setlocal makeprg=drysheath\ lint\ --colour\ never\ %
" The level and message come first, the place in the line below them.
setlocal errorformat=%E%trror:\ %m,%W%tarning:\ %m,%I%tote:\ %m,%C\ %#╭─[\ %f:%l:%c\ ],%-G%.%#
