// Completes drysheath.toml by the schema of its settings. Other extensions can use the same schema; this needs none of them.

import * as vscode from 'vscode';
import schema from '../../../grammar/settings.schema.json';

interface Schema {
  description?: string;
  properties?: Record<string, Schema>;
  enum?: string[];
  const?: unknown;
  examples?: unknown[];
  default?: unknown;
  type?: string;
}

export function registerSettingsCompletion(context: vscode.ExtensionContext): void {
  const provider = { provideCompletionItems: (document: vscode.TextDocument, at: vscode.Position) => complete(document, at) };
  context.subscriptions.push(vscode.languages.registerCompletionItemProvider({ scheme: 'file', pattern: '**/drysheath.toml' }, provider, '[', '"', ' '));
}

/** The table that a line of the file belongs to: that of the last heading above it. */
function tableAt(document: vscode.TextDocument, line: number): string | undefined {
  for (let above = line - 1; above >= 0; above -= 1) {
    const heading = /^\s*\[([A-Za-z-]+)\]/.exec(document.lineAt(above).text);
    if (heading) return heading[1];
  }
  return undefined;
}

function complete(document: vscode.TextDocument, at: vscode.Position): vscode.CompletionItem[] {
  const root = schema as Schema;
  const before = document.lineAt(at.line).text.slice(0, at.character);
  // A word of these files may have hyphens in it.
  const range = document.getWordRangeAtPosition(at, /[^\s"=[\]]+/);
  const item = (label: string, of: Schema, text: string) => completion(label, of, text, range);
  const tables = Object.entries(root.properties ?? {}).filter(([, one]) => one.properties);
  if (/^\s*\[[A-Za-z-]*$/.test(before)) return tables.map(([name, one]) => item(name, one, name));
  const table = tableAt(document, at.line);
  const within = (table ? root.properties?.[table]?.properties : root.properties) ?? {};
  const value = /^\s*([A-Za-z-]+)\s*=\s*("?)[^"]*$/.exec(before);
  if (value) {
    const key = within[value[1] ?? ''];
    const quote = value[2] ? '' : '"';
    const known = [key?.const, ...(key?.examples ?? []), key?.default].filter((one) => one !== undefined).map(String);
    const given = key?.enum ?? (key?.type === 'boolean' ? ['true', 'false'] : [...new Set(known)]);
    const text = (one: string) => (key?.type === 'string' ? `${quote}${one}${quote}` : one);
    return given.map((one) => item(one, key ?? {}, text(one)));
  }
  if (!/^\s*[A-Za-z-]*$/.test(before)) return [];
  return Object.entries(within).filter(([, one]) => !one.properties).map(([name, one]) => item(name, one, `${name} = `));
}

function completion(label: string, of: Schema, text: string, range: vscode.Range | undefined): vscode.CompletionItem {
  const made = new vscode.CompletionItem(label, vscode.CompletionItemKind.Property);
  made.insertText = text;
  if (range) made.range = range;
  if (of.description) made.documentation = of.description;
  return made;
}
