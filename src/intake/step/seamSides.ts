import { curveDomain, curvePoint, type SplineCurve } from '../../geometry/splineCurve.ts';
import type { TrimSheet } from './trimSheet.ts';

/** A run of a border: the lines in the plane it may be, two on a seam, none where only space has it. */
interface SeamRun {
  /** What it runs along. */
  readonly key: number;
  readonly lines: readonly (readonly SplineCurve[])[];
}

type PlanePoint = readonly number[];

const ends = (line: readonly SplineCurve[]): readonly [PlanePoint, PlanePoint] => {
  const last = line[line.length - 1];
  return [curvePoint(line[0], curveDomain(line[0])[0]), curvePoint(last, curveDomain(last)[1])];
};

/**
 * Which of its lines each run of a closed border is: on a seam the one that begins where the run before
 * it ends, and the second run along a seam is on its other side. ISO 10303-42, seam_curve, leaves open
 * which pcurve belongs to which run.
 */
export function seamSides(runs: readonly SeamRun[], { domain }: TrimSheet): readonly number[] {
  if (runs.every(({ lines }) => lines.length < 2)) return runs.map(() => 0);
  const [width, height] = domain.map(([from, to]) => to - from);
  const gap = (a: PlanePoint, b: PlanePoint): number =>
    Math.hypot((a[0] - b[0]) / width, (a[1] - b[1]) / height);
  const known = runs.map(({ lines }) => lines.map((line) => (line.length > 0 ? ends(line) : null)));
  // Begin with a run that has no choice, so that the first choice has something to go by.
  const first = Math.max(
    runs.findIndex(({ lines }) => lines.length === 1),
    0,
  );
  const order = runs.map((_, k) => (first + k) % runs.length);
  const walked = (start: number): { readonly sides: readonly number[]; readonly cost: number } => {
    const sides = runs.map(() => 0);
    const taken = new Map<number, number>();
    let cost = 0;
    let before: PlanePoint | null = null;
    for (const [step, k] of order.entries()) {
      const choices = known[k].flatMap((own, side) =>
        own && !(known[k].length > 1 && taken.get(runs[k].key) === side) ? [{ own, side }] : [],
      );
      const from: PlanePoint | null = before;
      const gaps: readonly number[] = choices.map(({ own, side }) =>
        step === 0 ? (side === start ? 0 : Infinity) : from ? gap(from, own[0]) : 0,
      );
      const best = gaps.indexOf(Math.min(...gaps));
      const chosen = best < 0 ? null : choices[best];
      before = chosen && chosen.own[1];
      if (!chosen) continue;
      sides[k] = chosen.side;
      taken.set(runs[k].key, chosen.side);
      cost += Number.isFinite(gaps[best]) ? gaps[best] : 0;
    }
    const opening = known[order[0]][sides[order[0]]];
    return { sides, cost: before && opening ? cost + gap(before, opening[0]) : cost };
  };
  const walks = Array.from({ length: Math.max(runs[first].lines.length, 1) }, (_, k) => walked(k));
  return walks.reduce((best, walk) => (walk.cost < best.cost ? walk : best)).sides;
}
