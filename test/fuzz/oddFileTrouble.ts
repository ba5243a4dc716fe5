import { bufferSource } from '../../src/intake/byteSource.ts';
import type { Fault, Notice } from '../../src/intake/fault.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import type { ScanIntake } from '../../src/intake/scan/scanIntake.ts';
import { faultSentence, noticeSentence } from '../../src/writers/faultSentences.ts';

/** What reading a file came to. */
export interface Reading<T> {
  readonly intake: T | null;
  readonly milliseconds: number;
  /** What must never be, whatever the bytes are; null where all is well. */
  readonly trouble: string | null;
}

const longest = 2000;

const finite = (numbers: ArrayLike<number>): boolean => Array.from(numbers).every(Number.isFinite);

function intakeTrouble({ panels, faults, notices }: Intake): string | null {
  for (const { name, net } of panels) {
    if (!finite(net.points) || !net.knots.every(finite) || (net.weights && !finite(net.weights)))
      return `a number that is none in panel ${name}`;
    if (net.points.length !== 3 * net.rows * net.columns) return `points lost in panel ${name}`;
  }
  if (new Set(panels.map(({ name }) => name)).size !== panels.length) return 'a name used twice';
  return unsaidTrouble(faults, notices);
}

function unsaidTrouble(faults: readonly Fault[], notices: readonly Notice[]): string | null {
  const sentences = [...faults.map(faultSentence), ...notices.map(noticeSentence)];
  const unsaid = sentences.find((text) => /undefined|NaN announced|NaN MB|\[object/.test(text));
  return unsaid === undefined ? null : `a sentence with a gap: ${unsaid}`;
}

function scanTrouble({ mesh, counts, faults, notices }: ScanIntake): string | null {
  if (mesh === null && faults.length === 0) return 'no mesh, and no word on why';
  if (counts) {
    const { triangles, degenerate, duplicate, outOfRange, broken } = counts;
    const sum = triangles + degenerate + duplicate + outOfRange + broken;
    if (!Object.values(counts).every((count) => Number.isInteger(count) && count >= 0))
      return `a count that is none: ${JSON.stringify(counts)}`;
    if (sum < counts.faces && mesh?.triangles.length !== 0)
      return `${counts.faces} faces came to ${sum}`;
  }
  if (mesh) {
    const { vertices, triangles } = mesh;
    if (!finite(vertices)) return 'a number that is none';
    if (counts?.triangles !== triangles.length / 3 || counts.vertices !== vertices.length / 3)
      return 'counts that are not those of the mesh';
    if (triangles.some((corner) => corner >= vertices.length / 3)) return 'a corner out of range';
    if (triangles.length > 0 && new Set(triangles).size !== vertices.length / 3)
      return 'a vertex of no triangle';
  }
  return unsaidTrouble(faults, notices);
}

function timed<T>(read: () => T, troubleOf: (intake: T) => string | null): Reading<T> {
  const begun = performance.now();
  let intake: T;
  try {
    intake = read();
  } catch (error) {
    const said = error instanceof Error ? (error.stack ?? error.message) : String(error);
    return { intake: null, milliseconds: performance.now() - begun, trouble: said };
  }
  const milliseconds = performance.now() - begun;
  const slow = milliseconds > longest ? `reading took ${Math.round(milliseconds)} ms` : null;
  return { intake, milliseconds, trouble: slow ?? troubleOf(intake) };
}

/** Reads a file and looks for what no file may do: an exception, a long wait, numbers that are none. */
export const readingOf = (name: string, bytes: Uint8Array): Reading<Intake> =>
  timed(() => readSurfaces(name, bytes), intakeTrouble);

/** Memory that a mesh of the size of these files may take. */
const mostBytes = 2 ** 28;

/** The same of a file that is read as a scan; counts that do not add up are trouble too. */
export const scanReadingOf = (name: string, bytes: Uint8Array): Reading<ScanIntake> =>
  timed(
    () => readScan(name, bufferSource(bytes), { millimetres: 1, most: mostBytes }),
    scanTrouble,
  );
