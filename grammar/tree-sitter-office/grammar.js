// The office language for tree-sitter. What stands here is the layout of statements; the words of the trade are generated from the
// tables of the language (`cargo xtask generate` writes words.json and src/words.h).
//
// It is lenient where a linter is not: half a run is a run, and a block that nobody closes ends where the next statement starts.
// What is wrong is said by `drysheath lint`.

const {units} = require('./words.json');

const LETTER = '\\p{L}';
const SEGMENT = `[${LETTER}_%°][${LETTER}\\p{M}0-9_²³%]*(-[${LETTER}0-9_]+)*`;

module.exports = grammar({
  name: 'office',

  word: $ => $.word,

  // Line ends are read by src/scanner.c, which looks at the line that follows.
  externals: $ => [
    $._statement_end, // the end of a line or of the file, where that ends a statement
    $._broken_end, // the same where the line would go on, but the next one is a statement
    $._field_end, // the end of a line between fields
    $._block_break, // nothing, where a block that is not closed has to end
    $._recovering, // never read: valid only while the parser recovers
  ],

  extras: $ => [/[ \t\u00a0\u2007\u2009\u202f\u3000\ufeff]/, /\r?\n/, $.comment],

  rules: {
    file: $ => repeat($._statement),

    _statement: $ => choice($.use, $.part, $.thing, $.run, $.spare, $.stated, $.accept, $.reading, $.when),

    use: $ => seq('use', field('path', $.word), $._statement_end),

    part: $ => seq('part', $._head),
    thing: $ => $._head,
    _head: $ => seq(
      field('kind', $.word),
      field('name', $.word),
      optional(seq(':', field('part', $.word))),
      choice(field('block', $.block), $._statement_end),
    ),

    block: $ => seq(
      '{',
      repeat($._separator),
      repeat(seq($.field, repeat1($._separator))),
      optional($.field),
      choice('}', $._block_break),
    ),
    _separator: $ => choice(',', $._field_end),
    field: $ => seq(
      field('name', $.word),
      repeat($._item),
      optional(field('block', $.block)),
    ),

    run: $ => seq(
      field('medium', $.medium),
      field('end', $.end),
      repeat(seq('->', choice(field('end', $.end), $._broken_end))),
      optional(seq('with', $._piece, repeat(seq('then', $._piece)))),
      $._line_end,
    ),
    medium: _ => choice('air', 'wire', 'power', 'ground'),
    end: $ => seq(choice(field('name', $.word), $._value), repeat($._item)),
    _piece: $ => seq($.joins, repeat(seq(',', $.joins))),
    joins: $ => repeat1($._item),

    spare: $ => seq('spare', choice(field('thing', $.word), $._value), repeat($._item), $._statement_end),
    stated: $ => seq(
      field('state', choice('assigned', 'defective', 'bunched', 'tapped')),
      choice(field('thing', $.word), $._value, 'because'),
      repeat(choice($._item, 'because')),
      $._statement_end,
    ),
    accept: $ => seq(
      'accept', field('rule', $.word),
      'on', field('thing', $.word),
      'because', field('reason', $.text),
      'until', field('until', $.date),
      $._statement_end,
    ),
    reading: $ => seq('reading', field('date', $.date), choice(field('thing', $.word), $._value), repeat($._item), $._statement_end),
    when: $ => seq(
      'when', $.event, repeat(seq(',', $.event)),
      'expect', $.expected, repeat(seq(',', $.expected)),
      $._statement_end,
    ),
    event: $ => repeat1($._item),
    expected: $ => repeat1($._item),

    _line_end: $ => choice($._statement_end, $._broken_end),

    _item: $ => choice($.word, $._value),
    _value: $ => choice($.quantity, $.number, $.text, $.date, '..'),
    quantity: $ => seq(field('number', $.number), field('unit', $.unit)),
    unit: _ => choice(...units),

    word: _ => new RegExp(`${SEGMENT}(/${SEGMENT})*|${SEGMENT}(/${SEGMENT})+\\.office`),
    number: _ => token(choice(
      /[+\-\u2212\ufe63\uff0d]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?/,
      /[0-9]+(-[0-9]+)?\/[0-9]+/,
    )),
    date: _ => /[0-9]{4}-[0-9]{2}-[0-9]{2}/,
    // The quotes may be those of a word processor, and the last one may be missing.
    text: _ => token(choice(
      /"([^"\\\n\r]|\\[^\n\r])*["\\]?/,
      /[\u201c\u201e\u00ab\u00bb]([^"\u201c\u201d\u201e\u00ab\u00bb\\\n\r]|\\[^\n\r])*[\u201c\u201d\u00ab\u00bb]/,
    )),
    comment: _ => /#[^\n\r]*/,
  },
});
