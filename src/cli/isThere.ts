import { lstatSync } from 'node:fs';

/** Whether a path names anything, be it a link that leads nowhere. */
export function isThere(path: string): boolean {
  try {
    lstatSync(path);
    return true;
  } catch {
    return false;
  }
}
