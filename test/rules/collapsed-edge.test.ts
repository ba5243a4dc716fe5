import { ruleTable } from './ruleTable.ts';

ruleTable('collapsed-edge', { sites: [{ kind: 'row', row: 0 }], value: 0, within: 1e-12 });
