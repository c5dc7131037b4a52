// The sheet beside the text: the drawings of the office in sight, which follow the cursor and each edit.

import { randomBytes } from 'node:crypto';
import * as vscode from 'vscode';
import type { Server } from './server';

/** What the server answers to `drysheath/sheet`; grammar/server.md describes it. */
interface Sheet {
  version: number | null;
  title: string;
  style: string;
  drawings: { id: string; title: string; svg: string }[];
  things: { name: string; location: { uri: string; range: Range } }[];
}

interface Range {
  start: { line: number; character: number };
  end: { line: number; character: number };
}

type FromView = { type: 'ready' } | { type: 'open'; name: string };

export class SheetView implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  /** The file in sight that may be an office. */
  private document: vscode.TextDocument | undefined;
  /** The office that is drawn. */
  private drawn: vscode.TextDocument | undefined;
  private sheet: Sheet | undefined;
  /** The drawings that the view has, by their ids. */
  private readonly shown = new Map<string, string>();
  /** A request is on its way; what has changed since is asked for after it. */
  private asking = false;
  private stale = false;
  private readonly subscriptions: vscode.Disposable[];

  constructor(
    private readonly context: vscode.ExtensionContext,
    private readonly server: Server,
  ) {
    this.subscriptions = [
      vscode.commands.registerCommand('drysheath.sheet', () => this.open()),
      vscode.window.onDidChangeActiveTextEditor((editor) => this.follow(editor)),
      vscode.window.onDidChangeTextEditorSelection((event) => this.point(event.textEditor)),
      // Files of parts and routes are drawn in the offices that use them.
      vscode.workspace.onDidChangeTextDocument((event) => {
        // The client hears of the edit after this, and sends it: a sheet that is asked for now would be that of the text before.
        if (event.document.languageId === 'office') setImmediate(() => void this.ask());
      }),
      server.onDidChange(() => void this.ask()),
    ];
    // The office that has started the extension was in sight before anything could be heard of it.
    this.follow(vscode.window.activeTextEditor);
  }

  private open(): void {
    if (!this.panel) {
      const place = { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true };
      this.panel = vscode.window.createWebviewPanel('drysheath.sheet', 'Sheet', place, {
        enableScripts: true,
        enableCommandUris: false,
        localResourceRoots: [],
      });
      this.panel.iconPath = vscode.Uri.joinPath(this.context.extensionUri, 'media', 'icon.png');
      this.panel.webview.onDidReceiveMessage((message: FromView) => this.told(message));
      this.panel.onDidChangeViewState(() => void this.ask());
      this.panel.onDidDispose(() => {
        this.panel = undefined;
        this.sheet = undefined;
        this.drawn = undefined;
      });
    }
    this.panel.reveal(undefined, true);
    this.follow(vscode.window.activeTextEditor);
    if (this.document) void this.ask();
    else this.panel.webview.html = page('<p>Open an office, and it is drawn here.</p>', '');
  }

  private follow(editor: vscode.TextEditor | undefined): void {
    if (editor?.document.languageId !== 'office' || editor.document.uri.scheme !== 'file') return;
    this.document = editor.document;
    void this.ask();
  }

  private async ask(): Promise<void> {
    // A hidden one asks once it is shown.
    if (!this.panel?.visible || !this.document) return;
    if (this.asking) {
      this.stale = true;
      return;
    }
    this.asking = true;
    do {
      this.stale = false;
      await this.answer(this.document);
    } while (this.stale && this.panel);
    this.asking = false;
  }

  private async answer(document: vscode.TextDocument): Promise<void> {
    const { client } = this.server;
    if (!client || !this.server.isRunning) {
      this.notCurrent('the language server does not run');
      return;
    }
    let sheet: Sheet | null;
    try {
      sheet = await client.sendRequest<Sheet | null>('drysheath/sheet', { textDocument: { uri: client.code2ProtocolConverter.asUri(document.uri) } });
    } catch (error) {
      this.server.output.warn(`the sheet was not drawn: ${String(error)}`);
      this.notCurrent('the language server gave no answer');
      return;
    }
    if (!this.panel || document !== this.document) return;
    const isFirst = !this.sheet;
    if (!sheet) {
      // A file of parts has no sheet: the office that is drawn is drawn again with it.
      if (isFirst) this.panel.webview.html = page('<p>This file describes no office, so that there is nothing to draw.</p>', '');
      else if (this.drawn && this.drawn !== document) {
        this.document = this.drawn;
        this.stale = true;
      }
      return;
    }
    // It may have been asked for before the client had sent the edit.
    if (typeof sheet.version === 'number' && sheet.version < document.version) this.stale = true;
    this.sheet = sheet;
    this.drawn = document;
    this.panel.title = `Sheet: ${sheet.title}`;
    if (isFirst) this.panel.webview.html = page('', sheet.style);
    else this.send();
  }

  /** Says in the view that what it shows is not what the text says now. */
  private notCurrent(why: string): void {
    if (!this.panel) return;
    if (this.sheet) void this.panel.webview.postMessage({ type: 'not-current', why });
    else this.panel.webview.html = page(`<p>Nothing is drawn yet: ${why}.</p>`, '');
  }

  /** Sends what the view does not have yet: on the way to it, a drawing takes longer than to be made. */
  private send(): void {
    const { sheet } = this;
    if (!sheet) return;
    const { title, things } = sheet;
    const drawings = sheet.drawings.map(({ id, title, svg }) => (this.shown.get(id) === svg ? { id, title } : { id, title, svg }));
    this.shown.clear();
    for (const { id, svg } of sheet.drawings) this.shown.set(id, svg);
    void this.panel?.webview.postMessage({ type: 'sheet', title, drawings, things: things.map((thing) => thing.name) });
    const editor = vscode.window.visibleTextEditors.find((one) => one.document === this.drawn);
    if (editor) this.point(editor);
  }

  /** Shows in the drawings what the cursor is on. */
  private point(editor: vscode.TextEditor): void {
    if (!this.panel || editor.document !== this.drawn) return;
    const { document, selection } = editor;
    const line = document.lineAt(selection.active.line).text;
    const word = document.getWordRangeAtPosition(selection.active);
    const names = new Set(this.sheet?.things.map((thing) => thing.name));
    const here = word && document.getText(word);
    const name = here && names.has(here) ? here : line.split(/[^\p{L}\p{M}\p{N}_/-]+/u).find((one) => names.has(one));
    void this.panel.webview.postMessage({ type: 'point', name });
  }

  private told(message: FromView): void {
    if (message.type === 'ready') {
      this.shown.clear();
      this.send();
      void this.ask();
    }
    if (message.type !== 'open') return;
    const location = this.sheet?.things.find((thing) => thing.name === message.name)?.location;
    if (!location) return;
    const { start, end } = location.range;
    const selection = new vscode.Range(start.line, start.character, end.line, end.character);
    const column = vscode.window.visibleTextEditors.find((one) => one.document === this.drawn)?.viewColumn ?? vscode.ViewColumn.One;
    void vscode.window.showTextDocument(vscode.Uri.parse(location.uri), { selection, viewColumn: column });
  }

  dispose(): void {
    this.panel?.dispose();
    for (const one of this.subscriptions) one.dispose();
  }
}

/** A page that runs its one script and fetches nothing. */
function page(body: string, style: string): string {
  const nonce = randomBytes(16).toString('base64');
  const policy = `default-src 'none'; style-src 'nonce-${nonce}'; script-src 'nonce-${nonce}'`;
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<style nonce="${nonce}">${style.replaceAll('<', '\\3c ')}</style>
<style nonce="${nonce}">${VIEW_STYLE}</style>
</head>
<body><p id="govern">Computed, not measured. Local codes and licensed people govern what is done.</p><main id="sheet">${body}</main>
<script nonce="${nonce}">${VIEW_SCRIPT}</script>
</body>
</html>`;
}

// Bundled from src/view.
declare const VIEW_STYLE: string;
declare const VIEW_SCRIPT: string;
