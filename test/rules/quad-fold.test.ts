import { ruleTable } from './ruleTable.ts';

ruleTable('quad-fold', {
  sites: [{ kind: 'point', row: 2, column: 2 }],
  value: 155.2,
  within: 0.5,
});
