import type { SeededRandom } from '../../fixtures/seededRandom.ts';

/** Heights over a plane, mm over mm. */
export type Field = (x: number, y: number) => number;

export const noField: Field = () => 0;

/** Even in the logarithm. */
export const logBetween = (random: SeededRandom, low: number, high: number): number =>
  low * (high / low) ** random.uniform();

export const eitherSign = (random: SeededRandom): 1 | -1 => (random.uniform() < 0.5 ? 1 : -1);

/** Where a bump is, its full wavelengths along its axes, mm, and how those are turned, radians. */
export interface BumpShape {
  readonly at: readonly [number, number];
  readonly lengths: readonly [number, number];
  readonly angle: number;
}

/** Profiles of height 1 over the distance from the top in wavelengths. */
const profiles: readonly ((r: number) => number)[] = [
  (r) => Math.exp(-0.5 * 4.5 ** 2 * r * r),
  (r) => (r < 0.5 ? (1 + Math.cos(2 * Math.PI * r)) / 2 : 0),
  // with a shallow ditch around it
  (r) => Math.exp(-0.5 * 3.6 ** 2 * r * r) * Math.cos(1.1 * Math.PI * Math.min(r, 1.5)),
];

/** A bump of height 1: half are Gaussian, the others not. */
export function bumpField(random: SeededRandom, { at, lengths, angle }: BumpShape): Field {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const profile = profiles[[0, 0, 0, 1, 1, 2][random.index(6)]];
  return (x, y) => {
    const [dx, dy] = [x - at[0], y - at[1]];
    return profile(Math.hypot((c * dx + s * dy) / lengths[0], (c * dy - s * dx) / lengths[1]));
  };
}

/** A sum of waves none of which is shorter than `least` mm, nowhere higher than `height` mm. */
export function wavesField(random: SeededRandom, height: number, least: number): Field {
  const all = Array.from({ length: 4 }, () => {
    const turn = random.between(0, 2 * Math.PI);
    const k = (2 * Math.PI) / logBetween(random, least, 3 * least);
    return {
      kx: k * Math.cos(turn),
      ky: k * Math.sin(turn),
      phase: random.between(0, 2 * Math.PI),
      size: random.between(0.4, 1),
    };
  });
  const whole = all.reduce((total, { size }) => total + size, 0);
  return (x, y) =>
    all.reduce(
      (total, { kx, ky, phase, size }) =>
        total + (height / whole) * size * Math.sin(kx * x + ky * y + phase),
      0,
    );
}
