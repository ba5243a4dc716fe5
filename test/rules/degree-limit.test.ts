import { ruleTable } from './ruleTable.ts';

ruleTable('degree-limit', { sites: [{ kind: 'net' }], value: 8, within: 0 });
