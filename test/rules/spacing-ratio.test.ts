import { ruleTable } from './ruleTable.ts';

ruleTable('spacing-ratio', {
  sites: [{ kind: 'column', column: 3 }],
  value: 270 / 130,
  within: 0.02,
});
