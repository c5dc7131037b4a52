; Structure alone: which words are kinds, units and fields of the language is said by their places.

(comment) @comment
(text) @string
(number) @number
(date) @number
(unit) @type.builtin

[
  "use" "part" "spare" "assigned" "defective" "bunched" "tapped" "accept" "on" "because" "until" "reading" "when" "expect" "with" "then"
] @keyword
(medium) @keyword

["->" ".." ":"] @operator
["{" "}"] @punctuation.bracket
"," @punctuation.delimiter

(thing kind: (word) @type)
(part kind: (word) @type)
(thing name: (word) @variable)
(part name: (word) @constant)
(thing part: (word) @constant)
(field name: (word) @property)
(end name: (word) @variable)
(end (word) @property (number))
(spare thing: (word) @variable)
(stated thing: (word) @variable)
(reading thing: (word) @variable)
(accept thing: (word) @variable)
(accept rule: (word) @function)
(use path: (word) @string.special)
