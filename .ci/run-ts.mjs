// Runs one TypeScript file of this project: `node .ci/run-ts.mjs FILE [ARGUMENT]...`
import { build } from 'esbuild';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

/** Bundled together, every module must still know the folder it came from. */
const ownFolders = {
  name: 'own-folders',
  setup: ({ onLoad }) =>
    onLoad({ filter: /\.ts$/ }, async ({ path }) => ({
      contents: (await readFile(path, 'utf8')).replaceAll(
        'import.meta.dirname',
        JSON.stringify(dirname(path)),
      ),
      loader: 'ts',
    })),
};

const [file, ...rest] = process.argv.slice(2);
const root = resolve(import.meta.dirname, '..');
// Inside the project, so that its packages are found.
const folder = await mkdtemp(join(root, 'node_modules/.run-ts-'));
try {
  const outfile = join(folder, 'script.mjs');
  await build({
    entryPoints: [resolve(file)],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    packages: 'external',
    sourcemap: 'inline',
    logLevel: 'warning',
    plugins: [ownFolders],
  });
  process.argv = [process.argv[0], resolve(file), ...rest];
  await import(pathToFileURL(outfile).href);
} finally {
  await rm(folder, { recursive: true, force: true });
}
