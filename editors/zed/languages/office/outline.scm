; The names of captures are those of Zed, from memory: not tried in the editor.
(thing kind: (word) @context name: (word) @name) @item
(part "part" @context kind: (word) @context name: (word) @name) @item
