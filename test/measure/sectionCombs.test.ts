// Combs of sections against closed forms: a plane cuts a sphere in a circle, a cylinder in an ellipse
// (Meusnier and Euler, any textbook of differential geometry).
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { families } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { reversed, transposed } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { polyline } from '../../src/geometry/splineCurve.ts';
import { axisPlacement, placedNet } from '../../src/geometry/placement.ts';
import { lineCombs, monotonePieces, planeCombs } from '../../src/measure/sectionCombs.ts';
import { sweepUnevenness } from '../../src/measure/sweepUnevenness.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

describe('sections across the axes', () => {
  test('of a sphere are circles: curvature 1 / sqrt(R^2 - k^2) all along, closed', () => {
    const combs = planeCombs(sphere(250), 40, 1, null);
    expect(new Set(combs.map(({ axis }) => axis)).size).toBe(3);
    for (const { axis, at, curvature, s, isClosed } of combs) {
      // beyond that the plane meets the sphere too flatly
      expect(Math.abs(at)).toBeLessThan(250 * Math.sqrt(0.75) + 1e-9);
      const radius = Math.sqrt(250 ** 2 - at ** 2);
      for (const k of curvature)
        expect(Math.abs(k * radius - 1)).toBeLessThan(at === 0 ? 1e-6 : 1e-9);
      // through a pole the surface has no normal of its own, and the section is parted there
      if (at === 0 && axis !== 'z') continue;
      expect(isClosed).toBe(true);
      expect(s[s.length - 1] / (2 * Math.PI * radius)).toBeCloseTo(1, 3);
    }
    expect(combs.filter(({ axis }) => axis === 'z').length).toBe(11);
  });

  test('of a leaning cylinder are ellipses: curvature a b / (a^2 sin^2 t + b^2 cos^2 t)^1.5', () => {
    const [radius, lean] = [120, Math.PI / 6];
    const upright = revolvedNet(
      polyline([
        [radius, -900],
        [radius, 900],
      ]),
    );
    const axis = [Math.sin(lean), 0, Math.cos(lean)] as const;
    const net = placedNet(upright, axisPlacement([0, 0, 0], axis, [0, 1, 0])!);
    const combs = planeCombs(net, 100, 1, null).filter(
      (comb) => comb.axis === 'z' && comb.at === 100,
    );
    expect(combs.length).toBe(1);
    const [long, short] = [radius / Math.cos(lean), radius];
    const [{ parameters, curvature }] = combs;
    parameters.forEach(([u, v], k) => {
      const [x, y] = surfacePoint(net, u, v);
      const [c, s] = [(x - 100 * Math.tan(lean)) / long, y / short];
      expect(Math.hypot(c, s)).toBeCloseTo(1, 6);
      const expected = (long * short) / (long ** 2 * s ** 2 + short ** 2 * c ** 2) ** 1.5;
      expect(curvature[k] / expected).toBeCloseTo(1, 6);
    });
  });

  test('end where the kept part ends', () => {
    const net = families.torus(seededRandom(3));
    const [low, high] = [net.knots[0][0], net.knots[0][net.knots[0].length - 1]];
    const half = planeCombs(net, 100, 1, (u) => (u < (low + high) / 2 ? 'inside' : 'outside'));
    const all = planeCombs(net, 100, 1, null);
    expect(half.length).toBeGreaterThan(0);
    for (const { parameters } of half)
      for (const [u] of parameters) expect(u).toBeLessThan((low + high) / 2);
    const stations = (combs: typeof all): number =>
      combs.reduce((sum, { parameters }) => sum + parameters.length, 0);
    expect(stations(half)).toBeLessThan(0.7 * stations(all));
    expect(planeCombs(net, 100, 1, () => 'outside')).toEqual([]);
    expect(lineCombs(net, 1, () => 'outside')).toEqual([]);
  });
});

describe('rows and columns', () => {
  test.each(Object.keys(families))('of %s run alike transposed and backwards', (name) => {
    const net = families[name](seededRandom(11));
    const told = (combs: ReturnType<typeof lineCombs>): string[] =>
      combs
        .map((comb) => {
          const { excess, height } = sweepUnevenness(comb)!;
          return `${comb.s.length} ${excess.toExponential(4)} ${height.toFixed(5)}`;
        })
        .sort();
    const own = told(lineCombs(net, 1, null));
    // S_u x S_v turns over with both changes, and so must the sign
    expect(told(lineCombs(transposed(net), -1, null))).toEqual(own);
    expect(told(lineCombs(reversed(net), -1, null))).toEqual(own);
  });

  test('of the sphere net are rational, so that pieces are not counted exactly', () => {
    expect(monotonePieces(sphere(10), { axis: 'row', at: 1 })).toBe(null);
  });
});

describe('unevenness of a profile', () => {
  const s = Array.from({ length: 60 }, (_, k) => 10 * k);
  const profile = (curvature: number[], isClosed = false) => ({ s, curvature, isClosed });

  test.each([
    ['a clothoid', (t: number) => 1e-3 * t],
    ['a circle', () => 1e-3],
    ['a rise that quickens and slackens', (t: number) => 1e-3 / (1 + Math.exp(-12 * (t - 0.4)))],
    ['a bell', (t: number) => 1e-3 * Math.exp(-((t - 0.45) ** 2) / 0.05)],
    ['a logarithmic spiral', (t: number) => 1e-3 / (1 + 3 * t)],
    ['a turn from one side to the other', (t: number) => 1e-3 * Math.sin(Math.PI * (t - 0.5))],
  ])('is none for %s', (_, shape) => {
    const { excess } = sweepUnevenness(profile(s.map((x) => shape(x / 590))))!;
    expect(excess).toBeLessThan(1e-15);
  });

  test('of a fall that turns back is half of what it rises, and its height a half wave', () => {
    const wave = s.map((x) => 1e-3 - 1e-7 * x + 3e-4 * Math.sin((2 * Math.PI * x) / 200));
    const found = sweepUnevenness(profile(wave))!;
    expect(found.height).toBeCloseTo(found.excess * (found.stretch / Math.PI) ** 2, 12);
    expect(found.stretch).toBeGreaterThan(80);
    expect(found.stretch).toBeLessThan(200);
  });

  test('is at most what is added to an even sweep, and does not change with its direction', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 60, maxLength: 60 }),
        fc.double({ min: 0, max: 2e-4, noNaN: true }),
        (noise, size) => {
          const curvature = s.map((x, k) => 2e-6 * x + size * noise[k]);
          const own = sweepUnevenness(profile(curvature))!;
          expect(own.excess).toBeLessThanOrEqual(2 * size + 1e-15);
          const turned = sweepUnevenness({
            s: s.map((_, k) => s[59] - s[59 - k]),
            curvature: curvature.toReversed(),
            isClosed: false,
          })!;
          expect(Math.abs(turned.excess - own.excess)).toBeLessThan(1e-12);
        },
      ),
    );
  });

  test('of an ellipse, closed, is none: it turns four times; with six turns it is some', () => {
    const round = (waves: number): number[] =>
      s.map((_, k) => 1e-3 + 3e-4 * Math.cos((2 * Math.PI * waves * k) / 59));
    expect(sweepUnevenness(profile(round(2), true))!.excess).toBeLessThan(1e-5);
    expect(sweepUnevenness(profile(round(3), true))!.excess).toBeGreaterThan(1e-4);
  });

  test('of fewer than five stations is not told', () => {
    expect(sweepUnevenness({ s: [0, 1, 2, 3], curvature: [1, 2, 1, 2], isClosed: false })).toBe(
      null,
    );
  });
});
