// Second opinion on points and derivatives: the evaluator of verb-nurbs-web, a general library.
import verb from 'verb-nurbs-web';
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfacePoint } from '../../src/geometry/evaluation.ts';
import { distance, length, type Vector } from '../../src/geometry/vector.ts';

/** The part of the library that is used; its own declarations leave these out. */
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
const library = verb as unknown as Evaluator;

/** The library's own form: points by u then v, multiplied by their weights in a rational surface. */
function librarySurface(net: ControlNet): object {
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

describe.each([
  ['polynomial', false, 11],
  ['rational', true, 12],
] as const)('%s surfaces agree with verb-nurbs-web', (_name, rational, seed) => {
  const random = seededRandom(seed);
  const nets = Array.from({ length: 60 }, () => randomNet(random, rational));
  const compared = nets.map((net) => {
    const surface = librarySurface(net);
    const { Eval } = library.eval;
    return Array.from({ length: 20 }, () => {
      const [u, v] = [random.uniform(), random.uniform()];
      const theirs = rational
        ? Eval.rationalSurfaceDerivatives(surface, u, v, 2)
        : Eval.surfaceDerivatives(surface, u, v, 2);
      return { ours: surfaceJet(net, u, v), point: surfacePoint(net, u, v), theirs };
    });
  });

  test('points to 1e-12 of the diagonal', () => {
    compared.forEach((samples, at) => {
      for (const { ours, point, theirs } of samples) {
        expect(distance(point, theirs[0][0])).toBeLessThan(1e-12 * diagonal(nets[at]));
        expect(distance(ours.point, theirs[0][0])).toBeLessThan(1e-12 * diagonal(nets[at]));
      }
    });
  });

  test.each([
    ['u', 1, 0],
    ['v', 0, 1],
    ['uu', 2, 0],
    ['uv', 1, 1],
    ['vv', 0, 2],
  ] as const)('derivative %s to 1e-12 of the longest on the surface', (name, k, l) => {
    compared.forEach((samples, at) => {
      // The second derivative of a ruled direction is nothing but rounding: the size stands in.
      const scale = Math.max(diagonal(nets[at]), ...samples.map((s) => length(s.theirs[k][l])));
      for (const { ours, theirs } of samples)
        expect(distance(ours[name], theirs[k][l])).toBeLessThan(1e-12 * scale);
    });
  });
});
