import { ruleTable } from './ruleTable.ts';

ruleTable('turning-jump', { sites: [{ kind: 'row', row: 2 }], value: 9.2, within: 0.2 });
