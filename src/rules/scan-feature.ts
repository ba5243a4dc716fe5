import data from '../../rules/scan-feature.json' with { type: 'json' };
import { surfacePoint } from '../geometry/evaluation.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import type { Crossing } from '../measure/crossings.ts';
import type { Encroachment } from '../measure/encroachments.ts';
import type { FeatureBounds } from '../measure/featureMeetings.ts';
import { placeSways } from '../measure/placeSways.ts';
import { influences } from './influences.ts';
import {
  degrees,
  judged,
  type Miss,
  type Rule,
  type RuleData,
  type Site,
  type Thresholds,
} from './rule.ts';
import type { Subject } from './subject.ts';
import { unscanned } from './unscanned.ts';

const radians = (angle: number): number => (angle * Math.PI) / 180;

/** What counts as a feature for a panel's class. */
export const featureBounds = ({ floor }: Thresholds): FeatureBounds => ({
  radius: floor('radius'),
  turn: radians(floor('turn')),
  wobble: { height: floor('wobble-height'), length: floor('wobble-length') },
  depth: floor('depth'),
});

type Judged = Pick<Subject, 'net'>;

/** The row or column of the net along a rim of its domain; the point that sways a place most along a trim. */
function siteOf({ net }: Judged, edge: OutlineEdge | null, u: number, v: number): Site {
  if (edge?.rim)
    return edge.rim.side === 0
      ? { kind: 'column', column: edge.rim.end === 0 ? 0 : net.columns - 1 }
      : { kind: 'row', row: edge.rim.end === 0 ? 0 : net.rows - 1 };
  const [{ row, column }] = influences(placeSways(net, u, v));
  return { kind: 'point', row, column };
}

const encroachmentMiss = (
  subject: Judged,
  edges: readonly OutlineEdge[],
  found: Encroachment,
  limit: number,
): Miss => ({
  site: siteOf(subject, edges[found.edge], found.u, found.v),
  value: found.depth,
  position: found.position,
  certainty: found.depth - found.error > limit ? 'named' : 'uncertain',
  evidence: {
    from: found.from,
    to: found.to,
    usual: found.usual,
    radius: found.radius,
    turn: degrees(found.turn),
    error: found.error,
    u: found.u,
    v: found.v,
  },
});

const crossingMiss = (subject: Judged, { depth, length, radius, turn, u, v }: Crossing): Miss => ({
  site: siteOf(subject, null, u, v),
  value: depth,
  position: surfacePoint(subject.net, u, v),
  evidence: { length, radius, turn: degrees(turn), u, v },
});

/** One miss a site, the deepest: an edge is pulled back once. */
function oncePerSite(misses: readonly Miss[]): Miss[] {
  const kept = new Map<string, Miss>();
  for (const miss of misses) {
    const key = JSON.stringify(miss.site);
    const other = kept.get(key);
    if (!other || miss.value > other.value) kept.set(key, miss);
  }
  return [...kept.values()];
}

export const scanFeature: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) => {
    const scanned = subject.scanned();
    const blind = unscanned(scanned);
    if (blind || scanned.kind !== 'seen') return blind!;
    const { edges, features } = scanned;
    if (!features)
      return {
        outcome: 'undecided',
        reason: subject.scan?.body?.kind === 'cloud' ? 'scan-cloud' : 'scan-open',
      };
    return judged(
      oncePerSite([
        ...features.encroachments
          // what triangles and noise could make of nothing is not told
          .filter(({ depth, error }) => depth > Math.max(limit.value, error))
          .map((found) => encroachmentMiss(subject, edges, found, limit.value)),
        ...features.crossings
          .filter(({ depth }) => depth > limit.value)
          .map((found) => crossingMiss(subject, found)),
      ]),
    );
  },
};
