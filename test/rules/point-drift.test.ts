import { ruleTable } from './ruleTable.ts';

ruleTable('point-drift', { sites: [{ kind: 'point', row: 3, column: 2 }], value: 14, within: 1.4 });
