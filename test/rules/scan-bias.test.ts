import { expect } from 'vitest';
import { scanTable } from './scanTable.ts';

// Every point is lifted by 0.5 mm in z: along the normals that is 0.5 times their mean cosine, which
// over this paraboloid lies between 0.94 and 1. The facets' chords add up to R^-1 t^2 / 8 = 0.03 mm.
scanTable('scan-bias', {
  site: (site) => expect(site).toEqual({ kind: 'net' }),
  value: 0.5,
  within: 0.03,
  direction: 'out',
});
