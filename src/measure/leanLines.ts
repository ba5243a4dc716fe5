import { basisRow, type BasisRow } from '../geometry/basis.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { curvatureGrid } from '../geometry/curvatureGrid.ts';
import { surfaceJet } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import { difference, distance, dot, scaled, unit, vectorAt } from '../geometry/vector.ts';
import { quickStep, scanReach, type ScanView } from './featureMeetings.ts';

/** How a scan leans under parameter lines of a panel. */
export interface LeanLines {
  /** The lines run along u (0) or v (1). */
  readonly side: 0 | 1;
  /** Parameters along the lines, and those of the lines, rising. */
  readonly along: readonly number[];
  readonly across: readonly number[];
  /** By how much the scan leans toward the line's way more than the panel, radians; NaN where it is not seen; a line each. */
  readonly leans: readonly Float64Array[];
  /** mm between places of the line in the middle. */
  readonly step: number;
}

/** mm between lines, and the most of them and of their places. */
const lineStep = 20;
const mostLines = 60;
const mostPlaces = 4000;
/** Pieces in which a middle line is measured. */
const pieces = 64;

/** Parameters at even lengths of the middle line along u (0) or v (1), each in the middle of its part, and the part's length, mm. */
function evenParameters(net: ControlNet, side: 0 | 1, step: number, most: number) {
  const [from, to] = domain(net.knots[side], net.degree[side]);
  const [low, high] = domain(net.knots[1 - side], net.degree[1 - side]);
  const other = (low + high) / 2;
  const at = Array.from({ length: pieces + 1 }, (_, k) => from + (k / pieces) * (to - from));
  const points = at.map(
    (w) => (side === 0 ? surfaceJet(net, w, other) : surfaceJet(net, other, w)).point,
  );
  const s = [0];
  for (let k = 1; k <= pieces; k++) s.push(s[k - 1] + distance(points[k], points[k - 1]));
  const count = Math.min(most, Math.max(4, Math.ceil(s[pieces] / step)));
  let node = 0;
  const parameters = Array.from({ length: count }, (_, k) => {
    const target = ((k + 0.5) / count) * s[pieces];
    while (node < pieces - 1 && s[node + 1] < target) node++;
    const width = s[node + 1] - s[node];
    const share = width > 0 ? (target - s[node]) / width : 0;
    return at[node] + share * (at[node + 1] - at[node]);
  });
  return { parameters, step: s[pieces] / count };
}

/** How the scan leans under lines along u (side 0) or v, some 20 mm apart, place by place of the scan's edges. */
export function leanLines({ net, kept, body, facing }: ScanView, side: 0 | 1): LeanLines {
  const { parameters: along, step } = evenParameters(net, side, quickStep(body), mostPlaces);
  const { parameters: across } = evenParameters(net, side === 0 ? 1 : 0, lineStep, mostLines);
  const rows = (which: 0 | 1, values: readonly number[]): BasisRow[] =>
    values.map((w) => basisRow(net.knots[which], net.degree[which], w, 2));
  const grid =
    side === 0
      ? curvatureGrid(net, rows(0, along), rows(1, across))
      : curvatureGrid(net, rows(0, across), rows(1, along));
  const count = along.length;
  const leans = across.map((other, line) => {
    const numberOf = (k: number): number =>
      side === 0 ? line * count + k : k * across.length + line;
    const places = new Float64Array(3 * count);
    for (let k = 0; k < count; k++) places.set(vectorAt(grid.points, numberOf(k)), 3 * k);
    const feet = scanFeet(body, places, scanReach);
    const own = new Float64Array(count).fill(NaN);
    for (let k = 0; k < count; k++) {
      if (feet.standings[k] !== scanStandings.over || grid.isBlind[numberOf(k)]) continue;
      const [u, v] = side === 0 ? [along[k], other] : [other, along[k]];
      if (kept?.(u, v) === 'outside') continue;
      const way = unit(
        difference(
          vectorAt(places, Math.min(count - 1, k + 1)),
          vectorAt(places, Math.max(0, k - 1)),
        ),
      );
      const normal = scaled(vectorAt(feet.normals, k), facing);
      const up = dot(normal, vectorAt(grid.normals, numberOf(k)));
      if (way && up > 0) own[k] = Math.atan2(dot(normal, way), up);
    }
    return own;
  });
  return { side, along, across, leans, step };
}
