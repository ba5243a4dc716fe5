import { seamTable } from './seamTable.ts';

// The third derivative across grows by 4 x 3 x 2 x 12 / 500^3, the second is -2 x 180 / 1000^2.
const [jump, bend] = [(24 * 12) / 500 ** 3, 3.6e-4];

seamTable('seam-flow', { value: (100 * jump) / bend, within: 0.02 });
