import type { SeededRandom } from '../../fixtures/seededRandom.ts';

/** A curve in a plane for t in [0, 1]: way along its chord, about 0 to 1, and offset from it. */
export type PlaneCurve = (t: number) => readonly [along: number, offset: number];

/** Even in the logarithm: sizes that may differ by orders of magnitude. */
export const logBetween = (random: SeededRandom, low: number, high: number): number =>
  low * Math.pow(high / low, random.uniform());

export const chance = (random: SeededRandom, share: number): boolean => random.uniform() < share;

export const signOf = (random: SeededRandom): number => (chance(random, 0.5) ? 1 : -1);

export function oneOf<T>(random: SeededRandom, choices: readonly T[]): T {
  return choices[random.index(choices.length)];
}

/** Offset over an even way along the chord. */
const graph =
  (offset: (t: number) => number): PlaneCurve =>
  (t) => [t, offset(t)];

/** Parabola with its vertex on or beside the piece, rise 1 at half a chord from the vertex. */
function parabola(random: SeededRandom): PlaneCurve {
  const vertex = random.between(0.2, 0.8);
  return graph((t) => -4 * (t - vertex) ** 2);
}

/** Ellipse or superellipse |x|^n + |z|^n = 1 from x = `from` to `to`, both inside (-1, 1). */
function superellipse(random: SeededRandom, power: number): PlaneCurve {
  const to = random.between(0.3, 0.92);
  const from = chance(random, 0.4) ? -to : random.between(-0.9, 0.3) * to;
  const height = (x: number): number => Math.pow(1 - Math.pow(Math.abs(x), power), 1 / power);
  return graph((t) => height(from + (to - from) * t));
}

/** Circle through an angle of 0.1 to 1.8, by its angle, so that speed is even. */
function arc(random: SeededRandom): PlaneCurve {
  const angle = random.between(0.1, 1.8);
  const chord = 2 * Math.sin(angle / 2);
  return (t) => {
    const at = angle * (t - 0.5);
    return [0.5 + Math.sin(at) / chord, (Math.cos(at) - 1) / chord];
  };
}

/** Exponential: curvature gathers at one end. */
function exponential(random: SeededRandom): PlaneCurve {
  const rate = random.between(1, 5) * signOf(random);
  return graph((t) => Math.expm1(rate * t) / Math.expm1(rate));
}

/** One level blends into another. */
function logisticBlend(random: SeededRandom): PlaneCurve {
  const middle = random.between(0.2, 0.8);
  const width = random.between(0.06, 0.3);
  return graph((t) => 1 / (1 + Math.exp(-(t - middle) / width)));
}

/** Catenary, its lowest point on or near the piece. */
function catenary(random: SeededRandom): PlaneCurve {
  const rate = random.between(0.5, 4);
  const lowest = random.between(0, 1);
  const scale = Math.cosh(rate * Math.max(lowest, 1 - lowest)) - 1;
  return graph((t) => (Math.cosh(rate * (t - lowest)) - 1) / scale);
}

/**
 * Curve whose tangent angle is a parabola in arc length: curvature runs straight from one value to
 * another (Euler's spiral). Simpson's rule in 16 steps, far finer than what is learned.
 */
function clothoid(random: SeededRandom): PlaneCurve {
  const start = random.between(-0.8, 0.8);
  const [first, change] = [random.between(-1.2, 1.2), random.between(-2, 2)];
  const angle = (s: number): number => start + first * s + 0.5 * change * s * s;
  const end = spiralPoint(1, angle);
  const size = Math.hypot(end[0], end[1]);
  const [cos, sin] = [end[0] / size, end[1] / size];
  return (t) => {
    const [x, z] = spiralPoint(t, angle);
    return [(x * cos + z * sin) / size, (z * cos - x * sin) / size];
  };
}

function spiralPoint(t: number, angle: (s: number) => number): readonly [number, number] {
  let [x, z] = [0, 0];
  const steps = 16;
  for (let k = 0; k <= steps; k++) {
    const weight = k === 0 || k === steps ? 1 : k % 2 ? 4 : 2;
    const at = angle((t * k) / steps);
    x += weight * Math.cos(at);
    z += weight * Math.sin(at);
  }
  return [(x * t) / (3 * steps), (z * t) / (3 * steps)];
}

/**
 * Conic arc from (0, 0) to (1, 0), shoulder at (`lean`, `height`), as a rational quadratic Bezier
 * curve; weight below 1 an ellipse, above 1 a hyperbola. Source: Piegl & Tiller, The NURBS Book,
 * 7.3.
 */
export function conicPoint(
  t: number,
  lean: number,
  height: number,
  weight: number,
): readonly [number, number] {
  const [a, b, c] = [(1 - t) ** 2, 2 * t * (1 - t) * weight, t * t];
  const total = a + b + c;
  return [(b * lean + c) / total, (b * height) / total];
}

function conic(random: SeededRandom): PlaneCurve {
  const [lean, height] = [random.between(0.25, 0.75), random.between(0.1, 0.7)];
  const weight = logBetween(random, 0.4, 2.5);
  return (t) => conicPoint(t, lean, height, weight);
}

/** Two slopes with a soft bend between them, of 3 to 25 % of the chord. */
function softBend(random: SeededRandom): PlaneCurve {
  const [at, width] = [random.between(0.2, 0.8), logBetween(random, 0.03, 0.25)];
  return graph((t) => Math.sqrt((t - at) ** 2 + width ** 2));
}

/** Power of t or of its distance from the far end: flat, then ever steeper. */
function power(random: SeededRandom): PlaneCurve {
  const exponent = random.between(2, 5);
  const turned = chance(random, 0.5);
  return graph((t) => Math.pow(turned ? 1 - t : t, exponent));
}

const kinds: readonly ((random: SeededRandom) => PlaneCurve)[] = [
  parabola,
  (random) => superellipse(random, 2),
  (random) => superellipse(random, random.between(2.1, 3.5)),
  arc,
  exponential,
  logisticBlend,
  catenary,
  clothoid,
  conic,
  softBend,
  power,
];

/** A curve of any of the kinds. */
export const anyPlaneCurve = (random: SeededRandom): PlaneCurve => oneOf(random, kinds)(random);

/** One of the kinds that bend one way only: crowns. */
export const anyCrown = (random: SeededRandom): PlaneCurve =>
  oneOf(random, [parabola, (r: SeededRandom) => superellipse(r, 2), arc, conic])(random);

/** A map of [0, 1] onto itself, uneven by up to a factor `most` in speed between its ends. */
export function unevenSpeed(random: SeededRandom, most: number): (t: number) => number {
  const ratio = logBetween(random, 1 / most, most);
  const rate = Math.log(ratio);
  const kind = random.index(4);
  if (Math.abs(rate) < 1e-3) return (t) => t;
  if (kind === 0) return (t) => Math.expm1(rate * t) / Math.expm1(rate);
  // a linear speed, a fractional-linear map, and both ends against the middle
  if (kind === 1) return (t) => (2 * t + (ratio - 1) * t * t) / (1 + ratio);
  if (kind === 2) return (t) => t / (t + Math.sqrt(ratio) * (1 - t));
  const part = (ratio - 1) / (ratio + 1);
  return (t) => t + (part * Math.sin(2 * Math.PI * t)) / (2 * Math.PI);
}
