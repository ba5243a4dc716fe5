import { ruleTable } from './ruleTable.ts';

ruleTable('surplus-build', { sites: [{ kind: 'net' }], value: 77 / 40, within: 0 });
