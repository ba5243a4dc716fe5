import { difference, distance, dot, unit, type Vector } from '../geometry/vector.ts';
import type { SectionComb } from './sectionCombs.ts';
import type { CurvatureProfile } from './sweepUnevenness.ts';

/** The comb of one section across two panels that meet, as one. */
export interface JoinedComb extends CurvatureProfile {
  readonly s: Float64Array;
  readonly curvature: Float64Array;
  readonly isClosed: false;
  /** Index of the first station that is the second panel's. */
  readonly seam: number;
  /** The combs it is made of, and whether each is run backwards in it. */
  readonly parts: readonly [
    { readonly comb: SectionComb; readonly isTurned: boolean },
    { readonly comb: SectionComb; readonly isTurned: boolean },
  ];
}

/** Cosine of the most by which a section may turn where it passes from one panel to the other. */
const straightOn = Math.cos((5 * Math.PI) / 180);

/** An open comb as it is run towards, or away from, one of its ends. */
interface Run {
  readonly comb: SectionComb;
  readonly isTurned: boolean;
}

const endOf = ({ comb, isTurned }: Run, last: boolean): number =>
  last === isTurned ? 0 : comb.s.length - 1;

/** Unit direction of a run at its last station, or at its first. */
function wayAt(run: Run, last: boolean): Vector {
  const { points } = run.comb;
  const end = endOf(run, last);
  const beside = end === 0 ? 1 : end - 1;
  const [from, to] = last ? [beside, end] : [end, beside];
  return unit(difference(points[to], points[from])) ?? [0, 0, 0];
}

/** Curvatures in the order of a run; its stations' distances from its start. */
function profileOf({ comb, isTurned }: Run): { s: number[]; curvature: number[] } {
  const [s, curvature] = [Array.from(comb.s), Array.from(comb.curvature)];
  const whole = s[s.length - 1];
  return isTurned
    ? { s: s.map((x) => whole - x).reverse(), curvature: curvature.reverse() }
    : { s, curvature };
}

/**
 * Sections in one plane of two panels, put end to end where their ends lie within `reach` mm and run on
 * straight. Both panels' curvatures must be signed by sides that agree.
 */
export function joinedCombs(
  first: readonly SectionComb[],
  second: readonly SectionComb[],
  reach: number,
): JoinedComb[] {
  const runs = (comb: SectionComb): Run[] =>
    comb.isClosed ? [] : [false, true].map((isTurned) => ({ comb, isTurned }));
  return first.flatMap((a) =>
    second
      .filter((b) => b.axis === a.axis && b.at === a.at)
      .flatMap((b) =>
        runs(a).flatMap((one) =>
          runs(b).flatMap((other): JoinedComb[] => {
            const [end, start] = [endOf(one, true), endOf(other, false)];
            const gap = distance(a.points[end], b.points[start]);
            if (gap > reach || dot(wayAt(one, true), wayAt(other, false)) < straightOn) return [];
            const [before, after] = [profileOf(one), profileOf(other)];
            const passed = before.s[before.s.length - 1] + gap;
            return [
              {
                s: Float64Array.from([...before.s, ...after.s.map((x) => passed + x)]),
                curvature: Float64Array.from([...before.curvature, ...after.curvature]),
                isClosed: false,
                seam: before.s.length,
                parts: [one, other],
              },
            ];
          }),
        ),
      ),
  );
}
