import { randomNet } from '../../../fixtures/randomNet.ts';
import type { SeededRandom } from '../../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { domain } from '../../../src/geometry/knots.ts';
import {
  ellipseArc,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../../src/geometry/splineCurve.ts';
import type { TrimLoop, TrimRegion } from '../../../src/geometry/trimRegion.ts';
import { millimetre, type LengthUnit } from '../../../src/intake/lengthUnit.ts';
import type { Panel, Trim } from '../../../src/intake/panel.ts';

/** A panel as a reader would give it. */
export const panel = (
  name: string,
  net: ControlNet,
  more: {
    readonly unit?: LengthUnit;
    readonly region?: TrimRegion;
    readonly groups?: string[];
  } = {},
): Panel => ({
  name,
  net,
  place: {},
  unit: more.unit ?? millimetre,
  trim: more.region
    ? ({ kind: 'part', region: more.region, place: {} } satisfies Trim)
    : { kind: 'whole' },
  ...(more.groups ? { groups: more.groups } : {}),
});

/** The same points over knots of which none stands twice: the edges are no rows of the net. */
export function unclamped(net: ControlNet, random: SeededRandom): ControlNet {
  const loose = ({ length }: Float64Array): Float64Array => {
    let at = random.between(-5, 5);
    return Float64Array.from({ length }, () => (at += random.between(0.1, 1)));
  };
  return { ...net, knots: [loose(net.knots[0]), loose(net.knots[1])] };
}

/** A net of any build; every third has loose knots. */
export function anyNet(random: SeededRandom): ControlNet {
  const net = randomNet(random, random.uniform() < 0.5);
  return random.index(3) === 0 ? unclamped(net, random) : net;
}

/** Shares of a net's domain as parameters. */
type Spread = (share: readonly [number, number]) => [number, number];

function spreadOver({ knots, degree }: ControlNet): Spread {
  const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(knots[side], degree[side]));
  return ([s, t]) => [u0 + s * (u1 - u0), v0 + t * (v1 - v0)];
}

const closed = (curves: readonly SplineCurve[]): TrimLoop => ({ curves, winds: [0, 0] });

const backwards = ({ curves }: TrimLoop): TrimLoop => closed(curves.map(reversedCurve).reverse());

/**
 * What is kept of a net: a rectangle or one with a bent side, less two holes, and an island in the first;
 * each loop in either sense. `tolerance` in mm.
 */
export function madeRegion(net: ControlNet, random: SeededRandom, tolerance = 0.01): TrimRegion {
  const at = spreadOver(net);
  const circle = (s: number, t: number, r: number): TrimLoop => {
    const [centre, right, top] = [at([s, t]), at([s + r, t]), at([s, t + r])];
    const arm = (end: readonly number[]) => [end[0] - centre[0], end[1] - centre[1]];
    const arc = ellipseArc(centre, arm(right), arm(top), 0, 2 * Math.PI);
    // an arc that should close may miss its start by a rounding
    const points = Float64Array.from(arc.points);
    points.set(points.subarray(0, 2), points.length - 2);
    return closed([{ ...arc, points }]);
  };
  const corner = [at([0.05, 0.1]), at([0.95, 0.05]), at([0.9, 0.95]), at([0.05, 0.9])];
  const bent: SplineCurve = {
    dimension: 2,
    degree: 3,
    knots: Float64Array.of(0, 0, 0, 0, 1, 1, 1, 1),
    points: Float64Array.from([corner[1], at([0.85, 0.4]), at([0.99, 0.6]), corner[2]].flat()),
    weights: random.uniform() < 0.5 ? null : Float64Array.of(1, 2, 0.5, 1),
  };
  const outer: TrimLoop =
    random.uniform() < 0.5
      ? closed([polyline([...corner, corner[0]])])
      : closed([
          polyline([corner[0], corner[1]]),
          bent,
          polyline([corner[2], corner[3]]),
          polyline([corner[3], corner[0]]),
        ]);
  const loops = [
    outer,
    circle(0.3, random.between(0.38, 0.52), 0.12),
    circle(0.7, 0.5, random.between(0.02, 0.1)),
    circle(0.3, 0.45, 0.005),
  ];
  return {
    loops: loops.map((loop) => (random.uniform() < 0.5 ? loop : backwards(loop))),
    period: [null, null],
    tolerance,
  };
}
