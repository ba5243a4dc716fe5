import { ruleTable } from './ruleTable.ts';

ruleTable('knot-crowding', { sites: [{ kind: 'net' }], value: 0.06, within: 1e-9 });
