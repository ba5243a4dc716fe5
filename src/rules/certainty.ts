import type { Spot } from '../geometry/controlNet.ts';
import type { DisplacedPoint } from '../measure/displacedPoints.ts';
import type { Thresholds } from './rule.ts';

/** How sure one may be that it is this point. */
export interface Certainty {
  /** `uncertain`: probably this point, or one of its ties. */
  readonly level: 'named' | 'uncertain';
  /** Other spots that explain the net nearly as well. */
  readonly ties: readonly Spot[];
}

/**
 * How sure one may be of a displaced point, or null where it is not even probable; whether anybody
 * would see it is not asked here.
 */
export function certainty(
  { gain, rivals }: Pick<DisplacedPoint, 'gain' | 'rivals'>,
  floor: Thresholds['floor'],
): Certainty | null {
  if (gain < floor('probable-gain')) return null;
  const ties = rivals
    .filter((rival) => gain - rival.gain < floor('tie-gain'))
    .map(({ spot }) => spot);
  return { level: gain >= floor('named-gain') && ties.length === 0 ? 'named' : 'uncertain', ties };
}
