import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { format } from 'prettier';

/** A value as the project's format has JSON. */
export const jsonText = (value: unknown): Promise<string> =>
  format(JSON.stringify(value), { parser: 'json', printWidth: 100 });

/** Writes a value as JSON; beside the file first and renamed, so that nobody reads half of it. */
export async function writtenJson(path: string, value: unknown): Promise<string> {
  const text = await jsonText(value);
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(`${path}.part`, text);
  renameSync(`${path}.part`, path);
  return text;
}
