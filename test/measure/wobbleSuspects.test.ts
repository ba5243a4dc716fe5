import { describe, expect, test } from 'vitest';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { difference, distance, dot, length, unit } from '../../src/geometry/vector.ts';
import { highlightLines } from '../../src/measure/highlightLines.ts';
import { highlightWiggles } from '../../src/measure/highlightWiggles.ts';
import { panelView } from '../../src/measure/panelView.ts';
import { lineCombs, planeCombs } from '../../src/measure/sectionCombs.ts';
import { suspectOfSection } from '../../src/measure/sectionSuspect.ts';
import { sweepUnevenness } from '../../src/measure/sweepUnevenness.ts';
import { suspectOfWiggle } from '../../src/measure/wiggleSuspect.ts';
import { wobbleCauses, type WobbleCause } from '../../src/measure/wobbleCause.ts';
import {
  suspectOfLine,
  suspectOfPoint,
  type WobbleSuspect,
} from '../../src/measure/wobbleSuspect.ts';
import { noField, type Field } from '../wobble/fields.ts';
import { bump, wobblyPanel, wobblyScan } from './wobblyPanel.ts';

const causes = (net: ControlNet, mesh: Mesh, suspects: readonly WobbleSuspect[]): WobbleCause[] =>
  wobbleCauses({ net, outward: 1, kept: null }, scanBody(mesh), suspects);

const evenScan = wobblyScan(noField);

describe('suspects of control points and lines', () => {
  const net = wobblyPanel(noField);

  test('are as wide as the bump that they are about', () => {
    const point = suspectOfPoint(net, 6, 8);
    const moved = withMoves(net, [{ spot: { row: 6, column: 8 }, by: [0, 0, 1] }]);
    const rise = (u: number, v: number): number =>
      distance(surfacePoint(moved, u, v), surfacePoint(net, u, v));
    const [u, v] = point.at!;
    // the width at half height, found by stepping: about half of the wavelength
    const widths = ([0, 1] as const).map((side) => {
      const near = (by: number): readonly [number, number] =>
        side === 0 ? [u + by, v] : [u, v + by];
      let by = 0;
      while (rise(...near(by)) > rise(u, v) / 2) by += 1e-4;
      return distance(surfacePoint(net, ...near(by)), surfacePoint(net, ...near(-by)));
    });
    widths.forEach((width, k) => {
      expect(point.lengths[k] / (2 * width)).toBeGreaterThan(0.85);
      expect(point.lengths[k] / (2 * width)).toBeLessThan(1.15);
    });
    expect(distance(point.position, surfacePoint(net, u, v))).toBeLessThan(1e-9);
  });

  test.each([
    [{ row: 6, column: 8 }, 'model'],
    [{ row: 5, column: 6 }, 'model'],
  ] as const)('a displaced point %j is the model’s', (spot, cause) => {
    const moved = withMoves(net, [{ spot, by: [0, 0, 0.8] }]);
    const [found] = causes(moved, evenScan, [suspectOfPoint(moved, spot.row, spot.column)]);
    expect(found.cause).toBe(cause);
    expect(found.likeness).toBeGreaterThan(0.8);
  });

  test.each(['row', 'column'] as const)(
    'a displaced %s is the model’s, its length without end',
    (along) => {
      const index = 6;
      const count = along === 'row' ? net.columns : net.rows;
      const spots = Array.from({ length: count }, (_, k) =>
        along === 'row' ? { row: index, column: k } : { row: k, column: index },
      );
      const moved = withMoves(
        net,
        spots.map((spot) => ({ spot, by: [0, 0, 0.3] as const })),
      );
      const line = suspectOfLine(moved, along, index);
      expect(line.lengths[1]).toBe(Infinity);
      const across = unit(line.along)!;
      expect(Math.abs(dot(across, along === 'row' ? [0, 1, 0] : [1, 0, 0]))).toBeGreaterThan(0.99);
      const [found] = causes(moved, evenScan, [line]);
      expect(found.cause).toBe('model');
      expect(found.likeness).toBeGreaterThan(0.8);
      // the scan with the same ridge
      const ridge: Field = (x, y) => {
        const [u, v] = [x / 600 + 0.5, y / 500 + 0.5];
        const held = [u, v].map((w) => Math.min(1, Math.max(0, w)));
        return length(
          difference(surfacePoint(moved, held[0], held[1]), surfacePoint(net, held[0], held[1])),
        );
      };
      expect(causes(moved, wobblyScan(ridge), [line])[0].cause).toBe('scan');
    },
  );
});

describe('suspects of what is seen of a bump', () => {
  const [x, y] = [20, -10];
  const isUnder = ({ position, lengths }: WobbleSuspect, wave: number, astray: number): void => {
    expect(Math.hypot(position[0] - x, position[1] - y) / wave).toBeLessThan(astray);
    for (const length of lengths) {
      expect(length / wave).toBeGreaterThan(0.7);
      expect(length / wave).toBeLessThan(1.4);
    }
  };

  test.each([
    [110, 0.2],
    [160, -0.5],
    [220, 0.5],
  ])('in a section: a bump of %d mm, %d mm high', (wave, height) => {
    const net = wobblyPanel(bump(x, y, wave, height));
    for (const combs of [lineCombs(net, 1, null), planeCombs(net, 50, 1, null)]) {
      const worst = combs
        .map((comb) => ({ comb, departure: sweepUnevenness(comb)! }))
        .reduce((a, b) => (b.departure.height > a.departure.height ? b : a));
      const found = suspectOfSection(worst.comb, worst.departure)!;
      isUnder(found, wave, 0.3);
      const [even, alike] = [noField, bump(x, y, wave, height)].map(
        (field) => causes(net, wobblyScan(field), [found])[0],
      );
      expect([even.cause, alike.cause]).toEqual(['model', 'scan']);
    }
  });

  test('in a highlight: the three worst wiggles', () => {
    const own = bump(x, y, 130, 0.3);
    const net = wobblyPanel(own);
    const view = panelView(net, { sign: 1, from: 'spec' }, null)!;
    const lines = highlightLines(net, view, null)!.filter(({ light }) => light.kind === 'line');
    const worst = highlightWiggles(net, lines)
      .toSorted((a, b) => b.swing - a.swing)
      .slice(0, 3)
      .map(suspectOfWiggle);
    for (const one of worst) isUnder(one, 130, 0.45);
    for (const one of worst) {
      expect(causes(net, evenScan, [one])[0].cause).toBe('model');
      expect(causes(net, wobblyScan(own), [one])[0].cause).toBe('scan');
    }
  });

  test('none where a section is too short', () => {
    const net = wobblyPanel(noField);
    const [comb] = lineCombs(net, 1, null);
    const short = {
      s: comb.s.slice(0, 6),
      curvature: comb.curvature.slice(0, 6),
      points: comb.points.slice(0, 6),
      tangents: comb.tangents.slice(0, 6),
      parameters: comb.parameters.slice(0, 6),
    };
    expect(suspectOfSection(short, { from: 0, to: 5, at: 2 })).toBeNull();
  });
});
