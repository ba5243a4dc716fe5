import { seamTable } from './seamTable.ts';

// The paraboloid falls by 0.036 a millimetre there, the moved columns take 4 x 1.1 / 500 from that.
const slope = (-2 * 180 * 0.1) / 1000;
const turn = Math.atan(slope + (4 * 1.1) / 500) - Math.atan(slope);

seamTable('seam-angle', { value: (turn * 180) / Math.PI, within: 0.003 });
