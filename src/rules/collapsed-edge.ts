import data from '../../rules/collapsed-edge.json' with { type: 'json' };
import { lines } from '../geometry/controlNet.ts';
import { edgeLengths } from '../measure/edgeLengths.ts';
import { judged, type Miss, type Rule, type RuleData } from './rule.ts';

export const collapsedEdge: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) =>
    judged(
      edgeLengths(net)
        .filter(({ share }) => share < limit.value)
        .map(({ along, index, share, length }): Miss => {
          const edge = lines(net).find((line) => line.along === along && line.index === index)!;
          return {
            site: along === 'row' ? { kind: 'row', row: index } : { kind: 'column', column: index },
            value: share,
            position: edge.points[0],
            evidence: { length },
          };
        }),
    ),
};
