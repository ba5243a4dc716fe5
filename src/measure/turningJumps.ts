import { spotOnLine, type Spot } from '../geometry/controlNet.ts';
import { offRun } from './offRun.ts';
import type { Sight } from './sights.ts';

/** How far the bend at a point is off the even run of bends beside it. */
export interface TurningJump {
  readonly along: 'row' | 'column';
  readonly spot: Spot;
  /** Amount off the run, radians, signed as the bend itself. */
  readonly jump: number;
  /** Mean amount of the bends before and after, radians: what the jump stands out from. */
  readonly beside: number;
}

/**
 * Jumps of the bulge or of the sway. A bend is first divided by the Greville gap about its point (a
 * short leg honestly bends less), compared there, and the difference turned back into an angle at
 * that point. Needs three bends in a row: lines of five points or more.
 */
export const turningJumps = (sights: readonly Sight[], part: 'bulge' | 'sway'): TurningJump[] =>
  sights.flatMap((sight) => {
    const { abscissae, turnings } = sight;
    const gap = (at: number): number => (abscissae[at + 1] - abscissae[at - 1]) / 2;
    const rate = (at: number): number | null => {
      const bend = turnings[at];
      return bend && gap(at) > 0 ? bend[part] / gap(at) : null;
    };
    return sight.points.flatMap((_, at) => {
      const [before, here, after] = [rate(at - 1), rate(at), rate(at + 1)];
      if (before === null || here === null || after === null) return [];
      const run = [abscissae[at - 1], abscissae[at], abscissae[at + 1]] as const;
      return [
        {
          along: sight.along,
          spot: spotOnLine(sight, at),
          jump: offRun(before, here, after, run) * gap(at),
          beside: ((Math.abs(before) + Math.abs(after)) / 2) * gap(at),
        },
      ];
    });
  });
