autocmd BufNewFile,BufRead *.office setfiletype office
