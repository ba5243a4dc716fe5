import { ruleTable } from './ruleTable.ts';

ruleTable('leg-collapse', {
  sites: [0, 1].map((row) => ({ kind: 'leg', row, column: 2, along: 'row' }) as const),
  value: 13 / 200,
  within: 0.005,
});
