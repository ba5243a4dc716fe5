import { seamTable } from './seamTable.ts';

seamTable('seam-gap', { value: 0.3, within: 0.01 });
