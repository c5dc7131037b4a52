// What can be asked for by name. Each does what the server or the program does; nothing is decided here.

import * as childProcess from 'node:child_process';
import * as path from 'node:path';
import { promisify } from 'node:util';
import * as vscode from 'vscode';
import { onPath } from './binary';
import type { Server } from './server';

const run = promisify(childProcess.execFile);
/** The output of a large comparison. */
const MOST_OUTPUT = 64 * 1024 * 1024;

interface Outcome {
  output: string;
  /** What could not be read or computed: the output is then not whole. */
  complaint: string;
}

/** Texts that are shown and not edited, by their address. */
class Shown implements vscode.TextDocumentContentProvider {
  static readonly scheme = 'drysheath';
  private readonly texts = new Map<string, string>();
  private readonly changed = new vscode.EventEmitter<vscode.Uri>();
  readonly onDidChange = this.changed.event;

  provideTextDocumentContent(uri: vscode.Uri): string {
    return this.texts.get(uri.toString()) ?? '';
  }

  put(name: string, text: string): vscode.Uri {
    const uri = vscode.Uri.from({ scheme: Shown.scheme, path: `/${name}` });
    this.texts.set(uri.toString(), text);
    this.changed.fire(uri);
    return uri;
  }
}

export function registerCommands(context: vscode.ExtensionContext, server: Server): void {
  const shown = new Shown();
  const register = (name: string, does: () => unknown) =>
    context.subscriptions.push(vscode.commands.registerCommand(`drysheath.${name}`, does));
  context.subscriptions.push(vscode.workspace.registerTextDocumentContentProvider(Shown.scheme, shown));
  register('restart', () => server.restart());
  register('output', () => server.output.show());
  register('install', () => vscode.commands.executeCommand('markdown.showPreview', vscode.Uri.joinPath(context.extensionUri, 'walkthrough', 'program.md')));
  register('format', () => vscode.commands.executeCommand('editor.action.formatDocument'));
  register('accept', accept);
  register('nextFree', () => act(/^Use .*, which is free$/));
  register('predict', () => withOffice((document) => predict(server, shown, document)));
  register('compare', () => withOffice((document) => compare(server, shown, document)));
}

async function withOffice(does: (document: vscode.TextDocument) => Promise<void>): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document?.languageId !== 'office') {
    void vscode.window.showInformationMessage('Open an office first.');
    return;
  }
  await does(document);
}

/** The action at the cursor that the server offers under such a title; asks which where there are several. */
async function offered(title: RegExp): Promise<vscode.WorkspaceEdit | undefined> {
  const editor = vscode.window.activeTextEditor;
  if (!editor) return undefined;
  const { document, selection } = editor;
  const all = await vscode.commands.executeCommand<vscode.CodeAction[]>('vscode.executeCodeActionProvider', document.uri, selection);
  const actions = all.filter((action) => title.test(action.title) && action.edit);
  if (actions.length === 0) void vscode.window.showInformationMessage('Nothing of that kind is offered where the cursor is.');
  if (actions.length < 2) return actions[0]?.edit;
  const chosen = await vscode.window.showQuickPick(actions.map((action) => ({ label: action.title, action })));
  return chosen?.action.edit;
}

async function act(title: RegExp): Promise<void> {
  const edit = await offered(title);
  if (edit) await vscode.workspace.applyEdit(edit);
}

/** Accepts a result: the server writes the acceptance, and whoever accepts says why. */
async function accept(): Promise<void> {
  const edit = await offered(/^Accept .*, with a reason$/);
  if (!edit) return;
  const prompt = 'Why is it right as it is? The next engineer reads this in the file.';
  const reason = (await vscode.window.showInputBox({ prompt, ignoreFocusOut: true }))?.trim();
  if (!reason) return;
  const quoted = reason.replaceAll(/[\\"]/g, '\\$&');
  const reasoned = new vscode.WorkspaceEdit();
  for (const [uri, edits] of edit.entries()) {
    reasoned.set(uri, edits.map((one) => new vscode.TextEdit(one.range, one.newText.replace('because "…"', () => `because "${quoted}"`))));
  }
  await vscode.workspace.applyEdit(reasoned);
}

/** Runs the program, which reads files from the disk. */
async function drysheath(server: Server, folder: string, ...words: string[]): Promise<Outcome | undefined> {
  if (!server.binary) {
    void vscode.window.showErrorMessage(server.trouble ?? 'The drysheath program has not been found yet.');
    return undefined;
  }
  try {
    const { stdout, stderr } = await run(server.binary.path, words, { cwd: folder, maxBuffer: MOST_OUTPUT });
    return { output: stdout, complaint: stderr };
  } catch (error) {
    // A number is the exit code of the program, which has said what is wrong itself.
    const failed = error as { stdout?: string; stderr?: string; code?: number | string; message: string };
    const complaint = [failed.stderr, typeof failed.code === 'number' ? '' : failed.message].filter(Boolean).join('\n');
    return { output: failed.stdout ?? '', complaint };
  }
}

/** Whether the files that the program is going to read are those that are seen here. */
async function isSaved(saving: Thenable<boolean>): Promise<boolean> {
  if (await saving) return true;
  void vscode.window.showErrorMessage('Not everything could be saved, and drysheath reads files from the disk.');
  return false;
}

/** The folder that commands run in: names of files are then short in what they print. */
function folderOf(document: vscode.TextDocument): string {
  return vscode.workspace.getWorkspaceFolder(document.uri)?.uri.fsPath ?? path.dirname(document.uri.fsPath);
}

async function predict(server: Server, shown: Shown, document: vscode.TextDocument): Promise<void> {
  if (document.isDirty && !(await isSaved(document.save()))) return;
  const folder = folderOf(document);
  const outcome = await drysheath(server, folder, 'predict', path.relative(folder, document.uri.fsPath));
  if (!outcome) return;
  const uri = shown.put(`${path.basename(document.uri.fsPath, '.office')}: prediction`, [outcome.complaint, outcome.output].filter(Boolean).join('\n'));
  await vscode.window.showTextDocument(uri, { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true });
}

async function compare(server: Server, shown: Shown, document: vscode.TextDocument): Promise<void> {
  const folder = folderOf(document);
  const other = vscode.workspace.getConfiguration('drysheath', document.uri).get<string>('compareWith', 'main');
  let base: string;
  try {
    const git = await onPath(process.platform === 'win32' ? 'git.exe' : 'git');
    if (!git) throw new Error('git is not on the path');
    const { stdout } = await run(git, ['merge-base', '--end-of-options', 'HEAD', other], { cwd: folder });
    // Enough of it to be one commit, and short enough for a heading.
    base = stdout.trim().slice(0, 12);
  } catch (error) {
    const why = (error as { stderr?: string }).stderr?.trim().split('\n')[0] || (error as Error).message;
    void vscode.window.showErrorMessage(`Where this branch left ${other} is not known: ${why}. The setting drysheath.compareWith names the branch.`);
    return;
  }
  if (!(await isSaved(vscode.workspace.saveAll(false)))) return;
  const outcome = await drysheath(server, folder, 'compare', base, '--output', 'markdown');
  if (!outcome) return;
  const complaint = outcome.complaint && `\`\`\`text\n${outcome.complaint.replaceAll('```', "'''")}\n\`\`\`\n`;
  const uri = shown.put(`${path.basename(folder)} compared with ${other}.md`, [complaint, outcome.output].filter(Boolean).join('\n'));
  await vscode.commands.executeCommand('markdown.showPreviewToSide', uri);
}
