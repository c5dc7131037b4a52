// What the status bar says of the office in sight: its results and its worst margin, and behind it the version.

import * as vscode from 'vscode';
import type { Server } from './server';

/** An edit is followed by others: the server is asked once they pause. */
const PAUSE = 250;

export class Status implements vscode.Disposable {
  private readonly item = vscode.languages.createLanguageStatusItem('drysheath.program', { language: 'office' });
  private readonly bar = vscode.window.createStatusBarItem('drysheath.office', vscode.StatusBarAlignment.Left, 10);
  private readonly subscriptions: vscode.Disposable[];
  private timer: NodeJS.Timeout | undefined;

  constructor(private readonly server: Server) {
    this.bar.name = 'drysheath';
    this.bar.command = 'workbench.actions.view.problems';
    const soon = () => {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => void this.show(), PAUSE);
    };
    this.subscriptions = [
      server.onDidChange(soon),
      vscode.window.onDidChangeActiveTextEditor(soon),
      vscode.languages.onDidChangeDiagnostics((event) => {
        const shown = vscode.window.activeTextEditor?.document.uri.toString();
        if (event.uris.some((uri) => uri.toString() === shown)) soon();
      }),
      vscode.workspace.onDidChangeTextDocument((event) => {
        if (event.document === vscode.window.activeTextEditor?.document) soon();
      }),
    ];
    soon();
  }

  private async show(): Promise<void> {
    const { server, item, bar } = this;
    item.name = 'drysheath';
    item.command = { command: 'drysheath.restart', title: 'Restart' };
    const { binary } = server;
    item.text = server.trouble ? 'drysheath does not run' : `drysheath ${binary?.version ?? ''}`;
    item.detail = server.trouble ?? (server.isRunning ? binary?.path : 'not running');
    item.severity = server.trouble ? vscode.LanguageStatusSeverity.Error : vscode.LanguageStatusSeverity.Information;
    item.busy = !server.trouble && !server.isRunning;
    const document = vscode.window.activeTextEditor?.document;
    if (document?.languageId !== 'office') {
      bar.hide();
      return;
    }
    const said = server.isRunning ? await this.said(document) : [];
    // Another one may be in sight by now, which is asked about as well.
    if (document !== vscode.window.activeTextEditor?.document) return;
    if (said.length === 0) {
      bar.hide();
      return;
    }
    const margin = said.find((line) => line.startsWith('worst margin'));
    bar.text = `$(circuit-board) ${said[0]}${margin ? ` · ${margin}` : ''}`;
    bar.tooltip = ['Computed of this office, not measured:', ...said].join('\n');
    bar.accessibilityInformation = { label: `drysheath: ${said.join(', ')}` };
    bar.show();
  }

  /** What the server says above the first line of an office. */
  private async said(document: vscode.TextDocument): Promise<string[]> {
    const lenses = await vscode.commands.executeCommand<vscode.CodeLens[]>('vscode.executeCodeLensProvider', document.uri, 10);
    return lenses.flatMap((lens) => (lens.command?.command === 'drysheath.nothing' ? [lens.command.title] : []));
  }

  dispose(): void {
    clearTimeout(this.timer);
    for (const one of [...this.subscriptions, this.item, this.bar]) one.dispose();
  }
}
