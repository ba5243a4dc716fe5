import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, totalmem } from 'node:os';
import { join } from 'node:path';

/** What a bench ran on, so that a reader can judge its times; `loadBefore` when it began. */
export const benchMachine = (loadBefore: number) => ({
  cpu: cpus()[0].model,
  cores: availableParallelism(),
  memoryGB: Number((totalmem() / 2 ** 30).toFixed(1)),
  platform: `${process.platform} ${process.arch}`,
  node: process.versions.node,
  load: { before: loadBefore, after: loadavg()[0] },
});

/** Puts parts of the bench into reports/bench.json in place of those of the same name. */
export function writeBenchReport(root: string, parts: Readonly<Record<string, unknown>>): void {
  const path = join(root, 'reports/bench.json');
  const before = existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as object) : {};
  const rounded = (_: string, value: unknown): unknown =>
    typeof value === 'number' ? Number(value.toPrecision(4)) : value;
  writeFileSync(path, `${JSON.stringify({ ...before, ...parts }, rounded, 2)}\n`);
}
