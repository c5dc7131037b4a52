// Finds the drysheath program: the one that the settings name, then the one on the path, then the one within the package.

import * as childProcess from 'node:child_process';
import { access, constants } from 'node:fs/promises';
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
    // A relative one would mean a file of whatever folder is open.
    if (!path.isAbsolute(set)) throw new NotFound(`The setting drysheath.path is ${set}: write the whole path, from the root of the disk.`, true);
    const found = await version(set);
    if (typeof found === 'string') return { path: set, version: found };
    throw new NotFound(`The setting drysheath.path names ${set}, which cannot be run: ${found.message}`, true);
  }
  const broken: string[] = [];
  for (const place of [await onPath(NAME), await runnable(path.join(context.extensionPath, 'server', NAME))]) {
    if (!place) continue;
    const found = await version(place);
    if (typeof found === 'string') return { path: place, version: found };
    broken.push(`${place} cannot be run: ${found.message}.`);
  }
  throw new NotFound(broken.join(' ') || 'The drysheath program is neither on the path nor in this extension.', false);
}

/**
 * A program on the path, by its whole path. By its name alone some systems would run a file of the folder that is open, which may be
 * anybody's.
 */
export async function onPath(name: string): Promise<string | undefined> {
  for (const folder of (process.env['PATH'] ?? '').split(path.delimiter).filter((one) => path.isAbsolute(one))) {
    const found = await runnable(path.join(folder, name));
    if (found) return found;
  }
  return undefined;
}

/** A file, where it is there and may be run. */
async function runnable(file: string): Promise<string | undefined> {
  return access(file, constants.X_OK).then(() => file, () => undefined);
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
