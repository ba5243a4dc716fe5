import { bezierPieces, type SplineCurve } from './splineCurve.ts';

/** Homogeneous Bezier points raised by one degree. Source: Farin, Curves and Surfaces for CAGD, 6.1 (from memory). */
function raised(points: readonly (readonly number[])[]): number[][] {
  const degree = points.length - 1;
  return Array.from({ length: degree + 2 }, (_, k) => {
    const share = k / (degree + 1);
    const [before, own] = [points[Math.max(k - 1, 0)], points[Math.min(k, degree)]];
    return own.map((x, axis) => share * before[axis] + (1 - share) * x);
  });
}

/**
 * Curves that follow each other as one: each over as much of its parameter as its entry in `widths`
 * says, from 0. Each begins where the one before it ends, whatever it says itself.
 */
export function joinedCurve(
  curves: readonly SplineCurve[],
  widths: readonly number[],
): SplineCurve {
  const { dimension } = curves[0];
  const degree = Math.max(...curves.map((curve) => curve.degree));
  const knots: number[] = Array.from({ length: degree + 1 }, () => 0);
  const points: (readonly number[])[] = [];
  let start = 0;
  curves.forEach((curve, k) => {
    const pieces = bezierPieces(curve);
    const [low, high] = [pieces[0].from, pieces[pieces.length - 1].to];
    // all weights of one curve may be multiplied alike: the ends of neighbours are made to agree
    const last = points[points.length - 1];
    const factor = last ? last[dimension] / pieces[0].points[0][dimension] : 1;
    pieces.forEach((piece, index) => {
      let own = piece.points.map((p) => p.map((x) => x * factor));
      while (own.length <= degree) own = raised(own);
      points.push(...(points.length === 0 ? own : own.slice(1)));
      const isLast = k === curves.length - 1 && index === pieces.length - 1;
      const end = start + ((piece.to - low) / (high - low)) * widths[k];
      knots.push(...Array.from({ length: isLast ? degree + 1 : degree }, () => end));
    });
    start += widths[k];
  });
  const weights = Float64Array.from(points, (p) => p[dimension]);
  return {
    dimension,
    degree,
    knots: Float64Array.from(knots),
    points: Float64Array.from(
      points.flatMap((p, k) => p.slice(0, dimension).map((x) => x / weights[k])),
    ),
    weights: weights.every((w) => w === 1) ? null : weights,
  };
}
