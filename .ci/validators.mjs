// Writes the JSON Schema checks as plain code beside their schemas (ajv standalone), so that no
// schema is compiled when the program starts. Run by the build and before the tests.
import Ajv from 'ajv';
import standaloneCode from 'ajv/dist/standalone/index.js';
import { readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';

const root = resolve(import.meta.dirname, '..');
const schemas = [
  ['src/intake/net.schema.json', 'netShape'],
  ['src/rules/rule.schema.json', 'ruleShape'],
  ['src/rules/spec.schema.json', 'specShape'],
  ['src/verdict/verdict.schema.json', 'verdictShape'],
];

const types = (name) => `// Written by .ci/validators.mjs.
export interface ShapeError {
  readonly instancePath: string;
  readonly keyword: string;
  readonly message: string;
  readonly params: Readonly<Record<string, unknown>>;
}
export declare const ${name}: {
  (content: unknown): boolean;
  readonly errors: readonly ShapeError[] | null;
};
`;

export async function writeValidators() {
  for (const [file, name] of schemas) {
    const schema = JSON.parse(await readFile(join(root, file), 'utf8'));
    const ajv = new Ajv({ code: { source: true, esm: true }, strictTuples: false });
    ajv.addSchema(schema);
    const code = standaloneCode(ajv, { [name]: schema.$id });
    if (code.includes('require('))
      throw new Error(
        `${file}: the compiled check needs a package at run time; avoid that keyword`,
      );
    const target = join(root, file.replace(/\.schema\.json$/, '.generated'));
    await writeFile(`${target}.js`, `// Written by .ci/validators.mjs from ${file}.\n${code}\n`);
    await writeFile(`${target}.d.ts`, types(name));
  }
}
