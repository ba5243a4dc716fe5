import data from '../../rules/collapsed-edge.json' with { type: 'json' };
import { edgeLengths } from '../measure/edgeLengths.ts';
import { judged, type Miss, type Rule, type RuleData } from './rule.ts';

export const collapsedEdge: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) =>
    judged(
      edgeLengths(net)
        .filter(({ share }) => share < limit.value)
        .map(({ along, index, start, share, length }): Miss => ({
          site: along === 'row' ? { kind: 'row', row: index } : { kind: 'column', column: index },
          value: share,
          position: start,
          evidence: { length },
        })),
    ),
};
