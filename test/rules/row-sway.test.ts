import { ruleTable } from './ruleTable.ts';

ruleTable('row-sway', { sites: [{ kind: 'column', column: 2 }], value: 10.3, within: 0.2 });
