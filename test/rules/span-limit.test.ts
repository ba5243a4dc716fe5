import { ruleTable } from './ruleTable.ts';

ruleTable('span-limit', { sites: [{ kind: 'net' }], value: 9, within: 0 });
