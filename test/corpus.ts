import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

const folder =
  process.env['HULLSIGHT_CORPUS'] ?? resolve(import.meta.dirname, '../../shared/corpus');

/** Folder of real sample files that are not part of the project, or null where it is absent. */
export const corpusFolder: string | null = existsSync(folder) ? folder : null;

/** The bytes of one of them, by its path in that folder; only where the folder is present. */
export function corpusBytes(path: string): Buffer {
  if (corpusFolder === null) throw new Error('the corpus folder is absent');
  return readFileSync(join(corpusFolder, path));
}
