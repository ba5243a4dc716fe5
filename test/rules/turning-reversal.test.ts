import { ruleTable } from './ruleTable.ts';

ruleTable('turning-reversal', {
  sites: [0, 1, 2, 3, 4].map((row) => ({ kind: 'row', row }) as const),
  value: 3,
  within: 0,
});
