import data from '../../rules/surplus-build.json' with { type: 'json' };
import { lightening, pricesOf, type NetBuild } from '../measure/lighterBuilds.ts';
import { judged, met, type Rule, type RuleData } from './rule.ts';

/** Nets of more points are not worth the minutes: span-limit speaks for them, and lighten does it. */
const mostPoints = 20_000;

/** Rounding is no number to divide by. */
const farthestBeyond = 1e6;

const sizeOf = ({ net }: NetBuild): number => net.columns * net.rows;

export const surplusBuild: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit, floor }) => {
    const points = net.columns * net.rows;
    if (points > mostPoints) return { outcome: 'undecided', reason: 'too-large' };
    const within = floor('deviation');
    const { prices, fewer, same, idleKnots } = lightening(net, within);
    const value = points / sizeOf(fewer);
    if (value <= limit.value && !idleKnots) return met;
    return judged([
      {
        site: { kind: 'net' },
        value,
        position: null,
        // knots that carry nothing are told however few they are
        ...(idleKnots ? { beyond: Math.min(within / same.deviation, farthestBeyond) } : {}),
        evidence: { columns: fewer.net.columns, rows: fewer.net.rows, deviation: fewer.deviation },
        lighter: { build: pricesOf([fewer])[0], prices: pricesOf(prices) },
      },
    ]);
  },
};
