// Where a line end ends a statement or a field, and where a block ends that nobody closes.
//
// A line end is read with the line that follows: before `->`, `with`, `then`, `expect` and `{` it means nothing. A line that starts
// at the margin as only a statement can ends whatever is open, so that a slip stays in its statement.

#include "tree_sitter/parser.h"

#include <string.h>

#include "words.h"

enum Token { STATEMENT_END, BROKEN_END, FIELD_END, BLOCK_BREAK, RECOVERING };

enum { LONGEST_WORD = 64 };

void *tree_sitter_office_external_scanner_create(void) { return NULL; }
void tree_sitter_office_external_scanner_destroy(void *payload) { (void)payload; }
unsigned tree_sitter_office_external_scanner_serialize(void *payload, char *buffer) {
  (void)payload;
  (void)buffer;
  return 0;
}
void tree_sitter_office_external_scanner_deserialize(void *payload, const char *buffer, unsigned length) {
  (void)payload;
  (void)buffer;
  (void)length;
}

static bool is_blank(int32_t c) {
  return c == ' ' || c == '\t' || c == 0xa0 || c == 0x2007 || c == 0x2009 || c == 0x202f || c == 0x3000 || c == 0xfeff;
}

// Not exactly the letters of the grammar; enough to see where a word ends.
static bool is_of_word(int32_t c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-' || c == '/' ||
         c == '%' || (c >= 0x80 && !is_blank(c));
}

static void skip_blanks(TSLexer *lexer) {
  while (is_blank(lexer->lookahead)) lexer->advance(lexer, false);
}

static void skip_comment(TSLexer *lexer) {
  while (!lexer->eof(lexer) && lexer->lookahead != '\n') lexer->advance(lexer, false);
}

// Reads a word, of which at most the first characters are kept.
static unsigned read_word(TSLexer *lexer, char *word) {
  unsigned length = 0;
  while (!lexer->eof(lexer) && is_of_word(lexer->lookahead)) {
    if (length < LONGEST_WORD) word[length++] = lexer->lookahead < 0x80 ? (char)lexer->lookahead : '?';
    lexer->advance(lexer, false);
  }
  word[length < LONGEST_WORD ? length : LONGEST_WORD] = '\0';
  return length;
}

static bool is_among(const char *word, const char *const *words) {
  for (; *words; words++)
    if (strcmp(word, *words) == 0) return true;
  return false;
}

typedef struct {
  bool goes_on;           // it belongs to the line before
  bool at_margin;         // it starts with a word at the margin, or the file ends
  bool starts_statement;  // it starts as only a statement can, within a run
  bool leaves_block;      // it starts as only a statement can, within a block
} Line;

// Reads the start of a line from its first word on.
static Line read_line(TSLexer *lexer, bool at_margin) {
  static const char *const GOES_ON[] = {"with", "then", "expect", NULL};
  Line line = {false, false, false, false};
  if (lexer->lookahead == '{') {
    line.goes_on = true;
    return line;
  }
  if (lexer->lookahead == '-') {
    lexer->advance(lexer, false);
    line.goes_on = lexer->lookahead == '>';
    return line;
  }
  char first[LONGEST_WORD + 1];
  char second[LONGEST_WORD + 1];
  if (read_word(lexer, first) == 0) return line;
  line.goes_on = is_among(first, GOES_ON);
  line.at_margin = at_margin;
  if (!at_margin) return line;
  skip_blanks(lexer);
  bool is_named = read_word(lexer, second) > 0;
  skip_blanks(lexer);
  bool has_block = is_named && (lexer->lookahead == ':' || lexer->lookahead == '{');
  bool has_word = is_among(first, STATEMENT_WORDS);
  line.starts_statement = has_word || has_block;
  line.leaves_block = (has_word && is_named) || (has_block && is_among(first, KINDS_THAT_ARE_NO_FIELDS));
  return line;
}

// Looks at the first of the following lines that has more than a comment.
static Line next_line(TSLexer *lexer) {
  bool at_margin = true;
  while (!lexer->eof(lexer)) {
    if (is_blank(lexer->lookahead)) {
      at_margin = false;
      skip_blanks(lexer);
    } else if (lexer->lookahead == '#') {
      skip_comment(lexer);
    } else if (lexer->lookahead == '\n' || lexer->lookahead == '\r') {
      at_margin = lexer->lookahead == '\n';
      lexer->advance(lexer, false);
    } else {
      return read_line(lexer, at_margin);
    }
  }
  Line end = {false, true, false, false};
  return end;
}

static bool give(TSLexer *lexer, enum Token token) {
  lexer->result_symbol = token;
  return true;
}

bool tree_sitter_office_external_scanner_scan(void *payload, TSLexer *lexer, const bool *valid) {
  (void)payload;
  // What ends a statement stands right behind its last word: blanks and a comment on the line are not part of it.
  lexer->mark_end(lexer);
  skip_blanks(lexer);
  bool ends_statement = valid[STATEMENT_END] || valid[BROKEN_END];
  if (ends_statement && !valid[RECOVERING] && lexer->lookahead == '#') skip_comment(lexer);
  if (lexer->eof(lexer)) {
    if (valid[RECOVERING]) return false;
    if (valid[STATEMENT_END]) return give(lexer, STATEMENT_END);
    if (valid[BROKEN_END]) return give(lexer, BROKEN_END);
    return valid[BLOCK_BREAK] && give(lexer, BLOCK_BREAK);
  }
  if (lexer->lookahead == '\r') lexer->advance(lexer, false);
  if (lexer->lookahead != '\n') {
    return valid[BLOCK_BREAK] && !valid[RECOVERING] && is_of_word(lexer->lookahead) && lexer->get_column(lexer) == 0 &&
           read_line(lexer, true).leaves_block && give(lexer, BLOCK_BREAK);
  }
  lexer->advance(lexer, false);
  if (valid[RECOVERING]) {
    // Every token seems valid, and whether a block is open is not known. What keeps a slip in its place is that it ends with its line.
    Line line = next_line(lexer);
    return !line.goes_on && give(lexer, line.at_margin ? STATEMENT_END : FIELD_END);
  }
  if (valid[FIELD_END]) {
    lexer->mark_end(lexer);
    return !next_line(lexer).goes_on && give(lexer, FIELD_END);
  }
  if (!ends_statement) return false;
  Line line = next_line(lexer);
  if (valid[STATEMENT_END] && (!line.goes_on || line.starts_statement)) return give(lexer, STATEMENT_END);
  return valid[BROKEN_END] && line.starts_statement && give(lexer, BROKEN_END);
}
