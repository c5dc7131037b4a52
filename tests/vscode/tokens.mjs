// Prints what the TextMate grammar makes of files: for each file a list of [line, start, end, scope], columns in UTF-16.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);
const textmate = require('vscode-textmate');
const oniguruma = require('vscode-oniguruma');

const [grammarFile, ...files] = process.argv.slice(2);
await oniguruma.loadWASM(readFileSync(require.resolve('vscode-oniguruma/release/onig.wasm')).buffer);
const registry = new textmate.Registry({
  onigLib: Promise.resolve({
    createOnigScanner: (sources) => new oniguruma.OnigScanner(sources),
    createOnigString: (text) => new oniguruma.OnigString(text),
  }),
  loadGrammar: async () => textmate.parseRawGrammar(readFileSync(grammarFile, 'utf8'), grammarFile),
});
const grammar = await registry.loadGrammar('source.office');
const tokens = files.map((file) => {
  let stack = textmate.INITIAL;
  return readFileSync(file, 'utf8').replace(/^\ufeff/, '').split(/\r?\n/).flatMap((line, number) => {
    const read = grammar.tokenizeLine(line, stack);
    stack = read.ruleStack;
    return read.tokens.map(({ startIndex, endIndex, scopes }) => [number, startIndex, Math.min(endIndex, line.length), scopes.at(-1)]);
  });
});
console.log(JSON.stringify(tokens));
