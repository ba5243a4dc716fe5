// Builds dist/: the command line (two CommonJS bundles and a loader that keeps V8's compiled code),
// and the library (an ES module with its types).
import { build } from 'esbuild';
import { execFileSync, spawnSync } from 'node:child_process';
import { chmod, rm, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { writeKernel } from './kernel.mjs';
import { writeValidators } from './validators.mjs';

const root = resolve(import.meta.dirname, '..');
const dist = join(root, 'dist');
await writeKernel();
await writeValidators();
await rm(dist, { recursive: true, force: true });

const shared = {
  bundle: true,
  platform: 'node',
  target: 'node20',
  logLevel: 'warning',
  absWorkingDir: root,
};
// Needed by few runs only, so loaded from node_modules when they are.
const lazy = ['piscina', 'tinyglobby', 'cli-progress'];
await build({
  ...shared,
  entryPoints: { cli: 'src/cli/main.ts', worker: 'src/cli/job.ts' },
  outdir: dist,
  outExtension: { '.js': '.cjs' },
  format: 'cjs',
  // jsonc-parser's main entry loads its parts in a way that no bundler can follow.
  mainFields: ['module', 'main'],
  external: lazy,
  alias: { 'string-width': './.ci/textWidth.mjs' },
  // The loader runs the bundle as a plain script, in which import() is not at hand.
  supported: { 'dynamic-import': false },
  define: { 'import.meta.url': 'here' },
  banner: { js: "const here=require('url').pathToFileURL(__filename).href;" },
});
await build({
  ...shared,
  entryPoints: { index: 'src/index.ts' },
  outdir: dist,
  format: 'esm',
  packages: 'external',
});

await writeFile(
  join(dist, 'hullsight.cjs'),
  `#!/usr/bin/env node
'use strict';
// Runs cli.cjs with the compiled code kept beside it, which halves the start-up; another version of
// Node rejects that code and compiles anew. The bundle is pure ASCII, which latin1 decodes fastest.
const fs = require('fs');
const path = require('path');
const file = path.join(__dirname, 'cli.cjs');
let cachedData;
try {
  cachedData = fs.readFileSync(file + '.code');
} catch {}
const script = new (require('vm').Script)(require('module').wrap(fs.readFileSync(file, 'latin1')), {
  filename: file,
  cachedData,
});
const cli = { exports: {} };
script.runInThisContext()(cli.exports, require, cli, file, __dirname);
cli.exports.main(process.argv.slice(2), __dirname, path.join(__dirname, 'worker.cjs'));
if (process.env.HULLSIGHT_KEEP_CODE)
  process.on('exit', () => fs.writeFileSync(file + '.code', script.createCachedData()));
`,
);
await chmod(join(dist, 'hullsight.cjs'), 0o755);
// One real run over every format, so that the functions a run needs are among the compiled code. Its
// exit status is that of the demo's findings and of no interest here.
spawnSync(
  process.execPath,
  [join(dist, 'hullsight.cjs'), 'audit', join(root, 'fixtures/demo/job')],
  { env: { ...process.env, HULLSIGHT_KEEP_CODE: '1' }, stdio: ['ignore', 'ignore', 'inherit'] },
);
execFileSync(
  process.execPath,
  [
    join(root, 'node_modules/typescript/bin/tsc'),
    '--project',
    join(import.meta.dirname, 'tsconfig.types.json'),
  ],
  { cwd: root, stdio: 'inherit' },
);
