import {
  leftBeside,
  polynomialColumns,
  squareColumns,
  taper,
  templateValue,
  windowLengths,
  type Template,
  type WindowPoints,
  type WindowShape,
} from './templateFit.ts';

/** Places of a surface in a plane and its heights over that, mm: some hundreds, evenly over the window. */
export type SurfacePoints = Pick<WindowPoints, 'x' | 'y' | 'height'>;

/** How far a template may be moved, in wavelengths, and how much longer or shorter it may get, as a factor. */
export interface Leeway {
  readonly way: number;
  readonly factor: number;
}

/** First steps, as shares of the leeway, and how often they are halved. */
const firstStep = 0.5;
const halvings = 5;
/** A smaller gain is none, as a share. */
const leastGain = 1e-6;
/** Points a column, at least. */
const leastPointShare = 3;

/**
 * A template near a given one (at 0, 0 along the axes) that is most like what the surface has there beyond
 * the polynomials: the surface has no noise, so where and how long its bump is can be read off it. The best
 * of one step up or down in any unknown, halved where none helps (compass search). `beside`: bumps that are
 * explained already.
 */
export function aimedTemplate(
  { x, y, height }: SurfacePoints,
  lengths: readonly [number, number],
  beside: readonly Template[],
  shape: WindowShape,
  leeway: Leeway,
): Template {
  const given: Template = { at: [0, 0], turn: [1, 0], lengths };
  const wide = windowLengths(lengths);
  const weights = Float64Array.from(x, (value, k) => taper(wide, shape, value, y[k]));
  const columns = squareColumns(
    [
      ...polynomialColumns(
        x.map((value) => value / (shape.reach * wide[0])),
        y.map((value) => value / (shape.reach * wide[1])),
        shape.degree,
      ),
      ...beside.map((one) => x.map((value, k) => templateValue(one, value, y[k]))),
    ],
    weights,
  );
  if (x.length < leastPointShare * columns.length) return given;
  const left = (values: Float64Array): Float64Array => leftBeside(values, columns, weights);
  const surface = left(height);
  const templateOf = ([a, b, p, q]: readonly number[]): Template => ({
    at: [a * wide[0], b * wide[1]],
    turn: [1, 0],
    lengths: [lengths[0] * Math.exp(p), lengths[1] * Math.exp(q)],
  });
  const likeness = (unknowns: readonly number[]): number => {
    const template = templateOf(unknowns);
    const bump = left(x.map((value, k) => templateValue(template, value, y[k])));
    let [both, own] = [0, 0];
    for (let k = 0; k < bump.length; k++) {
      both += weights[k] * bump[k] * surface[k];
      own += weights[k] * bump[k] * bump[k];
    }
    return own > 0 ? Math.abs(both) / Math.sqrt(own) : 0;
  };
  const longer = Math.log(leeway.factor);
  const bounds = [leeway.way, leeway.way, longer, longer];
  let best: readonly number[] = [0, 0, 0, 0];
  let most = likeness(best);
  const moves = bounds.flatMap((_, unknown) =>
    unknown < 2 || Number.isFinite(lengths[unknown - 2])
      ? [-1, 1].map((way) => ({ unknown, way }))
      : [],
  );
  for (let step = firstStep, halved = 0; halved <= halvings;) {
    const tried = moves.map(({ unknown, way }) => {
      const bound = bounds[unknown];
      const next = best.with(
        unknown,
        Math.min(bound, Math.max(-bound, best[unknown] + way * step * bound)),
      );
      return { next, likeness: likeness(next) };
    });
    const found = tried.reduce((a, b) => (b.likeness > a.likeness ? b : a));
    if (found.likeness > most * (1 + leastGain)) [best, most] = [found.next, found.likeness];
    else {
      step /= 2;
      halved += 1;
    }
  }
  return templateOf(best);
}
