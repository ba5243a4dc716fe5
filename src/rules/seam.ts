import type { SeamProfile } from '../measure/seamProfile.ts';
import type { SeamStation } from '../measure/seamStations.ts';
import { notApplicable, type Judgement, type Miss } from './rule.ts';

/** A join of two panels as rules look at it, from the side of the panel that the misses are told of. */
export interface Seam {
  /** Whether light is to run across it undisturbed, or it is an edge of the design. */
  readonly meant: 'smooth' | 'feature';
  readonly with: string;
  readonly nth: number;
  readonly stations: readonly SeamStation[];
  readonly profile: SeamProfile;
}

/** The way over which a change of pace of the curvature is told, mm. */
export const paceWay = 100;

/** Where neither panel has a sound normal nothing can be said of what lies across. */
export const isBlind = ({ stations }: Seam): boolean =>
  stations.every(({ crossing }) => crossing === null);

/** Why a seam is not judged as one that light runs across; null: it is. */
export function notCrossed(seam: Seam): Judgement | null {
  if (seam.meant === 'feature') return notApplicable('feature-line');
  return isBlind(seam) ? { outcome: 'undecided', reason: 'no-normal' } : null;
}

/** A measure along the seam in a rule's unit; null where there is none. */
export type SeamValue = (station: SeamStation) => number | null;

/** The one miss of a measure along a seam: its largest, and from where to where it is over the limit. */
export function seamMisses(
  seam: Seam,
  value: SeamValue,
  limit: number,
  evidence: (peak: SeamStation) => Readonly<Record<string, number>> = () => ({}),
): Miss[] {
  const { stations } = seam;
  let peak: { readonly station: SeamStation; readonly amount: number } | null = null;
  let [from, to, over] = [Infinity, -Infinity, 0];
  stations.forEach((station, k) => {
    const amount = Math.abs(value(station) ?? 0);
    if (peak === null || amount > peak.amount) peak = { station, amount };
    if (amount <= limit) return;
    from = Math.min(from, station.run);
    to = Math.max(to, station.run);
    // each station speaks for half of the way to its neighbours
    const before = stations[k - 1]?.run ?? station.run;
    const after = stations[k + 1]?.run ?? station.run;
    over += (after - before) / 2;
  });
  const found = peak as { readonly station: SeamStation; readonly amount: number } | null;
  if (!found || found.amount <= limit) return [];
  return [
    {
      site: { kind: 'seam', with: seam.with, nth: seam.nth, from, to },
      value: found.amount,
      position: found.station.points[0],
      evidence: { length: seam.profile.length, over, ...evidence(found.station) },
    },
  ];
}
