import { logSum } from '../../../../src/measure/locator/logSum.ts';
import { squares, type Coefficients, type Setting } from './setting.ts';

/** What every particle thinks of some coefficients, at each unevenness that is still in play. */
export interface EvidenceTable {
  /** byParticle[axis][hand][particle], nats; -Infinity at an unevenness out of play. */
  readonly byParticle: readonly (readonly Float64Array[])[];
  /** ln of the prior of an unevenness times the evidence under it; -Infinity out of play. */
  readonly byHand: Float64Array;
  /** Everything summed out. */
  readonly total: number;
}

/** `active` are the indices of the unevennesses in play. */
export function evidenceTable(
  setting: Setting,
  left: Coefficients,
  active: readonly number[],
): EvidenceTable {
  const byParticle = left.map((values, axis) => {
    const squared = squares(values);
    return Array.from(setting.hands, (hand, h) =>
      active.includes(h)
        ? setting.density.byParticle(squared, setting.mixture[axis], hand)
        : new Float64Array(setting.mixture[axis].count).fill(-Infinity),
    );
  });
  const byHand = setting.logHands.map((log, h) =>
    byParticle.reduce((total, tables) => total + logSum(tables[h]), log),
  );
  return { byParticle, byHand, total: logSum(byHand) };
}
