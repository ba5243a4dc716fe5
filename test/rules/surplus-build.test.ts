import { ruleTable } from './ruleTable.ts';

ruleTable('surplus-build', { sites: [{ kind: 'net' }], value: 0.0631, within: 0.0005 });
