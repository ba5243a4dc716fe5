import type { Vector } from '../geometry/vector.ts';
import { placeSways } from '../measure/placeSways.ts';
import { influences } from './influences.ts';
import type { Miss } from './rule.ts';
import { wholeSpot, type Part } from './subject.ts';

/** A miss at a place of the surface: its site is the control point that sways it most. */
export function placeMiss(
  part: Part,
  { u, v, position }: { readonly u: number; readonly v: number; readonly position: Vector },
  value: number,
  evidence: Readonly<Record<string, number>>,
): Miss {
  const influence = influences(
    placeSways(part.net, u, v).map((point) => ({ ...point, ...wholeSpot(part, point) })),
  );
  const [{ row, column }] = influence;
  return {
    site: { kind: 'point', row, column },
    value,
    position,
    influence,
    evidence: { ...evidence, u, v },
  };
}
