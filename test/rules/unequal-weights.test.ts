import { ruleTable } from './ruleTable.ts';

ruleTable('unequal-weights', {
  sites: [{ kind: 'net' }],
  value: 1.5,
  within: 1e-12,
  good: { outcome: 'not-applicable', reason: 'polynomial' },
});
