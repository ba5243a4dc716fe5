import { ruleTable } from './ruleTable.ts';

ruleTable('hull-jut', {
  sites: [{ kind: 'row', row: 3 }],
  value: 3,
  within: 0.15,
  direction: 'out',
});
