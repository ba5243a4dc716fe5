import { expect } from 'vitest';
import { basisPeak } from '../../src/geometry/basis.ts';
import { fixtureNet } from './ruleTable.ts';
import { scanTable } from './scanTable.ts';

// One point is lifted by 4 mm: the surface by as much times the largest values of its basis functions
// (Piegl and Tiller, The NURBS Book, 2nd ed., 2.3), less the slope's cosine, plus the facets' chord
// of up to 0.03 mm.
const { knots, degree } = fixtureNet('scan-distance', 'missed');
const peak = 4 * basisPeak(knots[0], degree[0], 4) * basisPeak(knots[1], degree[1], 3);

scanTable('scan-distance', {
  site: (site) => {
    if (site.kind !== 'region') throw new Error(site.kind);
    expect(site.area).toBeGreaterThan(1000);
    expect(site.nth).toBe(0);
  },
  value: peak,
  within: 0.05 * peak,
  direction: 'out',
});
