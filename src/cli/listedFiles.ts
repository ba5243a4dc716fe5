import { readdirSync, statSync } from 'node:fs';
import { basename, join, relative, resolve, sep } from 'node:path';
import { fault, type Fault } from '../intake/fault.ts';
import { formatByName } from '../intake/format.ts';
import { scanFormatByName } from '../intake/scanFormat.ts';
import { isThere } from './isThere.ts';

/** A file to audit: where it is, and what the verdict calls it; or why it cannot be opened. */
export interface ListedFile {
  readonly path: string;
  readonly name: string;
  readonly fault: Fault | null;
}

/** A fault for what the file system says of a path, in our words. */
export function systemFault(error: unknown): Fault {
  const code = (error as NodeJS.ErrnoException).code ?? 'unknown';
  if (code === 'ENOENT' || code === 'ENOTDIR') return fault('file-missing', {});
  if (code === 'ELOOP') return fault('link-loop', {});
  return fault('file-unreadable', {}, { system: code });
}

const slashed = (path: string): string => path.split(sep).join('/');

/**
 * Files below a folder that a reader may want, hidden ones passed over. A folder below it that cannot
 * be opened is listed with its fault and costs no other file. Links to folders are not followed, so
 * that a walk always ends.
 */
function folderFiles(folder: string, below = ''): ListedFile[] {
  const path = join(folder, below);
  let entries;
  try {
    entries = readdirSync(path, { withFileTypes: true, encoding: 'utf8' });
  } catch (error) {
    return [{ path, name: below || slashed(path), fault: systemFault(error) }];
  }
  return entries
    .filter(({ name }) => !name.startsWith('.') && name !== 'node_modules')
    .flatMap((entry): ListedFile[] => {
      const name = below === '' ? entry.name : `${below}/${entry.name}`;
      if (entry.isDirectory()) return folderFiles(folder, name);
      const isWanted = formatByName(name) !== null || scanFormatByName(name) !== null;
      return isWanted ? [{ path: join(folder, name), name, fault: null }] : [];
    });
}

/** A path by itself: a file, or all that a folder holds. */
export function listedPath(path: string): ListedFile[] {
  let found;
  try {
    found = statSync(path);
  } catch (error) {
    return [{ path, name: basename(path), fault: systemFault(error) }];
  }
  if (!found.isDirectory()) return [{ path, name: basename(path), fault: null }];
  const files = folderFiles(path).sort((a, b) => (a.name < b.name ? -1 : 1));
  return files.length > 0
    ? files
    : [{ path, name: slashed(path), fault: fault('nothing-to-read', {}) }];
}

/** Whether a path has a character that only means something in a pattern. */
export const hasGlob = (argument: string): boolean => /[*?[\]{}!]/.test(argument);

/**
 * The files that the arguments name: files as they are, folders with all below them, globs. A name
 * in the verdict is relative to the folder given, so that it does not tell whose machine it was;
 * where two arguments would give one name, the whole relative path stands instead.
 */
export async function listedFiles(paths: readonly string[]): Promise<ListedFile[]> {
  const all: ListedFile[] = [];
  for (const argument of paths) {
    if (hasGlob(argument) && !isThere(argument)) {
      const { glob } = await import('tinyglobby');
      const matches = (await glob(argument, { onlyFiles: true, expandDirectories: false })).sort();
      if (matches.length === 0)
        all.push({ path: argument, name: argument, fault: fault('nothing-to-read', {}) });
      for (const path of matches) all.push({ path, name: slashed(path), fault: null });
    } else all.push(...listedPath(argument));
  }
  const byPath = new Map<string, ListedFile>();
  for (const file of all) {
    const path = resolve(file.path);
    if (!byPath.has(path)) byPath.set(path, file);
  }
  const once = [...byPath.values()];
  const uses = new Map<string, number>();
  for (const { name } of once) uses.set(name, (uses.get(name) ?? 0) + 1);
  return once.map((file) =>
    uses.get(file.name) === 1 ? file : { ...file, name: slashed(relative('.', file.path)) },
  );
}
