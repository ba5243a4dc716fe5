import { ruleTable } from './ruleTable.ts';

ruleTable('narrow-panel', { sites: [{ kind: 'net' }], value: 0.016, within: 0.003 });
