; The names of captures are those of Helix, from memory: not tried in the editor.
[(block) (run)] @indent
"}" @outdent
