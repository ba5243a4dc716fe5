// Whose a displaced control point is, on panels and scans of our own making: nothing is published to
// hold it against.
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, surfacePoint } from '../../src/geometry/evaluation.ts';
import { keptBox } from '../../src/geometry/keptPart.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { scaled, sum, type Vector } from '../../src/geometry/vector.ts';
import { displacementShare, type DisplacementShare } from '../../src/measure/displacementShare.ts';
import { scanFollowing } from '../../src/measure/scanFollowing.ts';
import { scanLattice, type ScanLattice } from '../../src/measure/scanLattice.ts';

interface Displaced {
  readonly row: number;
  readonly column: number;
  readonly by: Vector;
}

const moved = (net: ControlNet, all: readonly Displaced[], share: number): ControlNet =>
  withMoves(
    net,
    all.map(({ row, column, by }) => ({ spot: { row, column }, by: scaled(by, share) })),
  );

/** A panel against a scan of `clay`, off by a height at (u, v) and by noise, triangles of `side` mm. */
function latticeOf(
  panel: ControlNet,
  clay: ControlNet,
  off: (u: number, v: number) => number,
  [long, wide]: readonly [number, number],
  side: number,
): ScanLattice {
  const mesh = gridMesh(
    (u, v) => {
      const normal = surfaceNormal(surfaceJet(clay, u, v))!;
      return sum(surfacePoint(clay, u, v), scaled(normal, off(u, v)));
    },
    Math.round(long / side),
    Math.round(wide / side),
  );
  const question = {
    net: panel,
    sign: 1,
    kept: null,
    body: scanBody(mesh),
    reach: 50,
    fine: 0.05,
  } as const;
  return scanLattice(question, keptBox(panel, null));
}

const smooth = (degree: number, spans: number, long: number, wide: number): ControlNet =>
  fittedNet(
    [degree, degree],
    [clampedKnots(degree, spans), clampedKnots(degree, spans)],
    (u, v) => [
      long * u,
      wide * v,
      -((long * (u - 0.5)) ** 2) / 3000 - (wide * (v - 0.4)) ** 2 / 2400,
    ],
    31,
  );

const truth = { '0': 'model', '1': 'scan', '0.5': 'unknown', '-1': 'model' } as const;

test('on forty panels with misfit and noise: most are decided, and none of them wrongly', () => {
  const random = seededRandom(22);
  const told = Array.from({ length: 40 }, () => {
    const [degree, spans] = [3 + random.index(3), 1 + random.index(4)];
    const size = [random.between(300, 700), random.between(300, 600)] as const;
    const clean = smooth(degree, spans, ...size);
    const spot = {
      row: 1 + random.index(clean.rows - 2),
      column: 1 + random.index(clean.columns - 2),
    };
    const by: Vector = [0, 0, (random.uniform() < 0.5 ? 1 : -1) * random.between(0.8, 6)];
    const isLine = random.uniform() < 0.3;
    const displaced: Displaced[] = isLine
      ? Array.from({ length: clean.columns }, (_, column) => ({ row: spot.row, column, by }))
      : [{ ...spot, by }];
    const share = ([0, 0, 1, 1, 0.5, -1] as const)[random.index(6)];
    const [noise, misfit] = [random.between(0.01, 0.1), random.between(0, 0.9)];
    const waves = Array.from({ length: 3 }, () => ({
      height: (misfit * random.normal()) / 2,
      along: random.between(-6, 6),
      across: random.between(-6, 6),
      begin: random.between(0, 6),
    }));
    const off = (u: number, v: number): number =>
      waves.reduce((all, w) => all + w.height * Math.cos(w.along * u + w.across * v + w.begin), 0) +
      noise * random.normal();
    const panel = moved(clean, displaced, 1);
    const lattice = latticeOf(panel, moved(clean, displaced, share), off, size, 8);
    const found = displacementShare(panel, lattice, displaced);
    return { share, cause: found?.cause ?? 'unknown' };
  });
  const decided = told.filter(({ cause }) => cause !== 'unknown');
  for (const { share, cause } of decided) expect(cause).toBe(truth[`${share}`]);
  expect(decided.length).toBeGreaterThanOrEqual(20);
});

describe('numbers', () => {
  const size = [500, 400] as const;
  const clean = smooth(4, 2, ...size);
  const displaced: Displaced[] = [{ row: 2, column: 3, by: [0, 0, 3] }];
  const panel = moved(clean, displaced, 1);
  const random = seededRandom(5);
  const noise = (): number => 0.02 * random.normal();
  const shareOf = (share: number): DisplacementShare =>
    displacementShare(
      panel,
      latticeOf(panel, moved(clean, displaced, share), noise, size, 6),
      displaced,
    )!;

  test.each([-1, 0, 0.25, 1, 1.6])(
    'a scan that has %d of the bump is told to have that',
    (share) => {
      const found = shareOf(share);
      expect(Math.abs(found.share - share)).toBeLessThan(0.05);
      expect(Math.abs(found.share - share)).toBeLessThan(3 * found.shareError);
      expect(Math.abs(found.gap - (share - 1) * found.surface)).toBeLessThan(0.05);
    },
  );

  test('where most of the bump has no scan behind it nothing is said', () => {
    const lattice = latticeOf(panel, clean, noise, size, 6);
    const blind = {
      ...lattice,
      standings: lattice.standings.map((standing, k) => (k % lattice.columns > 40 ? 1 : standing)),
    };
    expect(displacementShare(panel, blind, displaced)).toBeNull();
  });

  test('a scan that follows the panel departs from it by the noise of a block, else by the bump', () => {
    const top = surfacePoint(panel, 0.62, 0.45);
    const follows = scanFollowing(latticeOf(panel, panel, noise, size, 6), top, 300)!;
    expect(follows.departure).toBeLessThan(0.02);
    const even = scanFollowing(latticeOf(panel, clean, noise, size, 6), top, 300)!;
    expect(even.departure).toBeGreaterThan(0.2);
    expect(scanFollowing(latticeOf(panel, panel, noise, size, 6), [1e4, 0, 0], 200)).toBeNull();
  });
});
