// Starts with the first office that is opened.

import * as vscode from 'vscode';
import { registerCommands } from './commands';
import { Server } from './server';
import { registerSettingsCompletion } from './settings';
import { SheetView } from './sheet';
import { Status } from './status';
import { registerTasks } from './tasks';

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const server = new Server(context);
  registerCommands(context, server);
  registerTasks(context, server);
  registerSettingsCompletion(context);
  context.subscriptions.push(new Status(server), new SheetView(context, server));
  await server.restart();
}
