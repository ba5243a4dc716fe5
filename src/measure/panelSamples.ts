import { basisRow } from '../geometry/basis.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { pointFromRows, surfaceNormal, tangentsFromRows } from '../geometry/evaluation.ts';
import type { ParameterBox } from '../geometry/keptPart.ts';
import { cross, length, type Vector } from '../geometry/vector.ts';
import type { Kept } from './surfaceLook.ts';

/** Places spread evenly over the area of what is kept of a panel, or of several. */
export interface PanelSamples {
  /** x, y, z one after the other, mm. */
  readonly places: Float64Array;
  /** Unit normals of the surface there, along S_u x S_v. */
  readonly normals: Float64Array;
}

/** Cells in each direction whose area is looked at, and samples wanted. */
const cells = 16;
const wanted = 256;
/** A trim may keep little of the domain: then samples are drawn more densely, so many times at most. */
const mostDense = 64;

/** The k-th number of van der Corput's sequence in base 2, in (0, 1): even for any count. */
function spread(k: number): number {
  let [value, share] = [0, 0.5];
  for (let rest = k + 1; rest > 0; rest >>= 1, share /= 2) value += (rest & 1) * share;
  return value;
}

/** Area of the cells of a box, sums of them and of all before; row by row, mm^2 per parameter unit. */
function areaSums(net: ControlNet, [[uFrom, uTo], [vFrom, vTo]]: ParameterBox): Float64Array {
  const middles = (side: 0 | 1, from: number, to: number) =>
    Array.from({ length: cells }, (_, k) =>
      basisRow(net.knots[side], net.degree[side], from + ((k + 0.5) / cells) * (to - from), 1),
    );
  const [us, vs] = [middles(0, uFrom, uTo), middles(1, vFrom, vTo)];
  const sums = new Float64Array(cells * cells);
  let all = 0;
  vs.forEach((bv, row) =>
    us.forEach((bu, column) => {
      const { u, v } = tangentsFromRows(net, bu, bv);
      all += length(cross(u, v));
      sums[row * cells + column] = all;
    }),
  );
  return sums;
}

/** `count` samples over the box; those outside what is kept, and those without a normal, are left out. */
function samplesOf(
  net: ControlNet,
  [[uFrom, uTo], [vFrom, vTo]]: ParameterBox,
  kept: Kept,
  sums: Float64Array,
  count: number,
): readonly (readonly [Vector, Vector])[] {
  const samples: (readonly [Vector, Vector])[] = [];
  const all = sums[sums.length - 1];
  let cell = 0;
  for (let k = 0; k < count; k++) {
    const target = ((k + 0.5) / count) * all;
    while (cell < sums.length - 1 && sums[cell] < target) cell++;
    const before = cell === 0 ? 0 : sums[cell - 1];
    // along u by how much of the cell's area is passed, along v anywhere
    const along = ((cell % cells) + (target - before) / (sums[cell] - before)) / cells;
    const across = (Math.floor(cell / cells) + spread(k)) / cells;
    const [u, v] = [uFrom + along * (uTo - uFrom), vFrom + across * (vTo - vFrom)];
    if (kept && kept(u, v) === 'outside') continue;
    const bu = basisRow(net.knots[0], net.degree[0], u, 1);
    const bv = basisRow(net.knots[1], net.degree[1], v, 1);
    const normal = surfaceNormal(tangentsFromRows(net, bu, bv));
    if (normal) samples.push([pointFromRows(net, bu, bv), normal]);
  }
  return samples;
}

/**
 * Some 256 samples of what is kept of a panel: none where it has no area. `box`: the parameters between
 * which anything may be kept.
 */
export function panelSamples(net: ControlNet, box: ParameterBox, kept: Kept): PanelSamples {
  const sums = areaSums(net, box);
  let samples = sums[sums.length - 1] > 0 ? samplesOf(net, box, kept, sums, wanted) : [];
  if (kept && samples.length < wanted / 2) {
    // denser by the share that is kept, as far as that could be told
    const dense = Math.min(mostDense, Math.ceil(wanted / Math.max(samples.length, 1)));
    samples = samplesOf(net, box, kept, sums, dense * wanted);
  }
  return {
    places: Float64Array.from(samples.flatMap(([place]) => [...place])),
    normals: Float64Array.from(samples.flatMap(([, normal]) => [...normal])),
  };
}
