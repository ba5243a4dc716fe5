import { expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { ruleTable } from './ruleTable.ts';
import { joinedNets } from './seamTable.ts';

ruleTable('section-sweep', {
  sites: [
    { kind: 'section', axis: 'row', at: 2 / 3 },
    { kind: 'section', axis: 'column', at: 0.75 },
  ],
  value: 0.024,
  within: 0.002,
});

/**
 * Half of a body whose curvature along x falls evenly, but for a hump `size` times as high over the
 * middle, where the halves meet: each half turns once by itself.
 */
const half = (from: number, size: number): ControlNet =>
  fittedNet([5, 3], [clampedKnots(5, [0.25, 0.5, 0.75]), clampedKnots(3)], (s, v) => {
    const u = from + s / 2;
    const off = (u - 0.5) / 0.12;
    return [
      1000 * u,
      600 * v,
      // second derivatives: 2 a + 6 b u of the cubic, and of the Gauss bell its own
      -150 * u * u + 15 * u * u * u - 90 * (v - 0.5) ** 2 - size * Math.exp(-0.5 * off * off),
    ];
  });

test.each([
  ['as they are', (net: ControlNet) => net],
  ['with rows as columns', transposed],
  ['run backwards', reversed],
])('two panels that meet smoothly are cut as one, %s', (_, change) => {
  const across = (size: number) => {
    const { files, seams } = joinedNets(
      [
        ['front', half(0, size)],
        ['rear', change(half(0.5, size))],
      ],
      null,
    );
    expect(seams[0].outcomes['seam-curvature']).toBe('met');
    return files
      .flatMap(({ panels }) => panels.flatMap(({ findings }) => findings))
      .filter(({ rule, miss }) => rule === 'section-sweep' && miss.evidence!.panels === 2);
  };
  expect(across(0)).toEqual([]);
  const found = across(1);
  expect(found.length).toBe(1);
  expect(Math.abs(found[0].miss.position![0] - 500)).toBeLessThan(300);
});
