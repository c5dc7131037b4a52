// The language server: started once an office is opened, and again on request or when it has ended.

import * as vscode from 'vscode';
import {
  CloseAction,
  ErrorAction,
  LanguageClient,
  RevealOutputChannelOn,
  State,
  type ErrorHandler,
  type LanguageClientOptions,
} from 'vscode-languageclient/node';
import { findBinary, NotFound, type Binary } from './binary';

const SETTINGS_THAT_RESTART = ['drysheath.path', 'drysheath.picturesInHover'];
/** A server that ends more often than this within that time (milliseconds) is left alone. */
const MOST_ENDS = 4;
const ENDS_WITHIN = 3 * 60 * 1000;

export class Server implements vscode.Disposable {
  readonly output = vscode.window.createOutputChannel('drysheath', { log: true });
  private readonly changed = new vscode.EventEmitter<void>();
  /** Something about the server has changed: it was started, it has ended, it was not found. */
  readonly onDidChange = this.changed.event;

  client: LanguageClient | undefined;
  binary: Binary | undefined;
  trouble: string | undefined;
  /** Starting and stopping follow one another. */
  private last: Promise<void> = Promise.resolve();

  constructor(private readonly context: vscode.ExtensionContext) {
    context.subscriptions.push(
      this,
      vscode.workspace.onDidChangeConfiguration((event) => {
        if (SETTINGS_THAT_RESTART.some((name) => event.affectsConfiguration(name))) void this.restart();
      }),
      vscode.workspace.onDidGrantWorkspaceTrust(() => this.restart()),
    );
  }

  get isRunning(): boolean {
    return this.client?.state === State.Running;
  }

  restart(): Promise<void> {
    this.last = this.last.then(() => this.stopped()).then(() => this.started());
    return this.last;
  }

  private async stopped(): Promise<void> {
    const client = this.client;
    this.client = undefined;
    // One that has ended by itself cannot be stopped.
    await client?.dispose().catch((error: unknown) => this.output.warn(String(error)));
  }

  private async started(): Promise<void> {
    this.trouble = undefined;
    this.binary = undefined;
    try {
      this.binary = await findBinary(this.context);
      this.client = this.made(this.binary);
      this.output.info(`starting ${this.binary.path}, version ${this.binary.version}`);
      await this.client.start();
    } catch (error) {
      this.trouble = error instanceof Error ? error.message : String(error);
      this.output.error(this.trouble);
      void this.tell(error instanceof NotFound && error.isSetting);
    }
    this.changed.fire();
  }

  private made(binary: Binary): LanguageClient {
    const configuration = vscode.workspace.getConfiguration('drysheath');
    const options: LanguageClientOptions = {
      documentSelector: [{ scheme: 'file', language: 'office' }],
      outputChannel: this.output,
      revealOutputChannelOn: RevealOutputChannelOn.Never,
      errorHandler: this.errorHandler(),
      initializationOptions: { pictures: configuration.get<boolean>('picturesInHover', true) },
    };
    const client = new LanguageClient('drysheath', 'drysheath', { command: binary.path, args: ['lsp'] }, options);
    client.onDidChangeState(() => this.changed.fire());
    return client;
  }

  private errorHandler(): ErrorHandler {
    let ends: number[] = [];
    return {
      // What cannot be written is followed by the end of the connection.
      error: () => ({ action: ErrorAction.Continue, handled: true }),
      closed: () => {
        const now = Date.now();
        ends = [...ends.filter((end) => now - end < ENDS_WITHIN), now];
        if (ends.length <= MOST_ENDS) {
          this.output.warn('the language server ended and is started again');
          return { action: CloseAction.Restart, handled: true };
        }
        this.trouble = `The language server has ended ${ends.length} times within three minutes. The output says why.`;
        this.changed.fire();
        return { action: CloseAction.DoNotRestart, message: this.trouble };
      },
    };
  }

  private async tell(isSetting: boolean): Promise<void> {
    const [setting, how] = ['Open the setting', 'How to get drysheath'];
    const chosen = await vscode.window.showErrorMessage(this.trouble ?? '', ...(isSetting ? [setting, how] : [how, setting]));
    if (chosen === setting) await vscode.commands.executeCommand('workbench.action.openSettings', 'drysheath.path');
    if (chosen === how) await vscode.commands.executeCommand('drysheath.install');
  }

  dispose(): void {
    void this.stopped();
  }
}
