import type { Spot } from '../../../src/geometry/controlNet.ts';
import type { Answer } from './answer.ts';
import type { PanelCase } from './panelCase.ts';

/** A case and what each method said of it, by the method's name. */
export interface Trial {
  readonly at: PanelCase;
  readonly answers: Readonly<Record<string, Answer>>;
}

export const sameSpot = (a: Spot, b: Spot): boolean => a.row === b.row && a.column === b.column;

/** Unevenness a hand is forgiven: the figures to be shown are stated up to here, mm per 1200 mm. */
export const evenHand = 0.05;

export const isEven = ({ at }: Trial): boolean => at.hand <= evenHand;
export const isClean = ({ at }: Trial): boolean => at.question === 0;
export const isFair = ({ at }: Trial): boolean => at.kind === 'fair';
export const isHonest = ({ at }: Trial): boolean => at.kind === 'honest-feature';
/** One or more points displaced, all of them clearly. */
export const isClear = ({ at }: Trial): boolean =>
  at.slips.length > 0 && at.slips.every(({ clear }) => clear);
export const isOne = ({ at }: Trial): boolean => at.question === 1;
