import { execFile, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { ControlNet, Spot } from '../../../src/geometry/controlNet.ts';
import type { Vector } from '../../../src/geometry/vector.ts';
import { visibleEffect } from '../../../src/measure/visibleEffect.ts';
import type { Answer } from './answer.ts';
import { leastSeen } from './rankedAnswer.ts';

export const referenceNames = ['E', 'F', 'G'] as const;
export type ReferenceName = (typeof referenceNames)[number];
export type ReferenceAnswers = Readonly<Record<ReferenceName, Answer & { failed: boolean }>>;

interface Said {
  readonly points: readonly {
    readonly spot: Spot;
    readonly displacement: Vector;
    readonly strength: number;
    readonly named: boolean;
  }[];
  readonly lines: Answer['lines'];
  readonly failed: boolean;
  readonly milliseconds: number;
}

const folder =
  process.env['HULLSIGHT_LOCATOR'] ?? resolve(import.meta.dirname, '../../../../shared/locator');

/** Not under version control. */
const scratch = resolve(import.meta.dirname, '../../../reports/scratch');

/** Why the numpy references cannot be asked, or null. */
export function whyNoReferences(): string | null {
  if (!existsSync(join(folder, 'several/best.py')))
    return 'the folder of the references (HULLSIGHT_LOCATOR) is absent';
  const tried = spawnSync('python3', ['-c', 'import numpy, scipy']);
  return tried.status === 0 ? null : 'python3 with numpy and scipy is absent';
}

function answerOf(net: ControlNet, { points, lines, failed, milliseconds }: Said) {
  const top = points.find(
    ({ spot, displacement }) =>
      visibleEffect(net, [{ spot: spot, by: displacement }]).peak >= leastSeen,
  );
  const named = points.filter((point) => point.named);
  const graver = named.length + lines.length > 0;
  return { top: top ?? null, named, lines, graver, milliseconds, failed };
}

/** What E, F and G say of each net: one run of their references in a process of its own. */
export function referenceAnswers(nets: readonly ControlNet[]): Promise<ReferenceAnswers[]> {
  const cases = nets.map(({ degree, knots, columns, rows, points }) => ({
    degree,
    knots: knots.map((side) => Array.from(side)),
    rows: Array.from({ length: rows }, (_, j) =>
      Array.from({ length: columns }, (_p, i) =>
        Array.from(points.subarray(3 * (j * columns + i), 3 * (j * columns + i) + 3)),
      ),
    ),
  }));
  const script = join(import.meta.dirname, 'references.py');
  // From a file: what is written to a pipe waits for a pause that a busy benchmark does not make.
  // Kept: the references say the same of the same nets, and take many minutes.
  const text = JSON.stringify(cases);
  const key = createHash('sha256').update(text).digest('hex').slice(0, 16);
  mkdirSync(scratch, { recursive: true });
  const asked = join(scratch, `cases-${key}.json`);
  const kept = join(scratch, `references-${key}.json`);
  writeFileSync(asked, text);
  return new Promise((done, failed) => {
    const told = (error: Error | null, stdout: string): void => {
      if (error) return failed(error);
      writeFileSync(kept, stdout);
      const said = JSON.parse(stdout) as Record<ReferenceName, Said>[];
      done(
        said.map((methods, k) => ({
          E: answerOf(nets[k], methods.E),
          F: answerOf(nets[k], methods.F),
          G: answerOf(nets[k], methods.G),
        })),
      );
    };
    if (existsSync(kept)) told(null, readFileSync(kept, 'utf8'));
    else execFile('python3', [script, folder, asked], { maxBuffer: 1e9 }, told);
  });
}
