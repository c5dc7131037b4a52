// Packages the extension: node scripts/package.mjs FILE.vsix [PROGRAM TARGET]. With a program, that comes with it, and the package is for
// the systems that it runs on: linux-x64, win32-x64, darwin-arm64 and so on, or none where the editor has no name for them.

import { chmod, copyFile, mkdir, rm } from 'node:fs/promises';
import path from 'node:path';
import { createVSIX } from '@vscode/vsce';

const [file, program, target] = process.argv.slice(2);
if (!file) throw new Error('which file is written?');
process.chdir(path.join(import.meta.dirname, '..'));
await import('./build.mjs');
await copyFile('../../LICENSE', 'LICENSE');
await rm('server', { recursive: true, force: true });
if (program) {
  const name = path.join('server', path.basename(program));
  await mkdir('server');
  await copyFile(program, name);
  await chmod(name, 0o755);
}
await createVSIX({ packagePath: file, target: target || undefined, dependencies: false, allowMissingRepository: true, rewriteRelativeLinks: false });
