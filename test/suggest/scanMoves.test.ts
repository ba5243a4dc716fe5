// Panels with points displaced by 1 to 4 mm: the moves bring the region that is over the limit back, as
// measured again on a finer grid than the one that they were found on.
import { describe, expect, test } from 'vitest';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { offPanel, panelGrid, type OffPanel } from '../../fixtures/offPanel.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { scaled, sum } from '../../src/geometry/vector.ts';
import type { GapGrid } from '../../src/measure/normalMoves.ts';
import { outwardGaps } from '../../src/measure/outwardGaps.ts';
import { scanMoves } from '../../src/suggest/scanMoves.ts';

const side = { sign: 1, from: 'spec' } as const;
const [across, along] = [56, 36];
const aim = { limit: 1, share: 0.9, locked: null };

function scanOf({ body }: OffPanel, random: SeededRandom, noise: number): ScanBody {
  return scanBody(
    gridMesh(
      (u, v) => {
        const { point, normal } = body(u, v);
        return sum(point, scaled(normal, noise * random.normal()));
      },
      90,
      46,
    ),
  );
}

function gapGrid(net: OffPanel['net'], scan: ScanBody, columns = across, rows = along): GapGrid {
  const { points, ...grid } = panelGrid(net, columns, rows);
  return { ...grid, gaps: outwardGaps(scan, points, grid.normals, 60) };
}

/** The places over the limit that hang together with the worst; null: none is over it. */
function worstRegion({ us, gaps }: GapGrid, limit: number): Uint8Array | null {
  let worst = 0;
  gaps.forEach((gap, k) => {
    if (Math.abs(gap) > Math.abs(gaps[worst])) worst = k;
  });
  if (!(Math.abs(gaps[worst]) >= limit)) return null;
  const isRegion = new Uint8Array(gaps.length);
  const waiting = [worst];
  while (waiting.length > 0) {
    const k = waiting.pop()!;
    if (isRegion[k] === 1 || !(Math.sign(gaps[worst]) * gaps[k] >= limit)) continue;
    isRegion[k] = 1;
    const i = k % us.length;
    if (i > 0) waiting.push(k - 1);
    if (i + 1 < us.length) waiting.push(k + 1);
    if (k >= us.length) waiting.push(k - us.length);
    if (k + us.length < gaps.length) waiting.push(k + us.length);
  }
  return isRegion;
}

describe('points displaced by 1 to 4 mm', () => {
  test.each([1, 2, 3])('%d of them: the region is back within the limit', (count) => {
    const random = seededRandom(70 + count);
    let [cases, holding] = [0, 0];
    while (cases < 6) {
      const panel = offPanel(random, count, 0.5);
      if (panel.most < 1) continue;
      const scan = scanOf(panel, random, 0.05);
      const grid = gapGrid(panel.net, scan);
      const isRegion = worstRegion(grid, aim.limit);
      if (!isRegion) continue;
      cases++;
      const found = scanMoves(panel.net, side, scan, grid, isRegion, aim)!;
      expect(found.left.region).toBeLessThan(0.9);
      if (found.holds) holding++;
      expect(found.moves.length).toBeGreaterThan(0);
      if (count === 1) {
        expect(found.moves).toHaveLength(1);
        expect(found.moves[0]).toMatchObject({
          row: panel.off[0].row,
          column: panel.off[0].column,
        });
        expect(Math.abs(found.moves[0].by + panel.off[0].by)).toBeLessThan(0.3);
      }
      // what moved is what is told, and no point of a border
      const { net } = panel;
      for (let k = 0; k < net.points.length / 3; k++) {
        const [row, column] = [Math.floor(k / net.columns), k % net.columns];
        const own = found.moves.find((move) => move.row === row && move.column === column);
        const isBorder =
          row === 0 || column === 0 || row === net.rows - 1 || column === net.columns - 1;
        if (isBorder) expect(own).toBeUndefined();
        for (let axis = 0; axis < 3; axis++)
          expect(found.net.points[3 * k + axis]).toBe(
            net.points[3 * k + axis] + (own ? own.vector[axis] : 0),
          );
        if (own) expect(Math.hypot(...own.vector)).toBeCloseTo(Math.abs(own.by), 9);
      }
      // measured again on a finer grid: what was over the limit there and lies in the region's box
      const fine = gapGrid(found.net, scan, 2 * across - 1, 2 * along - 1);
      grid.gaps.forEach((gap, k) => {
        const [i, j] = [k % across, Math.floor(k / across)];
        const after = Math.abs(fine.gaps[2 * j * (2 * across - 1) + 2 * i]);
        // what has come to lie beside the scan is not known
        if (Number.isNaN(after)) return;
        if (isRegion[k] === 1) expect(after).toBeLessThan(1);
        else if (found.holds && Math.abs(gap) < 1) expect(after).toBeLessThan(1 + 1e-6);
      });
    }
    expect(holding / cases).toBeGreaterThan(0.8);
  });
});

describe('one panel', () => {
  const random = seededRandom(21);
  let panel = offPanel(random, 1, 0.1);
  while (panel.most < 1.3) panel = offPanel(random, 1, 0.1);
  const scan = scanOf(panel, random, 0.02);
  const grid = gapGrid(panel.net, scan);
  const isRegion = worstRegion(grid, 1)!;
  const found = scanMoves(panel.net, side, scan, grid, isRegion, aim)!;

  test('whichever way the scan faces, the same is found', () => {
    const { vertices, triangles } = scan.tree.mesh;
    const turned = scanBody({
      vertices,
      triangles: triangles.map(
        (_, at) => triangles[at % 3 === 0 ? at : at % 3 === 1 ? at + 1 : at - 1],
      ),
    });
    const again = scanMoves(panel.net, side, turned, gapGrid(panel.net, turned), isRegion, aim)!;
    expect(again.moves[0].by).toBeCloseTo(found.moves[0].by, 6);
    expect(again.left.region).toBeCloseTo(found.left.region, 6);
  });

  test('seen from the other side, the move is the same vector and the other sign', () => {
    const inward = {
      ...grid,
      normals: grid.normals.map((x) => -x),
      gaps: grid.gaps.map((gap) => -gap),
    };
    const other = scanMoves(panel.net, { ...side, sign: -1 }, scan, inward, isRegion, aim)!;
    expect(other.moves[0].by).toBeCloseTo(-found.moves[0].by, 9);
    for (const axis of [0, 1, 2])
      expect(other.moves[0].vector[axis]).toBeCloseTo(found.moves[0].vector[axis], 9);
  });

  test('a point that is locked is never moved; where none may be moved, or there is no region, nothing is told', () => {
    const { rows, columns } = panel.net;
    const own = found.moves[0].row * columns + found.moves[0].column;
    const locked = Uint8Array.from({ length: rows * columns }, (_, k) => (k === own ? 1 : 0));
    const others = scanMoves(panel.net, side, scan, grid, isRegion, { ...aim, locked });
    expect(others!.moves.map(({ row, column }) => row * columns + column)).not.toContain(own);
    const all = new Uint8Array(rows * columns).fill(1);
    expect(scanMoves(panel.net, side, scan, grid, isRegion, { ...aim, locked: all })).toBeNull();
    const nowhere = new Uint8Array(isRegion.length);
    expect(scanMoves(panel.net, side, scan, grid, nowhere, aim)).toBeNull();
  });

  test('where no moves do, those that leave least are told, and that they do not hold', () => {
    const tight = scanMoves(panel.net, side, scan, grid, isRegion, { ...aim, share: 1e-6 })!;
    expect(tight.holds).toBe(false);
    expect(tight.left.region).toBeGreaterThan(0);
    expect(tight.left.region).toBeLessThanOrEqual(found.left.region);
  });
});
