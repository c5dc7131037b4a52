; A name counts in the whole file.
(file) @local.scope

(thing name: (word) @local.definition)
(part name: (word) @local.definition)

(end name: (word) @local.reference)
(thing part: (word) @local.reference)
(spare thing: (word) @local.reference)
(stated thing: (word) @local.reference)
(reading thing: (word) @local.reference)
(accept thing: (word) @local.reference)
