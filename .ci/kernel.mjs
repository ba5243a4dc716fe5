// Compiles the locator's inner loop to WebAssembly and writes it as text beside its source. Run by
// the build and before the tests.
import asc from 'assemblyscript/asc';
import { readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';

const folder = join(resolve(import.meta.dirname, '..'), 'src/measure/locator/kernel');

export async function writeKernel() {
  let binary = null;
  let said = '';
  const { error } = await asc.main(
    ['densitySums.as.ts', '--outFile', 'binary', '-O3', '--noAssert', '--runtime', 'stub'].concat([
      '--enable',
      'simd',
      '--importMemory',
      '--initialMemory',
      '1',
    ]),
    {
      readFile: (name) => readFile(join(folder, name), 'utf8').catch(() => null),
      writeFile: (name, content) => {
        if (name === 'binary') binary = content;
      },
      listFiles: () => [],
      stderr: { write: (text) => (said += text) },
    },
  );
  if (error) throw new Error(`the kernel does not compile: ${error.message}\n${said}`);
  const text = Buffer.from(binary).toString('base64');
  const target = join(folder, 'densitySums.generated');
  await writeFile(
    `${target}.js`,
    `// Written by .ci/kernel.mjs.\nexport const kernel = '${text}';\n`,
  );
  await writeFile(
    `${target}.d.ts`,
    `// Written by .ci/kernel.mjs.\nexport declare const kernel: string;\n`,
  );
}
