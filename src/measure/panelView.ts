import { basisRow } from '../geometry/basis.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { jetFromRows } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  type Vector,
} from '../geometry/vector.ts';
import type { OutwardSide } from './outwardSide.ts';
import type { Kept } from './surfaceLook.ts';

/** A place of the surface, its unit normal toward the viewer, and the area it stands for, mm^2. */
export interface Look {
  readonly point: Vector;
  readonly normal: Vector;
  readonly area: number;
}

/** A panel as somebody sees it who stands over its middle: axes of its own, whatever the model's. */
export interface PanelView {
  readonly middle: Vector;
  /** Toward the viewer: the mean normal. */
  readonly up: Vector;
  /** Whether S_u x S_v is on the viewer's side. */
  readonly sign: 1 | -1;
  /** Along the panel, where it is longest, and across. */
  readonly along: Vector;
  readonly across: Vector;
  /** Highest place over the middle, and diagonal of the panel's box in these axes, mm. */
  readonly top: number;
  readonly diagonal: number;
  readonly looks: readonly Look[];
}

/** Looks in each direction. */
const looks = 24;
/** Of a panel that turns round so far that less than this share of its area faces one way nobody sees the whole. */
const leastFacing = 0.3;

function looksOf(net: ControlNet, sign: 1 | -1, kept: Kept): Look[] {
  const parameters = ([0, 1] as const).map((side) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return Array.from({ length: looks }, (_, k) => {
      const at = from + ((k + 0.5) / looks) * (to - from);
      return { at, row: basisRow(net.knots[side], net.degree[side], at, 2) };
    });
  });
  return parameters[1].flatMap((v) =>
    parameters[0].flatMap((u): Look[] => {
      if (kept && kept(u.at, v.at) === 'outside') return [];
      const jet = jetFromRows(net, u.row, v.row);
      const normal = scaled(cross(jet.u, jet.v), sign);
      const own = unit(normal);
      return own ? [{ point: jet.point, normal: own, area: length(normal) }] : [];
    }),
  );
}

const weightedSum = (all: readonly Look[], of: (look: Look) => Vector): Vector =>
  all.reduce<Vector>((total, look) => sum(total, scaled(of(look), look.area)), [0, 0, 0]);

/** The direction square to `up` in which places are spread most. */
function longAxis(all: readonly Look[], middle: Vector, up: Vector): Vector | null {
  const other: Vector = Math.abs(up[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const first = unit(squareTo(other, up));
  if (!first) return null;
  const second = cross(up, first);
  let [xx, xy, yy] = [0, 0, 0];
  for (const { point, area } of all) {
    const off = difference(point, middle);
    const [x, y] = [dot(off, first), dot(off, second)];
    xx += area * x * x;
    xy += area * x * y;
    yy += area * y * y;
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  return sum(scaled(first, Math.cos(angle)), scaled(second, Math.sin(angle)));
}

/**
 * The view of the kept part of a panel, from 24 x 24 looks weighted with their area, so that it hangs
 * on the surface and hardly on its parametrisation. Null where the panel has no extent, or turns round
 * so far that it faces no way. Where nothing tells the outward side, up is where the largest coordinate
 * of the mean normal rises.
 */
export function panelView(net: ControlNet, side: OutwardSide, kept: Kept): PanelView | null {
  const all = looksOf(net, side.sign, kept);
  const area = all.reduce((total, look) => total + look.area, 0);
  if (!(area > 0) || !Number.isFinite(area)) return null;
  const facing = scaled(
    weightedSum(all, ({ normal }) => normal),
    1 / area,
  );
  const mean = length(facing) >= leastFacing ? unit(facing) : null;
  if (!mean) return null;
  const largest = mean.reduce((a, b) => (Math.abs(b) > Math.abs(a) * (1 + 1e-9) ? b : a));
  const turn = side.from === 'unknown' && largest < 0 ? -1 : 1;
  const up = scaled(mean, turn);
  const middle = scaled(
    weightedSum(all, ({ point }) => point),
    1 / area,
  );
  const along = longAxis(all, middle, up);
  if (!along) return null;
  const across = cross(up, along);
  const extents = [along, across, up].map((axis) => {
    const heights = all.map(({ point }) => dot(difference(point, middle), axis));
    return [Math.min(...heights), Math.max(...heights)] as const;
  });
  return {
    middle,
    up,
    sign: turn === 1 ? side.sign : side.sign === 1 ? -1 : 1,
    along,
    across,
    top: extents[2][1],
    diagonal: Math.hypot(...extents.map(([from, to]) => to - from)),
    looks: turn === 1 ? all : all.map((look) => ({ ...look, normal: scaled(look.normal, -1) })),
  };
}
