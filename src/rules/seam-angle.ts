import data from '../../rules/seam-angle.json' with { type: 'json' };
import { degrees, judged, type RuleData, type SeamRule } from './rule.ts';
import { notCrossed, seamMisses } from './seam.ts';
import type { SeamStation } from '../measure/seamStations.ts';

const angle = ({ crossing }: SeamStation): number | null => crossing && degrees(crossing.angle);

/**
 * How far a highlight is shifted along the surface at a station, mm: the angle over the bend across,
 * which is taken as no flatter than `flat` (a radius, mm).
 */
const shift = ({ crossing }: SeamStation, flat: number): number =>
  crossing
    ? Math.abs(crossing.angle) /
      Math.max(Math.abs(crossing.a.bend), Math.abs(crossing.b.bend), 1 / flat)
    : 0;

export const seamAngle: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit, floor }) => {
    const open = notCrossed(seam);
    if (open) return open;
    const [most, flat] = [floor('shift'), floor('flat')];
    const shifted = (station: SeamStation): number => shift(station, flat);
    const evidence = (peak: SeamStation): Readonly<Record<string, number>> => ({
      mean: degrees(seam.profile.angle.mean ?? 0),
      ridge: (peak.crossing?.angle ?? 0) > 0 ? 1 : 0,
      shift: Math.max(...seam.stations.map(shifted)),
    });
    // what is seen sets the limit where the panels are flat: shift x curvature
    const limitAt = (station: SeamStation): number => {
      const own = shifted(station);
      return own > 0
        ? Math.min(limit.value, (Math.abs(angle(station) ?? 0) * most) / own)
        : limit.value;
    };
    const beyond = (station: SeamStation): number | null => {
      const turn = angle(station);
      return turn === null ? null : Math.abs(turn) / limitAt(station);
    };
    return judged(
      seamMisses(seam, beyond, 1, evidence).map((miss) => {
        const turns = seam.stations.map((station) => Math.abs(angle(station) ?? 0));
        return { ...miss, value: Math.max(...turns), beyond: miss.value };
      }),
    );
  },
};
