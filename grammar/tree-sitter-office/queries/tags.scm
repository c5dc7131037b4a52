(thing name: (word) @name) @definition.object
(part name: (word) @name) @definition.class
(end name: (word) @name) @reference.object
(thing part: (word) @name) @reference.class
