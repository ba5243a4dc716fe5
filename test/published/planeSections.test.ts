// Plane sections of a sphere, a cylinder and a torus against their closed forms: elementary geometry.
import { describe, expect, test } from 'vitest';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { surfacePatches } from '../../src/geometry/bernsteinPatch.ts';
import type { ContourLine } from '../../src/geometry/contourLines.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { planeSections, type Plane } from '../../src/geometry/planeSections.ts';
import { sheetOf, sheetPoint } from '../../src/geometry/sheet.ts';
import { ellipseArc, polyline } from '../../src/geometry/splineCurve.ts';
import { distance, dot, unit, type Vector } from '../../src/geometry/vector.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

const [major, minor, radius, half] = [300, 80, 250, 400];
const torus = revolvedNet(ellipseArc([major, 0], [minor, 0], [0, minor], 0, 2 * Math.PI));
const cylinder = revolvedNet(
  polyline([
    [radius, -half],
    [radius, half],
  ]),
);
const ball = sphere(radius);

/** Chord tolerance of the traced lines, mm: coarse, for what counts is each point of them. */
const tolerance = 0.5;

function sections(
  net: ControlNet,
): (plane: Plane) => { lines: ContourLine[]; place: (at: readonly number[]) => Vector } {
  const sheet = sheetOf(net, 1e-6);
  const patches = surfacePatches(net);
  const place = (at: readonly number[]): Vector => sheetPoint(sheet, at);
  return (plane) => ({
    lines: planeSections(patches, plane, { ...sheet, place, tolerance }),
    place,
  });
}

const direction = (random: SeededRandom): Vector =>
  unit([random.normal(), random.normal(), random.normal()])!;

/** Places where a function of an angle changes sign, by looks far finer than it can waver. */
function turnsOf(f: (angle: number) => number, looks = 20000): number[] {
  return Array.from({ length: looks }, (_, k) => (2 * Math.PI * k) / looks).filter(
    (angle, k) => f(angle) < 0 !== f((2 * Math.PI * (k + 1)) / looks) < 0 && Number.isFinite(angle),
  );
}

/**
 * How many loops a plane cuts from the torus. Turned about z its normal is (a, 0, c), and
 * cos(theta) = (at - c r sin phi) / (a (R + r cos phi)): each stretch of phi in which that is between
 * -1 and 1 and that ends is one loop, and two where it never ends.
 */
function torusLoops({ normal, at }: Plane): number {
  const a = Math.hypot(normal[0], normal[1]);
  const cosine = (phi: number): number =>
    (at - normal[2] * minor * Math.sin(phi)) / (a * (major + minor * Math.cos(phi)));
  const ends = turnsOf((phi) => 1 - Math.abs(cosine(phi)));
  if (ends.length > 0) return ends.length / 2;
  return Math.abs(cosine(0)) < 1 ? 2 : 0;
}

describe('200 random planes', () => {
  const planes = Array.from({ length: 200 }, (_, k): Plane => {
    const random = seededRandom(k + 1);
    return { normal: direction(random), at: random.between(-420, 420) };
  });

  test('cut the sphere in a circle each, or not at all', () => {
    const cut = sections(ball);
    let met = 0;
    for (const { normal, at } of planes) {
      const { lines, place } = cut({ normal, at });
      const isMet = Math.abs(at) < radius;
      met += isMet ? 1 : 0;
      expect(lines.length, `${normal.join(' ')} at ${at}`).toBe(isMet ? 1 : 0);
      for (const { points, isClosed } of lines) {
        expect(isClosed).toBe(true);
        const centre: Vector = [at * normal[0], at * normal[1], at * normal[2]];
        for (const p of points.map(place)) {
          expect(Math.abs(dot(p, normal) - at)).toBeLessThan(1e-6);
          expect(Math.abs(distance(p, centre) - Math.sqrt(radius ** 2 - at ** 2))).toBeLessThan(
            1e-6 * Math.max(1, radius / Math.sqrt(radius ** 2 - at ** 2)),
          );
        }
      }
    }
    expect(met).toBeGreaterThan(90);
  });

  test('cut the torus in as many loops as the closed form has', () => {
    const cut = sections(torus);
    const counts = [0, 0, 0];
    for (const plane of planes) {
      const { lines, place } = cut(plane);
      const loops = torusLoops(plane);
      counts[loops] += 1;
      expect(lines.length, `${plane.normal.join(' ')} at ${plane.at}`).toBe(loops);
      for (const { points, isClosed } of lines) {
        expect(isClosed).toBe(true);
        for (const p of points.map(place)) {
          expect(Math.abs(dot(p, plane.normal) - plane.at)).toBeLessThan(1e-6);
          expect(Math.abs(Math.hypot(Math.hypot(p[0], p[1]) - major, p[2]) - minor)).toBeLessThan(
            1e-6,
          );
        }
      }
    }
    expect(Math.min(...counts)).toBeGreaterThan(10);
  });

  test('cut the open cylinder in the pieces of an ellipse that lie between its ends', () => {
    const cut = sections(cylinder);
    const counts = new Map<number, number>();
    for (const plane of planes) {
      const { lines, place } = cut(plane);
      const { normal, at } = plane;
      // height over the angle is a cosine: it crosses an end of the cylinder where that is reached
      const height = (angle: number): number =>
        (at - radius * (normal[0] * Math.cos(angle) + normal[1] * Math.sin(angle))) / normal[2];
      const crossings = turnsOf((angle) => half - Math.abs(height(angle))).length;
      const pieces = crossings > 0 ? crossings / 2 : Math.abs(height(0)) < half ? 1 : 0;
      counts.set(pieces, (counts.get(pieces) ?? 0) + 1);
      expect(lines.length, `${normal.join(' ')} at ${at}`).toBe(pieces);
      for (const { points, isClosed } of lines) {
        expect(isClosed).toBe(crossings === 0);
        for (const p of points.map(place)) {
          expect(Math.abs(dot(p, normal) - at)).toBeLessThan(1e-6);
          expect(Math.abs(Math.hypot(p[0], p[1]) - radius)).toBeLessThan(1e-6);
        }
      }
    }
    expect([...counts.keys()].sort((a, b) => a - b)).toEqual([0, 1, 2]);
  });
});

test('a plane that touches, and one that lies along a line of the surface, are neither cut nor waited for', () => {
  expect(sections(ball)({ normal: [0, 0.6, 0.8], at: radius }).lines).toEqual([]);
  expect(sections(torus)({ normal: [0, 0, 1], at: minor }).lines.length).toBeLessThanOrEqual(1);
  expect(
    sections(cylinder)({ normal: [0.6, 0.8, 0], at: radius }).lines.length,
  ).toBeLessThanOrEqual(1);
  // the inner tangent plane of the torus cuts two circles that cross (Villarceau): a figure of eight
  const slope = Math.asin(minor / major);
  const { lines, place } = sections(torus)({
    normal: [Math.sin(slope), 0, Math.cos(slope)],
    at: 0,
  });
  for (const { points } of lines)
    for (const p of points.map(place))
      expect(Math.abs(Math.hypot(Math.hypot(p[0], p[1]) - major, p[2]) - minor)).toBeLessThan(1e-6);
  expect(lines.flatMap(({ points }) => points).length).toBeGreaterThan(50);
});
