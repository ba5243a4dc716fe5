import type { ControlNet } from './controlNet.ts';
import { spanIndex, type Knots } from './knots.ts';
import type { Vector } from './vector.ts';

/** A point of a surface, mm, and its first derivatives, mm per parameter unit. */
export interface TangentPlane {
  readonly point: Vector;
  readonly u: Vector;
  readonly v: Vector;
}

/** Basis functions and their first derivatives at one parameter, in arrays that are used again. */
interface Basis {
  readonly values: Float64Array;
  readonly slopes: Float64Array;
  /** Sets both, and returns the index of the first control point they weigh. */
  readonly at: (t: number) => number;
}

/**
 * Source: Piegl & Tiller, The NURBS Book, algorithm A2.2, and eq. 2.7 for the derivatives (from memory;
 * held against evaluation in test/geometry).
 */
function basisOf(knots: Knots, degree: number): Basis {
  const [values, slopes, left, right] = Array.from(
    { length: 4 },
    () => new Float64Array(degree + 1),
  );
  const at = (t: number): number => {
    const span = spanIndex(knots, degree, t);
    values[0] = 1;
    for (let j = 1; j <= degree; j++) {
      left[j] = t - knots[span + 1 - j];
      right[j] = knots[span + j] - t;
      let saved = 0;
      let before = 0;
      for (let r = 0; r < j; r++) {
        const share = values[r] / (right[r + 1] + left[j - r]);
        values[r] = saved + right[r + 1] * share;
        saved = left[j - r] * share;
        if (j === degree) {
          slopes[r] = degree * (before - share);
          before = share;
        }
      }
      values[j] = saved;
      if (j === degree) slopes[j] = degree * before;
    }
    return span - degree;
  };
  return { values, slopes, at };
}

/** A surface made ready to be evaluated at many places, each with its first derivatives. */
export function tangentPlanes(net: ControlNet): (u: number, v: number) => TangentPlane {
  const { points, weights, columns, degree } = net;
  const [bu, bv] = ([0, 1] as const).map((side) => basisOf(net.knots[side], degree[side]));
  return (u, v) => {
    const first = bv.at(v) * columns + bu.at(u);
    let [x, y, z, w] = [0, 0, 0, 0];
    let [xu, yu, zu, wu] = [0, 0, 0, 0];
    let [xv, yv, zv, wv] = [0, 0, 0, 0];
    for (let j = 0; j <= degree[1]; j++) {
      const [value, slope] = [bv.values[j], bv.slopes[j]];
      for (let i = 0; i <= degree[0]; i++) {
        const at = first + j * columns + i;
        const weight = weights ? weights[at] : 1;
        const [px, py, pz] = [points[3 * at], points[3 * at + 1], points[3 * at + 2]];
        const own = value * bu.values[i] * weight;
        x += own * px;
        y += own * py;
        z += own * pz;
        w += own;
        const along = value * bu.slopes[i] * weight;
        xu += along * px;
        yu += along * py;
        zu += along * pz;
        wu += along;
        const across = slope * bu.values[i] * weight;
        xv += across * px;
        yv += across * py;
        zv += across * pz;
        wv += across;
      }
    }
    // a polynomial surface sums to 1 only up to rounding: divide by nothing there
    if (!weights) return { point: [x, y, z], u: [xu, yu, zu], v: [xv, yv, zv] };
    const point: Vector = [x / w, y / w, z / w];
    return {
      point,
      u: [(xu - wu * point[0]) / w, (yu - wu * point[1]) / w, (zu - wu * point[2]) / w],
      v: [(xv - wv * point[0]) / w, (yv - wv * point[1]) / w, (zv - wv * point[2]) / w],
    };
  };
}
