// Bundles the extension into dist: its program, the script and style of its view, and the grammar.

import { copyFile, mkdir } from 'node:fs/promises';
import { build } from 'esbuild';

const shared = { bundle: true, minify: true, write: false, logLevel: 'warning' };
const text = async (file) => (await build({ ...shared, entryPoints: [file] })).outputFiles[0].text;

await mkdir('dist', { recursive: true });
await build({
  ...shared,
  entryPoints: ['src/extension.ts'],
  outfile: 'dist/extension.js',
  write: true,
  platform: 'node',
  format: 'cjs',
  target: 'node20',
  external: ['vscode'],
  define: {
    VIEW_SCRIPT: JSON.stringify((await text('src/view/view.ts')).replaceAll('</', '<\\/')),
    VIEW_STYLE: JSON.stringify(await text('src/view/view.css')),
  },
});
await copyFile('../../grammar/office.tmLanguage.json', 'dist/office.tmLanguage.json');
