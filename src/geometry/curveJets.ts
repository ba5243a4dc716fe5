import { bezierPieces, type SplineCurve } from './splineCurve.ts';

/** A point of a curve and its derivative by the parameter: as many numbers each as it has dimensions. */
export interface CurveJet {
  readonly point: readonly number[];
  readonly slope: readonly number[];
}

/** A curve made ready to be evaluated at many places. */
export interface CurveJets {
  /** Ends of its polynomial pieces, rising: those of its domain first and last. */
  readonly breaks: readonly number[];
  /** At a break between two pieces, of the later one. */
  readonly at: (t: number) => CurveJet;
}

/** Point and derivative of a curve anywhere in its domain, by de Casteljau's construction. */
export function curveJets(curve: SplineCurve): CurveJets {
  const { dimension, degree } = curve;
  const size = dimension + 1;
  const pieces = bezierPieces(curve);
  const flat = pieces.map(({ points }) => Float64Array.from(points.flat()));
  const breaks = [pieces[0].from, ...pieces.map(({ to }) => to)];
  const level = new Float64Array(size * (degree + 1));
  const pieceOf = (t: number): number => {
    let [low, high] = [0, pieces.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (breaks[middle] <= t) low = middle;
      else high = middle - 1;
    }
    return low;
  };
  const at = (t: number): CurveJet => {
    const k = pieceOf(t);
    const { from, to } = pieces[k];
    const s = (t - from) / (to - from);
    level.set(flat[k]);
    for (let r = degree; r > 1; r--)
      for (let i = 0; i < size * r; i++) level[i] += s * (level[i + size] - level[i]);
    const factor = degree / (to - from);
    const weight = level[dimension] + s * (level[size + dimension] - level[dimension]);
    const weightSlope = factor * (level[size + dimension] - level[dimension]);
    const point: number[] = [];
    const slope: number[] = [];
    for (let axis = 0; axis < dimension; axis++) {
      const step = level[size + axis] - level[axis];
      point.push((level[axis] + s * step) / weight);
      slope.push((factor * step - weightSlope * point[axis]) / weight);
    }
    return { point, slope };
  };
  return { breaks, at };
}
