import { describe, expect, test } from 'vitest';
import { diagonal } from '../../src/geometry/controlNet.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';

describe.skipIf(corpusFolder === null)('one surface in two formats gives one net', () => {
  test.each(['ship-half', 'slim-hull'])('%s', (name) => {
    const iges = readIges(corpusBytes(`surfaces/${name}.iges`)).panels;
    const step = readStep(corpusBytes(`surfaces/${name}.step`)).panels;
    expect(step.length).toBeGreaterThan(0);
    expect(iges).toHaveLength(step.length);
    // The two files hold the surfaces in the same order.
    step.forEach(({ net }, k) => {
      const other = iges[k].net;
      expect([net.degree, net.columns, net.rows]).toEqual([
        other.degree,
        other.columns,
        other.rows,
      ]);
      const size = diagonal(net);
      net.points.forEach((value, at) => {
        expect(Math.abs(value - other.points[at])).toBeLessThanOrEqual(1e-9 * size);
      });
      for (const side of [0, 1] as const) {
        const range = net.knots[side][net.knots[side].length - 1] - net.knots[side][0];
        expect(net.knots[side]).toHaveLength(other.knots[side].length);
        net.knots[side].forEach((value, at) => {
          expect(Math.abs(value - other.knots[side][at])).toBeLessThanOrEqual(1e-9 * range);
        });
      }
    });
  });
});
