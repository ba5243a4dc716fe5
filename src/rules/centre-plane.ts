import data from '../../rules/centre-plane.json' with { type: 'json' };
import type { SeamStation } from '../measure/seamStations.ts';
import { degrees, judged, type RuleData, type SeamRule } from './rule.ts';
import { isBlind, paceWay, seamMisses } from './seam.ts';

/** By how much the normal leaves the plane, degrees: half of what it makes with its mirror image's. */
export const centreAngle = ({ crossing }: SeamStation): number | null =>
  crossing && degrees(crossing.angle) / 2;

/** Judges a border in the plane of symmetry as the seam of the panel with its own mirror image. */
export const centrePlane: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit, floor }) => {
    const { gap, flow } = seam.profile;
    // a mirror image bends as the panel does: of the curvature only its rate can break
    const evidence = {
      distance: Math.abs(gap.peak?.value ?? 0) / 2,
      pace: paceWay * Math.abs(flow.peak?.value ?? 0),
    };
    const off = evidence.distance / floor('distance');
    const hurried = evidence.pace / floor('pace');
    const besides = Math.max(off, hurried);
    if (isBlind(seam) && off <= 1) return { outcome: 'undecided', reason: 'no-normal' };
    const turned = seamMisses(seam, centreAngle, limit.value, () => evidence);
    if (turned.length > 0) return judged(turned.map((miss) => ({ ...miss, beyond: besides })));
    if (besides <= 1) return judged([]);
    const { station } = (off >= hurried ? gap.peak : flow.peak)!;
    return judged([
      {
        site: { kind: 'net' },
        value: Math.abs(centreAngle(station) ?? 0),
        position: station.points[0],
        beyond: besides,
        evidence,
      },
    ]);
  },
};
