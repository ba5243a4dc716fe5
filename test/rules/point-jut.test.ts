import { ruleTable } from './ruleTable.ts';

ruleTable('point-jut', {
  sites: [{ kind: 'point', row: 2, column: 3 }],
  value: 2.5,
  within: 0.25,
  direction: 'out',
});
