import { basisRow } from './basis.ts';
import type { ControlNet } from './controlNet.ts';
import { pointFromRows, surfaceJet } from './evaluation.ts';
import { spanCount } from './knots.ts';
import { inDomain, type Sheet } from './sheet.ts';
import { difference, distance, dot, length, type Vector } from './vector.ts';

/** The place of a surface nearest to a point of space. */
export interface Foot {
  /**
   * Its place in the plane; in a direction in which the surface closes it may lie outside the domain,
   * so that a line across the seam does not jump.
   */
  readonly at: readonly [number, number];
  /** Distance to the point, mm. */
  readonly gap: number;
  /** Lengths of the derivatives there, mm per parameter unit. */
  readonly u: Vector;
  readonly v: Vector;
}

const mostSteps = 40;
/** A step shorter than this share of the reach is no step. */
const restStep = 1e-7;

/**
 * The foot of a point, sought from a place of the plane: Newton's method on half the squared distance
 * where it bends upward, else Gauss and Newton's, both damped (Levenberg and Marquardt; from memory),
 * held to the domain's edges. Without an edge between, it is the nearest place around.
 */
export function footFrom(sheet: Sheet, point: Vector, start: readonly [number, number]): Foot {
  const { net, domain, period, reach } = sheet;
  const widths = domain.map(([from, to]) => to - from);
  const held = (side: 0 | 1, value: number): number =>
    period[side] === null ? inDomain(sheet, side, value) : value;
  let at: [number, number] = [held(0, start[0]), held(1, start[1])];
  const jetAt = ([u, v]: readonly [number, number]) =>
    surfaceJet(net, inDomain(sheet, 0, u), inDomain(sheet, 1, v));
  let jet = jetAt(at);
  let gap = distance(jet.point, point);
  let damping = 1e-9;
  for (let step = 0; step < mostSteps; step++) {
    const off = difference(jet.point, point);
    const slope = [dot(off, jet.u), dot(off, jet.v)];
    const flat = [dot(jet.u, jet.u), dot(jet.u, jet.v), dot(jet.v, jet.v)];
    const bent = [
      flat[0] + dot(off, jet.uu),
      flat[1] + dot(off, jet.uv),
      flat[2] + dot(off, jet.vv),
    ];
    const rises = bent[0] > 0 && bent[2] > 0 && bent[0] * bent[2] > bent[1] * bent[1];
    const [a, b, c] = rises ? bent : flat;
    // a direction whose edge is reached and would be passed is left alone
    const stuck = ([0, 1] as const).map((side) => {
      const [from, to] = domain[side];
      return (
        period[side] === null &&
        ((at[side] <= from && slope[side] > 0) || (at[side] >= to && slope[side] < 0))
      );
    });
    // both directions count alike however they are parametrised; a collapsed edge has a = 0
    const least = (sheet.reach * sheet.reach) / 1e6;
    const da = a + damping * (a + least / (widths[0] * widths[0]));
    const dc = c + damping * (c + least / (widths[1] * widths[1]));
    const det = da * dc - b * b;
    let du = 0;
    let dv = 0;
    if (stuck[0] && stuck[1]) break;
    if (stuck[0]) dv = -slope[1] / dc;
    else if (stuck[1]) du = -slope[0] / da;
    else {
      du = (-slope[0] * dc + slope[1] * b) / det;
      dv = (-slope[1] * da + slope[0] * b) / det;
    }
    if (!Number.isFinite(du) || !Number.isFinite(dv)) {
      damping = Math.max(damping, 1e-6) * 10;
      continue;
    }
    // never over half the domain at once
    const stride = Math.max(Math.abs(du) / widths[0], Math.abs(dv) / widths[1], 0.5) * 2;
    const next: [number, number] = [held(0, at[0] + du / stride), held(1, at[1] + dv / stride)];
    const moved =
      Math.abs(next[0] - at[0]) * length(jet.u) + Math.abs(next[1] - at[1]) * length(jet.v);
    const nextJet = jetAt(next);
    const nextGap = distance(nextJet.point, point);
    if (nextGap < gap) {
      at = next;
      jet = nextJet;
      gap = nextGap;
      damping = Math.max(damping / 10, 1e-12);
    } else damping = Math.max(damping, 1e-6) * 10;
    if (moved <= restStep * reach) break;
  }
  return { at, gap, u: jet.u, v: jet.v };
}

/** Places along each direction of the coarse grid that a search without a start begins from. */
const fewestPlaces = 9;
const mostPlaces = 129;
/** Low points of the grid that are tried, lowest first. */
const mostStarts = 5;

/** Points of the surface at all places, v by v. */
function gridPoints(net: ControlNet, us: readonly number[], vs: readonly number[]): Vector[] {
  const alongU = us.map((u) => basisRow(net.knots[0], net.degree[0], u, 0));
  return vs.flatMap((v) => {
    const alongV = basisRow(net.knots[1], net.degree[1], v, 0);
    return alongU.map((own) => pointFromRows(net, own, alongV));
  });
}

/** A search for the foot of any point, by a coarse grid of the surface and `footFrom`. */
export function footFinder(sheet: Sheet): (point: Vector) => Foot {
  const { net, domain } = sheet;
  const places = ([0, 1] as const).map((side) => {
    const spans = spanCount(net.knots[side], net.degree[side]);
    const count = Math.min(
      Math.max(spans * (net.degree[side] + 1) + 1, fewestPlaces),
      Math.max(spans + 1, mostPlaces),
      2 * mostPlaces,
    );
    const [from, to] = domain[side];
    return Array.from({ length: count }, (_, k) => from + (k / (count - 1)) * (to - from));
  });
  const [us, vs] = places;
  let grid: Vector[] | null = null;
  return (point) => {
    grid ??= gridPoints(net, us, vs);
    const far = grid.map((p) => distance(p, point));
    const columns = us.length;
    const low = [...far.keys()]
      .filter((k) => {
        const column = k % columns;
        return [-columns, 0, columns].every((row) =>
          [-1, 0, 1].every((side) => {
            const other = k + row + side;
            const inside =
              other >= 0 && other < far.length && column + side >= 0 && column + side < columns;
            return !inside || far[other] >= far[k];
          }),
        );
      })
      .sort((a, b) => far[a] - far[b])
      .slice(0, mostStarts);
    let best: Foot | null = null;
    for (const k of low) {
      const foot = footFrom(sheet, point, [us[k % columns], vs[Math.floor(k / columns)]]);
      if (best === null || foot.gap < best.gap) best = foot;
      if (best.gap <= sheet.reach / 10) break;
    }
    return best ?? footFrom(sheet, point, [us[0], vs[0]]);
  };
}
