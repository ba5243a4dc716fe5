import { ruleTable } from './ruleTable.ts';

ruleTable('highlight-kink', {
  sites: [
    { kind: 'section', axis: 'column', at: 0.5 },
    { kind: 'point', row: 3, column: 6 },
  ],
  value: 3.08,
  within: 0.58,
});
