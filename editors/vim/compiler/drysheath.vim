" Lints the file in sight: `:compiler drysheath`, which the file type does by itself, then `:make`.
if exists('current_compiler')
  finish
endif
let current_compiler = 'drysheath'
" A name with blanks is one word for the shell.
CompilerSet makeprg=drysheath\ lint\ --colour\ never\ %:S
" The level and message come first, the place in the line below them.
CompilerSet errorformat=%E%trror:\ %m,%W%tarning:\ %m,%I%tote:\ %m,%C\ %#╭─[\ %f:%l:%c\ ],%-G%.%#
