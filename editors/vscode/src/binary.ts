// Finds the drysheath program: the one that the settings name, then the one on the path, then the one within the package.

import * as childProcess from 'node:child_process';
import * as path from 'node:path';
import { promisify } from 'node:util';
import * as vscode from 'vscode';

const run = promisify(childProcess.execFile);
const NAME = process.platform === 'win32' ? 'drysheath.exe' : 'drysheath';
/** A program that says no version by then is not the one. */
const PATIENCE = 10_000;

export interface Binary {
  path: string;
  version: string;
}

/** Why there is no program that can be run, in words for whoever has to mend it. */
export class NotFound extends Error {
  constructor(
    message: string,
    readonly isSetting: boolean,
  ) {
    super(message);
  }
}

/** The program, and its version. Throws `NotFound`. */
export async function findBinary(context: vscode.ExtensionContext): Promise<Binary> {
  // In a folder that is not trusted, this leaves out what the folder's settings say: see `restrictedConfigurations`.
  const set = vscode.workspace.getConfiguration('drysheath').get<string>('path', '').trim();
  if (set) {
    const found = await version(set);
    if (typeof found === 'string') return { path: set, version: found };
    throw new NotFound(`The setting drysheath.path names ${set}, which cannot be run: ${found.message}`, true);
  }
  for (const place of ['drysheath', path.join(context.extensionPath, 'server', NAME)]) {
    const found = await version(place);
    if (typeof found === 'string') return { path: place, version: found };
  }
  throw new NotFound('The drysheath program is neither on the path nor in this extension.', false);
}

/** The version that a program says, or why it says none. */
async function version(program: string): Promise<string | Error> {
  try {
    const { stdout } = await run(program, ['--version'], { timeout: PATIENCE });
    const found = /^drysheath (\S+)/.exec(stdout);
    return found?.[1] ?? new Error('it is another program');
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    const known: Record<string, string> = { ENOENT: 'there is no such file', EACCES: 'it is not executable' };
    return new Error(known[String(code)] ?? message.split('\n')[0]);
  }
}
