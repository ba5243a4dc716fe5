import { ruleTable } from './ruleTable.ts';

ruleTable('second-difference-jump', {
  sites: [{ kind: 'column', column: 3 }],
  value: 1.16,
  within: 0.05,
});
