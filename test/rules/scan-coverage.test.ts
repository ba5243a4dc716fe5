import { expect } from 'vitest';
import { scanTable } from './scanTable.ts';

// The panel begins half its length (in plan) along the scan, which ends 50 mm beyond it: 0.55 of its
// plan is covered; by area a little less, since the paraboloid falls off more steeply behind.
scanTable('scan-coverage', {
  site: (site) => expect(site).toEqual({ kind: 'net' }),
  value: 0.55,
  within: 0.02,
});
