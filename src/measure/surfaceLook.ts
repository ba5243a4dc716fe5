import { basisRow, type BasisRow } from '../geometry/basis.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { curvatureGrid, type CurvatureGrid } from '../geometry/curvatureGrid.ts';
import type { ParameterBox } from '../geometry/keptPart.ts';
import { breakpoints } from '../geometry/knots.ts';
import type { Standing } from '../geometry/trimTest.ts';

/** Says where parameters stand to the part of a surface that is kept; null: all of it is kept. */
export type Kept = ((u: number, v: number) => Standing) | null;

/** Normals and curvatures of a surface all over what may be kept of it, span by span. */
export interface SurfaceLook {
  readonly net: ControlNet;
  /** Parameters in u and in v, rising; a knot between spans stands twice, once for each side. */
  readonly at: readonly [Float64Array, Float64Array];
  /** The widest step between them, in u and in v. */
  readonly step: readonly [number, number];
  readonly grid: CurvatureGrid;
  /** 1 where a place is outside what is kept, at the grid's numbers. */
  readonly isOutside: Uint8Array;
}

/** Steps across a span: two more than the degree, and so many across all that is looked at. */
const besidesDegree = 2;
const fewestSteps = 16;

/** Basis rows of order 2 from `from` to `to`, both sides of each knot between. */
function stations(net: ControlNet, side: 0 | 1, [from, to]: readonly [number, number]) {
  const [knots, degree] = [net.knots[side], net.degree[side]];
  const spans = breakpoints(knots).flatMap(({ first, multiplicity }) => {
    const span = first + multiplicity - 1;
    const [low, high] = [Math.max(knots[span], from), Math.min(knots[span + 1], to)];
    return span >= degree && span < knots.length - degree - 1 && low < high
      ? [{ span, low, high }]
      : [];
  });
  const steps = Math.max(degree + besidesDegree, Math.ceil(fewestSteps / spans.length));
  const at: number[] = [];
  const rows: BasisRow[] = [];
  for (const { span, low, high } of spans)
    for (let k = 0; k <= steps; k++) {
      const w = k === steps ? high : low + ((high - low) * k) / steps;
      at.push(w);
      rows.push(basisRow(knots, degree, w, 2, span));
    }
  return { at: Float64Array.from(at), rows };
}

const widestStep = (at: Float64Array): number =>
  at.reduce((most, w, k) => (k === 0 ? most : Math.max(most, w - at[k - 1])), 0);

/** `box`: the parameters between which anything may be kept. */
export function surfaceLook(net: ControlNet, box: ParameterBox, kept: Kept): SurfaceLook {
  const [us, vs] = [stations(net, 0, box[0]), stations(net, 1, box[1])];
  const grid = curvatureGrid(net, us.rows, vs.rows);
  const isOutside = new Uint8Array(grid.isBlind.length);
  if (kept)
    vs.at.forEach((v, row) =>
      us.at.forEach((u, column) => {
        if (kept(u, v) === 'outside') isOutside[row * grid.columns + column] = 1;
      }),
    );
  return {
    net,
    at: [us.at, vs.at],
    step: [widestStep(us.at), widestStep(vs.at)],
    grid,
    isOutside,
  };
}
