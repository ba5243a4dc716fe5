import type { StepFile } from './stepFile.ts';
import type { Owner } from './stepHoldings.ts';
import { faceTypes } from './stepKeywords.ts';
import { boundLoop, usedEdge } from './stepBorders.ts';
import { enumerationIn, referencesIn } from './stepValues.ts';
import { TrimReading } from './trimReading.ts';

/**
 * What a face is bounded by, as a text that two faces on one surface share where they are the same part
 * of it: the edges, each with the side of it on which the face lies. Any other owner is only like itself.
 */
export function edgeUses(file: StepFile, { record, values }: Owner): string {
  const own = `#${record}`;
  if (!file.is(record, faceTypes)) return own;
  const reading = new TrimReading(file, 1, 1, 0);
  const outward = enumerationIn(values[3]) !== 'F';
  const uses: string[] = [];
  for (const id of referencesIn(values[1])) {
    const { loop, forward } = boundLoop(reading, file.find(id));
    const edges = loop < 0 ? [] : referencesIn(file.parts(loop)?.[0]?.values[1]);
    uses.push(...(edges.length === 0 ? [`loop ${loop}`] : []));
    for (const edge of edges) {
      const item = file.find(edge);
      const used = item < 0 ? null : usedEdge(reading, item);
      if (!used) return own;
      uses.push(`${used.edge} ${(used.forward === forward) === outward}`);
    }
  }
  return uses.toSorted().join();
}
