; The names of captures are those of Zed, from memory: not tried in the editor.
(block "}" @end) @indent
(run) @indent
