import type { Intake } from '../../src/intake/panel.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { faultSentence, noticeSentence } from '../../src/writers/faultSentences.ts';

/** What reading a file came to. */
export interface Reading {
  readonly intake: Intake | null;
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
  const sentences = [...faults.map(faultSentence), ...notices.map(noticeSentence)];
  const unsaid = sentences.find((text) => /undefined|NaN announced|\[object/.test(text));
  return unsaid === undefined ? null : `a sentence with a gap: ${unsaid}`;
}

/** Reads a file and looks for what no file may do: an exception, a long wait, numbers that are none. */
export function readingOf(name: string, bytes: Uint8Array): Reading {
  const begun = performance.now();
  let intake: Intake;
  try {
    intake = readSurfaces(name, bytes);
  } catch (error) {
    const said = error instanceof Error ? (error.stack ?? error.message) : String(error);
    return { intake: null, milliseconds: performance.now() - begun, trouble: said };
  }
  const milliseconds = performance.now() - begun;
  const slow = milliseconds > longest ? `reading took ${Math.round(milliseconds)} ms` : null;
  return { intake, milliseconds, trouble: slow ?? intakeTrouble(intake) };
}
