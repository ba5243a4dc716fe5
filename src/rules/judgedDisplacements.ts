import { withMoves, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { dot, length, scaled, difference } from '../geometry/vector.ts';
import type { DisplacedPoint } from '../measure/displacedPoints.ts';
import { outwardNormal } from '../measure/outwardSide.ts';
import { visibleEffect } from '../measure/visibleEffect.ts';
import { certainty } from './certainty.ts';
import {
  degrees,
  judged,
  notApplicable,
  type Judgement,
  type Miss,
  type Site,
  type Thresholds,
} from './rule.ts';
import { partPoint, wholeSpot, type Part, type Subject } from './subject.ts';

/** A displaced point seen against the surface: how much of it is along the normal. */
interface Split {
  readonly point: DisplacedPoint;
  /** The net with the point where it is expected. */
  readonly mended: ControlNet;
  /** Signed, along the outward normal, mm. */
  readonly normal: number;
  /** Within the surface, mm. */
  readonly within: number;
  /** Whether the sign of `normal` says out or in. */
  readonly sided: boolean;
}

/** Split about the normal of the net with the point where it is expected: a displaced point tilts its own. */
function split(subject: Subject, part: Part, point: DisplacedPoint): Split {
  const { spot, displacement } = point;
  const mended = withMoves(part.net, [{ spot, by: scaled(displacement, -1) }]);
  const normal = outwardNormal(mended, spot, subject.side);
  if (!normal) return { point, mended, normal: length(displacement), within: 0, sided: false };
  const along = dot(point.displacement, normal);
  return {
    point,
    mended,
    normal: along,
    sided: subject.side.from !== 'unknown',
    within: length(difference(point.displacement, scaled(normal, along))),
  };
}

function site(part: Part, alike: readonly Spot[]): Site {
  const spots = alike.map((spot) => wholeSpot(part, spot));
  return spots.length === 1 ? { kind: 'point', ...spots[0] } : { kind: 'points', points: spots };
}

/**
 * The displaced points of one part that are juts (most of the displacement along the normal) or
 * drifts (most of it within the surface), over the limit in mm and over the floor of what is seen.
 */
export function judgedDisplacements(
  subject: Subject,
  part: Part,
  kind: 'jut' | 'drift',
  { limit, floor }: Thresholds,
): Judgement {
  const located = part.displaced();
  if (located.kind === 'undecided')
    return located.reason === 'too-small'
      ? notApplicable(located.reason)
      : { outcome: 'undecided', reason: located.reason };
  const misses = located.points
    .map((point) => split(subject, part, point))
    .filter(({ normal, within }) => Math.abs(normal) >= within === (kind === 'jut'))
    .flatMap(({ point, mended, normal, within, sided }): Miss[] => {
      const value = kind === 'jut' ? Math.abs(normal) : within;
      const sure = certainty(point, floor);
      if (!sure || value <= limit.value) return [];
      const seen = visibleEffect(mended, point.spot, point.displacement);
      if (seen.peak <= floor('seen')) return [];
      return [
        {
          site: site(part, [point.spot, ...sure.ties]),
          value,
          position: partPoint(part, point.spot),
          ...(kind === 'jut' && sided ? { direction: normal > 0 ? 'out' : 'in' } : {}),
          displacement: point.displacement,
          visible: { ...seen, tilt: degrees(seen.tilt) },
          certainty: sure.level,
          evidence: { score: point.score, gain: point.gain, unevenness: located.hand },
        },
      ];
    });
  return judged(misses);
}
