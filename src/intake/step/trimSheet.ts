import type { ControlNet } from '../../geometry/controlNet.ts';
import { surfacePoint } from '../../geometry/evaluation.ts';
import { domain } from '../../geometry/knots.ts';
import type { Vector } from '../../geometry/vector.ts';

type Interval = readonly [number, number];

/** The surface that a trim is cut from, where it stands in its own representation. */
export interface TrimSheet {
  /** Millimetres. */
  readonly net: ControlNet;
  /** Where its parameters run, in u and in v. */
  readonly domain: readonly [Interval, Interval];
  /** Records of surfaces whose parameters are these: its own, and those of trimmed surfaces on it. */
  readonly records: ReadonlySet<number>;
  /** The point at parameters, which are taken into the domain. */
  readonly lifted: (parameters: readonly number[]) => Vector;
}

export function trimSheet(net: ControlNet, records: ReadonlySet<number>): TrimSheet {
  const [u, v] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const within = (t: number, [from, to]: Interval): number => Math.min(Math.max(t, from), to);
  return {
    net,
    domain: [u, v],
    records,
    lifted: (p) => surfacePoint(net, within(p[0], u), within(p[1], v)),
  };
}
