import { withMoves, type Spot } from '../geometry/controlNet.ts';
import type { Judgement, Miss, Site } from '../rules/rule.ts';
import { subjectOf, type Subject } from '../rules/subject.ts';
import type { Repair } from './nudges.ts';

/** A miss that is gone once the nudges are made, and the nudge nearest to it. */
export interface Cure {
  readonly rule: string;
  readonly miss: Miss;
  readonly by: Repair;
}

/** Rows plus columns between a site and a spot; null where a site is not one of the net. */
function siteSteps(site: Site, spot: Spot): number | null {
  switch (site.kind) {
    case 'row':
      return Math.abs(site.row - spot.row);
    case 'column':
      return Math.abs(site.column - spot.column);
    case 'point':
    case 'leg':
      return Math.abs(site.row - spot.row) + Math.abs(site.column - spot.column);
    case 'points':
      return Math.min(
        ...site.points.map((p) => Math.abs(p.row - spot.row) + Math.abs(p.column - spot.column)),
      );
    case 'net':
      return 0;
    case 'section':
    case 'seam':
    case 'region':
      return null;
  }
}

/**
 * As siteSteps, to the point that moves farthest; of a place on the surface, from the control point that
 * sways it most, and of a region to whichever point moves nearest by.
 */
function steps({ site, influence = [] }: Miss, { spot, moves }: Repair['nudge']): number {
  const own = siteSteps(site, spot);
  if (own !== null) return own;
  if (influence.length === 0) return Infinity;
  const from = { kind: 'point', ...influence[0] } as const;
  const spots = site.kind === 'region' ? moves : [spot];
  return Math.min(...spots.map((one) => siteSteps(from, one)!));
}

/** Whether a miss is still there: at its site; of a region, around a point that swayed it before. */
function isSame(before: Miss, after: Miss): boolean {
  const [a, b] = [before.site, after.site];
  if (a.kind !== 'region' || b.kind !== 'region') return JSON.stringify(a) === JSON.stringify(b);
  return (
    before.direction === after.direction &&
    a.points.some((p) => b.points.some((q) => p.row === q.row && p.column === q.column))
  );
}

/** A nudge more steps away than this cannot have disturbed the run there by itself. */
const reach = 3;

/**
 * The misses that go away with the named nudges: judged again on a copy of the net with those
 * nudges made, never assumed. `judge` is asked only for rules that missed and offered no nudge.
 */
export function cures(
  subject: Subject,
  judgements: Readonly<Record<string, Judgement>>,
  found: readonly Repair[],
  judge: (rule: string, mended: Subject) => Judgement,
): Cure[] {
  const named = found.filter(({ miss, holds }) => holds && miss.certainty === 'named');
  if (named.length === 0) return [];
  const moves = named.flatMap(({ nudge }) => nudge.moves.map(({ by, ...spot }) => ({ spot, by })));
  const mended = subjectOf(withMoves(subject.net, moves), subject);
  return Object.entries(judgements).flatMap(([rule, before]) => {
    if (before.outcome !== 'missed' || found.some((repair) => repair.rule === rule)) return [];
    const after = judge(rule, mended);
    const still = after.outcome === 'missed' ? after.misses : [];
    return before.misses
      .filter((miss) => !still.some((other) => isSame(miss, other)))
      .flatMap((miss): Cure[] => {
        const by = named.reduce((a, b) => (steps(miss, b.nudge) < steps(miss, a.nudge) ? b : a));
        return steps(miss, by.nudge) <= reach ? [{ rule, miss, by }] : [];
      });
  });
}
