import verb from 'verb-nurbs-web';
import { pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import type { Vector } from '../../src/geometry/vector.ts';

/** The part of verb-nurbs-web that is used; its own declarations leave these out. */
interface Evaluator {
  readonly core: {
    readonly NurbsSurfaceData: new (
      degreeU: number,
      degreeV: number,
      knotsU: readonly number[],
      knotsV: readonly number[],
      points: readonly (readonly (readonly number[])[])[],
    ) => object;
  };
  readonly eval: {
    readonly Eval: {
      /** [k][l]: k-th derivative in u, l-th in v; k + l at most `order`. */
      surfaceDerivatives(surface: object, u: number, v: number, order: number): Vector[][];
      rationalSurfaceDerivatives(surface: object, u: number, v: number, order: number): Vector[][];
    };
  };
}
export const library = verb as unknown as Evaluator;

/** The form that the library has of a net: points by u then v, multiplied by their weights in a rational surface. */
export function librarySurface(net: ControlNet): object {
  const points = Array.from({ length: net.columns }, (_c, column) =>
    Array.from({ length: net.rows }, (_r, row) => {
      const p = pointAt(net, row, column);
      if (!net.weights) return p;
      const w = net.weights[row * net.columns + column];
      return [p[0] * w, p[1] * w, p[2] * w, w];
    }),
  );
  return new library.core.NurbsSurfaceData(
    ...net.degree,
    Array.from(net.knots[0]),
    Array.from(net.knots[1]),
    points,
  );
}
