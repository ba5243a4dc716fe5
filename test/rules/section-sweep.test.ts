import { ruleTable } from './ruleTable.ts';

ruleTable('section-sweep', {
  sites: [
    { kind: 'section', axis: 'row', at: 2 / 3 },
    { kind: 'section', axis: 'column', at: 0.75 },
  ],
  value: 0.024,
  within: 0.002,
});
