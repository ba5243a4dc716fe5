// Second opinion on points and derivatives: the evaluator of verb-nurbs-web, a general library.
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfacePoint, thirdJet } from '../../src/geometry/evaluation.ts';
import { distance, length } from '../../src/geometry/vector.ts';
import { library, librarySurface } from './librarySurface.ts';

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
        ? Eval.rationalSurfaceDerivatives(surface, u, v, 3)
        : Eval.surfaceDerivatives(surface, u, v, 3);
      return {
        ours: surfaceJet(net, u, v),
        third: thirdJet(net, u, v),
        point: surfacePoint(net, u, v),
        theirs,
      };
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

  test('the jet with third derivatives has the same first and second ones', () => {
    for (const { ours, third } of compared.flat()) expect(third).toMatchObject(ours);
  });

  test.each([
    ['uuu', 3, 0],
    ['uuv', 2, 1],
    ['uvv', 1, 2],
    ['vvv', 0, 3],
  ] as const)('derivative %s to 1e-12 of the longest on the surface', (name, k, l) => {
    compared.forEach((samples, at) => {
      const scale = Math.max(diagonal(nets[at]), ...samples.map((s) => length(s.theirs[k][l])));
      for (const { third, theirs } of samples)
        expect(distance(third[name], theirs[k][l])).toBeLessThan(1e-12 * scale);
    });
  });
});
