import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import { dot, scaled, vectorAt, type Vector } from '../geometry/vector.ts';
import type { Parameters } from './featureMask.ts';
import { middleValue } from './middleValue.ts';
import { panelPath } from './panelPath.ts';
import { scanCurvature } from './scanCurvature.ts';
import type { Kept } from './surfaceLook.ts';
import { turnProfile, type TurnProfile } from './turnProfile.ts';
import { lastingShare, turnRamps, type RampBounds, type TurnRamp } from './turnRamps.ts';

/** What counts as a feature of a scan. */
export interface FeatureBounds {
  /** mm: what bends more widely than this is calm. */
  readonly radius: number;
  /** radians: what turns by less is none. */
  readonly turn: number;
  /** A wobble of the clay may be as high (mm, from its mean) and as short (mm, from crest to crest) as this, and is no feature. */
  readonly wobble: { readonly height: number; readonly length: number };
  /** mm inside the border up to which the border can be pulled back; what lies deeper runs through the panel. */
  readonly depth: number;
}

/** How a panel and a scan lie to each other. */
export interface ScanView {
  readonly net: ControlNet;
  readonly kept: Kept;
  readonly body: ScanBody;
  /** 1 where the scan's triangles look to the side of S_u x S_v behind most of the panel, else -1. */
  readonly facing: 1 | -1;
  /** Of the scan's vertices about their surface, mm, root of the mean square. */
  readonly noise: number;
}

/** How tightly a scan turns at a feature. */
export interface Bend {
  /** Mean radius of the turn, mm; as small as the scan's triangles show. */
  readonly radius: number;
  /** By how much the scan turns more than the panel, radians; positive over a ridge, as seen along S_u x S_v. */
  readonly turn: number;
}

/** A feature met on a way over a panel. */
export interface Meeting extends Bend {
  /** mm along the way where it begins and ends. */
  readonly from: number;
  readonly to: number;
  /** Its middle on the scan, mm. */
  readonly foot: Vector;
}

/** A way reaches this far from the panel for the scan, mm. */
export const scanReach = 60;
/** Looks over a panel each way, of which each so many-th asks for the scan's noise. */
const looks = 12;
const noiseLooks = 8;
/** Places of a close look lie this share of the scan's edges apart, but no nearer than so many mm. */
const placeShare = 0.5;
const leastPlace = 0.75;
/** mm: places of a quick look lie as far apart as the scan's vertices, but no nearer than this. */
const leastQuick = 1;
/** Places of the look that asks what lasts lie so many edges apart. */
const farEdges = 2;
/** Parallel lines of a close look. */
const closeLines = 5;
/** What lasts of a turn by less than this share comes back: it is a wobble. */
const leastLasting = 0.5;
/** Edges of the scan between neighbouring feet from which on they jump over a corner. */
const cornerEdges = 3;
/** What the scan's own curvature must be of that of the widest feature, and standard errors by which it differs from none. */
const curvatureShare = 0.6;
const sureness = 3;

/** mm between places of a quick look: each triangle is met, so that means over a way telescope. */
export const quickStep = ({ spacing }: ScanBody): number => Math.max(leastQuick, spacing);

/** How a panel and a scan lie to each other; null where no scan lies behind it. */
export function scanView(net: ControlNet, kept: Kept, body: ScanBody): ScanView | null {
  const at = (side: 0 | 1, k: number): number => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return from + ((k + 0.5) / looks) * (to - from);
  };
  const places: { readonly point: Vector; readonly normal: Vector }[] = [];
  for (let j = 0; j < looks; j++)
    for (let i = 0; i < looks; i++) {
      const [u, v] = [at(0, i), at(1, j)];
      if (kept?.(u, v) === 'outside') continue;
      const jet = surfaceJet(net, u, v);
      const normal = surfaceNormal(jet);
      if (normal) places.push({ point: jet.point, normal });
    }
  const feet = scanFeet(body, Float64Array.from(places.flatMap(({ point }) => point)), scanReach);
  let total = 0;
  const noises: number[] = [];
  places.forEach(({ normal }, k) => {
    if (feet.standings[k] !== scanStandings.over) return;
    const own = vectorAt(feet.normals, k);
    total += Math.sign(dot(normal, own));
    if (k % noiseLooks !== 0) return;
    const fit = scanCurvature(body, vectorAt(feet.points, k), own, Infinity);
    if (fit) noises.push(fit.noise);
  });
  if (total === 0) return null;
  return { net, kept, body, facing: total > 0 ? 1 : -1, noise: middleValue(noises) || 0 };
}

/** By this share a turn must be tighter or longer than any of a wobble: a ramp through a sine is both. */
const wobbleSlack = 0.25;

/**
 * Whether a turn is more than a wobble can do: the sine of height A and length L bends to L^2 / (4 pi^2 A)
 * at its crests and turns by 2 atan(2 pi A / L) from one flank to the other.
 */
const isNoWobble = (
  { turn, radius }: TurnRamp,
  { wobble: { height, length } }: FeatureBounds,
): boolean =>
  radius < (1 - wobbleSlack) * (length ** 2 / (4 * Math.PI ** 2 * height)) ||
  Math.abs(turn) > (1 + wobbleSlack) * 2 * Math.atan((2 * Math.PI * height) / length);

/** mm over which a wobble comes back that is as tight as the widest feature. */
const wobbleReach = ({ radius, wobble }: FeatureBounds): number =>
  2 * Math.PI * Math.sqrt(radius * wobble.height);

/** A way alone may miss the bounds by this share: noise does that; what several meet together must keep to them. */
const singleSlack = 0.25;

const singleBounds = ({ radius, turn }: FeatureBounds): RampBounds => ({
  radius: (1 + singleSlack) * radius,
  turn: (1 - singleSlack) * turn,
});

/** Whether a bend, by the middle of what several ways met, is tight enough and turns enough. */
export const isTight = (bend: Bend, { radius, turn }: FeatureBounds): boolean =>
  bend.radius <= radius && Math.abs(bend.turn) >= turn;

/** Whether the scan's own curvature at a foot is that of a feature. */
function isBent(body: ScanBody, foot: Vector, normal: Vector, { radius }: FeatureBounds): boolean {
  const least = curvatureShare / radius;
  const own = scanCurvature(body, foot, normal, least / sureness);
  if (!own) return false;
  const most = Math.abs(own.principal[0]);
  return most >= least && most >= sureness * own.error;
}

/** What was met on a way, and where its runs lie on the panel; null past its border. */
export interface Meetings {
  readonly met: readonly Meeting[];
  readonly parametersAt: (run: number) => Parameters | null;
}

/**
 * The features met on the way that leads through a place of a panel, `ahead` and `back` so many mm: where
 * the scan turns more tightly than the panel, by its own curvature as well, and for good or by more than
 * a wobble can.
 */
export function featureMeetings(
  { net, kept, body, facing }: ScanView,
  bounds: FeatureBounds,
  start: Parameters,
  way: Vector,
  close: { readonly ahead: number; readonly back: number },
): Meetings {
  const step = Math.max(leastPlace, placeShare * body.spacing);
  const path = panelPath(net, kept, start, way, { step, ...close });
  if (!path) return { met: [], parametersAt: () => null };
  const profile = turnProfile(body, path, facing, { lines: closeLines, reach: scanReach });
  const around = wobbleReach(bounds);
  let far: TurnProfile | null = null;
  const lasts = (ramp: TurnRamp): boolean => {
    if (!far) {
      const long = panelPath(net, kept, start, way, {
        step: farEdges * body.spacing,
        ahead: close.ahead + around,
        back: close.back + around,
      })!;
      far = turnProfile(body, long, facing, { lines: closeLines, reach: scanReach });
    }
    return lastingShare(far, ramp, around) >= leastLasting;
  };
  const met = turnRamps(profile, singleBounds(bounds), body.spacing).flatMap((ramp): Meeting[] => {
    const foot = vectorAt(profile.feet, ramp.middle);
    const normal = scaled(vectorAt(path.normals, ramp.middle), facing);
    // where feet jump over a corner no place of it can be asked
    const isAsked = ramp.jump < cornerEdges * body.spacing;
    if (isAsked && !isBent(body, foot, normal, bounds)) return [];
    if (!isNoWobble(ramp, bounds) && !lasts(ramp)) return [];
    const { from, to, turn, radius } = ramp;
    return [{ from, to, turn, radius, foot }];
  });
  const parametersAt = (run: number): Parameters | null => {
    const { run: runs, parameters } = path;
    let k = 1;
    while (k < runs.length - 1 && runs[k] < run) k++;
    const share = Math.min(1, Math.max(0, (run - runs[k - 1]) / (runs[k] - runs[k - 1])));
    const at = (side: 0 | 1): number => {
      const [a, b] = [parameters[2 * k - 2 + side], parameters[2 * k + side]];
      return Number.isNaN(a) ? b : Number.isNaN(b) ? a : a + share * (b - a);
    };
    const [u, v] = [at(0), at(1)];
    return Number.isNaN(u) ? null : [u, v];
  };
  return { met, parametersAt };
}
