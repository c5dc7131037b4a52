// The tasks of a folder of offices.

import * as vscode from 'vscode';
import type { Server } from './server';

const TYPE = 'drysheath';
const COMMANDS: Record<string, string[]> = {
  lint: ['lint', '--colour', 'never'],
  'format --check': ['format', '--check'],
};

export class Tasks implements vscode.TaskProvider {
  constructor(private readonly server: Server) {}

  provideTasks(): vscode.Task[] {
    const folders = vscode.workspace.workspaceFolders ?? [];
    return folders.flatMap((folder) => Object.keys(COMMANDS).map((command) => this.task({ type: TYPE, command }, folder)));
  }

  resolveTask(task: vscode.Task): vscode.Task | undefined {
    const { command } = task.definition as { command?: string };
    return command && command in COMMANDS ? this.task(task.definition, task.scope ?? vscode.TaskScope.Workspace) : undefined;
  }

  private task(definition: vscode.TaskDefinition, scope: vscode.WorkspaceFolder | vscode.TaskScope): vscode.Task {
    const command = definition['command'] as string;
    const program = this.server.binary?.path ?? 'drysheath';
    const execution = new vscode.ProcessExecution(program, COMMANDS[command] ?? []);
    // What a server runs for, it has told of already: read from the terminal too, every result would be there twice.
    const matcher = command === 'lint' && !this.server.isRunning ? '$drysheath' : [];
    const task = new vscode.Task(definition, scope, command, TYPE, execution, matcher);
    task.group = vscode.TaskGroup.Test;
    return task;
  }
}

export function registerTasks(context: vscode.ExtensionContext, server: Server): void {
  context.subscriptions.push(vscode.tasks.registerTaskProvider(TYPE, new Tasks(server)));
}
