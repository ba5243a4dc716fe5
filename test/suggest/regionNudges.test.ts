// What is told to bring a panel to its scan, made and measured again by another way: the distance to the
// scan's own formula at ten thousand places.
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet, type Spot } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import type { Vector } from '../../src/geometry/vector.ts';
import { scanDistance } from '../../src/rules/scan-distance.ts';
import { thresholdsOf, type Miss } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { regionNudges } from '../../src/suggest/regionNudges.ts';

/** A paraboloid, over a plan of 700 by 500 mm. */
const height = (x: number, y: number): number =>
  -90 * (x / 700 - 0.5) ** 2 - 60 * (y / 500 - 0.45) ** 2;
const random = seededRandom(9);
const body = scanBody(
  gridMesh(
    (u, v) => {
      const [x, y] = [740 * u - 20, 540 * v - 20];
      return [x, y, height(x, y) + 0.02 * random.normal()];
    },
    148,
    108,
  ),
);
const clean = fittedNet([4, 4], [clampedKnots(4, 3), clampedKnots(4, 2)], (u, v) => [
  700 * u,
  500 * v,
  height(700 * u, 500 * v),
]);

/** The largest distance in z of a surface from the paraboloid, mm: a little more than its distance. */
function farthest(net: ControlNet): number {
  let most = 0;
  for (let j = 0; j <= 100; j++)
    for (let i = 0; i <= 100; i++) {
      const [x, y, z] = surfacePoint(net, i / 100, j / 100);
      most = Math.max(most, Math.abs(z - height(x, y)));
    }
  return most;
}

interface Displaced {
  readonly spot: Spot;
  readonly by: Vector;
}

describe.each<{ readonly name: string; readonly displaced: readonly Displaced[] }>([
  { name: 'one point out', displaced: [{ spot: { row: 2, column: 3 }, by: [0, 0, 5] }] },
  { name: 'one point in', displaced: [{ spot: { row: 3, column: 2 }, by: [0, 0, -5] }] },
  {
    name: 'two neighbours out',
    displaced: [
      { spot: { row: 2, column: 2 }, by: [0, 0, 3] },
      { spot: { row: 2, column: 3 }, by: [0, 0, 3.5] },
    ],
  },
  { name: 'a point of the border', displaced: [{ spot: { row: 2, column: 6 }, by: [0, 0, 4] }] },
])('$name', ({ displaced }) => {
  const net = withMoves(clean, displaced);
  const subject = subjectOf(net, {
    outside: { along: [0, 0, 1] },
    scan: { body, limit: 1, margin: 0 },
  });
  const judgement = scanDistance.judge(subject, thresholdsOf(scanDistance.data, 'A'));
  const misses: readonly Miss[] = judgement.outcome === 'missed' ? judgement.misses : [];
  const nudges = regionNudges(subject, judgement);

  test('is one region, and the moves told bring all of the panel in', () => {
    expect(farthest(net)).toBeGreaterThan(1);
    expect(misses.length).toBe(1);
    const nudge = nudges.get(misses[0])!;
    const mended = withMoves(
      net,
      nudge.moves.map(({ row, column, by }) => ({ spot: { row, column }, by })),
    );
    expect(farthest(mended)).toBeLessThan(1);
    // what it says it leaves there is what is left, but for the scan's noise and facets
    expect(Math.abs(nudge.leaves - farthest(mended))).toBeLessThan(0.15);
  });

  test('they are no more than were displaced and one, a displaced one among them', () => {
    const { moves } = nudges.get(misses[0])!;
    expect(moves.length).toBeLessThanOrEqual(displaced.length + 1);
    const own = moves.filter(({ row, column }) =>
      displaced.some(({ spot }) => spot.row === row && spot.column === column),
    );
    expect(own.length).toBeGreaterThan(0);
    if (displaced.length > 1) return;
    expect(Math.abs(own[0].by[2] + displaced[0].by[2])).toBeLessThan(
      0.35 * Math.abs(displaced[0].by[2]),
    );
  });
});

test('a panel that floats as a whole has no few points to move', () => {
  const net = withMoves(
    clean,
    Array.from({ length: clean.rows * clean.columns }, (_, k) => ({
      spot: { row: Math.floor(k / clean.columns), column: k % clean.columns },
      by: [0, 0, 2] as const,
    })),
  );
  const subject = subjectOf(net, { scan: { body, limit: 1, margin: 0 } });
  const judgement = scanDistance.judge(subject, thresholdsOf(scanDistance.data, 'A'));
  expect(judgement.outcome).toBe('missed');
  expect(regionNudges(subject, judgement).size).toBe(0);
});
