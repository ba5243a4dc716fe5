import type { Plane } from '../geometry/planeSections.ts';
import { placedNet, type Placement } from '../geometry/placement.ts';
import { withMoves } from '../geometry/controlNet.ts';
import { length, scaled } from '../geometry/vector.ts';
import { joins, type EdgeStretch, type Join } from '../measure/joins.ts';
import { outwardNormal } from '../measure/outwardSide.ts';
import type { SeamSide } from '../measure/seamCrossings.ts';
import { seamProfile } from '../measure/seamProfile.ts';
import { seamStations } from '../measure/seamStations.ts';
import type { Brief } from '../rules/brief.ts';
import { centreAngle } from '../rules/centre-plane.ts';
import {
  notApplicable,
  thresholdsOf,
  type Judgement,
  type Miss,
  type Site,
} from '../rules/rule.ts';
import type { Seam } from '../rules/seam.ts';
import { worstJudgement } from '../rules/worstJudgement.ts';
import { moveParts, type Nudge } from '../suggest/nudges.ts';
import { seamNudges } from '../suggest/seamNudges.ts';
import { findingOf, type Finding } from './finding.ts';
import type { PlacedPanel } from './placedPanel.ts';

/** What is said of a panel that meets the plane of symmetry. */
interface CentreFindings {
  readonly judgements: readonly (readonly [string, Judgement])[];
  readonly findings: readonly Finding[];
  /** The stretches of panel number `k` that lie in the plane, as joins of it with itself. */
  readonly joins: (k: number) => Join[];
}

/** Points p to p - 2 (p . n - at) n. */
function mirrorOf({ normal, at }: Plane): Placement {
  const row = (i: 0 | 1 | 2): readonly [number, number, number] => [
    (i === 0 ? 1 : 0) - 2 * normal[i] * normal[0],
    (i === 1 ? 1 : 0) - 2 * normal[i] * normal[1],
    (i === 2 ? 1 : 0) - 2 * normal[i] * normal[2],
  ];
  return { rotation: [row(0), row(1), row(2)], shift: scaled(normal, 2 * at) };
}

/** The border row or column that lies in the plane; of a trimmed border the whole net. */
function siteOf({ net, edges }: PlacedPanel, edge: number): Site {
  const { rim } = edges[edge];
  if (!rim) return { kind: 'net' };
  return rim.side === 0
    ? { kind: 'column', column: rim.end === 0 ? 0 : net.columns - 1 }
    : { kind: 'row', row: rim.end === 0 ? 0 : net.rows - 1 };
}

/**
 * The move of the row beside the border that brings the panel's tangents square to the plane: half of
 * what would bring it to its mirror image, since that moves as well. Measured again; null where it does
 * not mend the angle.
 */
function centreNudge(
  { net, body }: PlacedPanel,
  side: SeamSide,
  image: SeamSide,
  mirror: Placement,
  limit: number,
): Nudge | null {
  const { nudge } = seamNudges(side, image, 'angle', Infinity).a;
  if (!nudge) return null;
  const moves = nudge.moves.map(({ row, column, by }) => ({ row, column, by: scaled(by, 0.5) }));
  const moved = withMoves(
    net,
    moves.map(({ by, ...spot }) => ({ spot, by })),
  );
  const { stations } = seamStations(
    { ...side, net: moved },
    { ...side, net: placedNet(moved, mirror) },
    Infinity,
  );
  const leaves = Math.max(0, ...stations.map((station) => Math.abs(centreAngle(station) ?? 0)));
  if (leaves > limit / 2) return null;
  const far = moves.reduce((one, other) => (length(other.by) > length(one.by) ? other : one));
  const spot = { row: far.row, column: far.column };
  return {
    spot,
    vector: far.by,
    moves,
    either: [],
    parts: moveParts(net, spot, far.by, outwardNormal(net, spot, body.side)),
    leaves,
    leavesIn: 'deg',
  };
}

/** Judges the borders of a panel that lie in the spec's plane of symmetry against their mirror images. */
export function centreFindings(placed: PlacedPanel, brief: Brief): CentreFindings {
  const { centre, centreRules, seams } = brief;
  const nothing = (judgement: Judgement): CentreFindings => ({
    judgements: centreRules.map(({ data }) => [data.id, judgement] as const),
    findings: [],
    joins: () => [],
  });
  if (centreRules.length === 0) return { judgements: [], findings: [], joins: () => [] };
  if (!centre) return nothing(notApplicable('no-centre'));
  const mirror = mirrorOf(centre);
  const { net, edges } = placed;
  const image = { net: placedNet(net, mirror), edges };
  const own = joins([placed, image], seams.reach).filter(
    ({ a, b }) => a.panel === 0 && b.panel === 1 && a.edge === b.edge,
  );
  if (own.length === 0) return nothing(notApplicable('off-centre'));
  const surfaceClass = placed.panel.class;
  const findings: Finding[] = [];
  const borders = own.map(({ a }) => {
    const side: SeamSide = { net, edge: edges[a.edge], from: a.from, to: a.to };
    const other: SeamSide = { ...side, net: image.net };
    const { stations } = seamStations(side, other, Infinity);
    const seam: Seam = {
      meant: 'smooth',
      with: placed.panel.name,
      nth: 0,
      stations,
      profile: seamProfile(stations),
    };
    return { site: siteOf(placed, a.edge), side, other, seam };
  });
  const judgements = centreRules.map((rule): readonly [string, Judgement] => {
    const thresholds = thresholdsOf(rule.data, surfaceClass);
    const told = borders.map(({ site, side, other, seam }): Judgement => {
      const judgement = rule.judge(seam, thresholds);
      if (judgement.outcome !== 'missed') return judgement;
      const nudge = centreNudge(placed, side, other, mirror, thresholds.limit.value);
      const misses = judgement.misses.map((miss): Miss => ({ ...miss, site }));
      for (const miss of misses)
        findings.push(
          findingOf(rule.data, surfaceClass, miss, {
            panel: placed.panel.name,
            file: placed.file,
            nudge,
          }),
        );
      return { outcome: 'missed', misses };
    });
    return [rule.data.id, worstJudgement(told)!];
  });
  const stretch = ({ edge, from, to }: EdgeStretch, k: number): EdgeStretch => ({
    panel: k,
    edge,
    from,
    to,
  });
  return {
    judgements,
    findings,
    joins: (k) => own.map((join) => ({ ...join, a: stretch(join.a, k), b: stretch(join.a, k) })),
  };
}
