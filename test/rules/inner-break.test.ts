import { ruleTable } from './ruleTable.ts';

ruleTable('inner-break', { sites: [{ kind: 'column', column: 3 }], value: 1.4, within: 0.5 });
