import { spawnSync } from 'node:child_process';

/** Runs node on the words given and waits; a status of 2 or more is no run of the kind to be timed. */
export function runNode(words: readonly string[]): void {
  const { status, error } = spawnSync(process.execPath, words, { stdio: 'ignore' });
  if (error) throw error;
  if (status === null || status > 1) throw new Error(`node ${words[0]} ended with ${status}`);
}
