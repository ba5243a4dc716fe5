import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import type { Vector } from '../../src/geometry/vector.ts';

/** A part of a plane: lowest and highest x, then y, mm. */
export type Rectangle = readonly [readonly [number, number], readonly [number, number]];

export interface Disc {
  readonly at: readonly [number, number];
  readonly radius: number;
}

/** Noise at the points of a grid, of standard deviation 1, row by row. */
export interface GridNoise {
  /** Triangles over which its correlation falls to a half; 0: white. */
  readonly correlation: number;
  /** Share of its variance that is white. */
  readonly white: number;
}

/** Median edge of a square's two halves over the square's side, with corners a quarter of it astray. */
const edgePerStep = 1.1;
const astray = 0.25;
/** A Gaussian kernel of deviation s leaves half of the correlation at 2 s root(ln 2). */
const kernelShare = 2 * Math.sqrt(Math.LN2);

function smoothed(
  from: Float64Array,
  columns: number,
  rows: number,
  kernel: readonly number[],
  along: 'row' | 'column',
): Float64Array {
  const reach = (kernel.length - 1) / 2;
  const [stepI, stepJ] = along === 'row' ? [1, 0] : [0, 1];
  const wrapped = (k: number, count: number): number => ((k % count) + count) % count;
  const to = new Float64Array(from.length);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      for (let k = -reach; k <= reach; k++)
        to[j * columns + i] +=
          kernel[k + reach] *
          from[wrapped(j + stepJ * k, rows) * columns + wrapped(i + stepI * k, columns)];
  return to;
}

function gridNoise(
  random: SeededRandom,
  columns: number,
  rows: number,
  { correlation, white }: GridNoise,
): Float64Array {
  const draw = (): Float64Array =>
    Float64Array.from({ length: columns * rows }, () => random.normal());
  const own = draw();
  if (correlation === 0) return own;
  const reach = Math.ceil(2.5 * correlation);
  const bell = Array.from({ length: 2 * reach + 1 }, (_, k) =>
    Math.exp(-0.5 * ((kernelShare * (k - reach)) / correlation) ** 2),
  );
  const size = Math.sqrt(bell.reduce((total, k) => total + k * k, 0));
  const kernel = bell.map((k) => k / size);
  const alike = smoothed(
    smoothed(draw(), columns, rows, kernel, 'row'),
    columns,
    rows,
    kernel,
    'column',
  );
  return alike.map((value, k) => Math.sqrt(1 - white) * value + Math.sqrt(white) * own[k]);
}

/**
 * A scan over a rectangle: a grid whose points lie a little astray, cut into triangles whose median edge
 * is `triangle` mm, without those in `holes`. `place` makes a point of space of x, y and the noise there.
 */
export function scanGrid(
  random: SeededRandom,
  rectangle: Rectangle,
  triangle: number,
  noise: GridNoise,
  holes: readonly Disc[],
  place: (x: number, y: number, noise: number) => Vector,
): Mesh {
  const [columns, rows] = rectangle.map(([low, high]) =>
    Math.max(2, Math.ceil(((high - low) / triangle) * edgePerStep) + 1),
  );
  const drawn = gridNoise(random, columns, rows, noise);
  const vertices = new Float64Array(3 * columns * rows);
  const isThere = new Uint8Array(columns * rows);
  const along = (side: 0 | 1, k: number, count: number): number => {
    const [low, high] = rectangle[side];
    return low + ((high - low) * (k + random.between(-astray, astray))) / (count - 1);
  };
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const k = j * columns + i;
      const [x, y] = [along(0, i, columns), along(1, j, rows)];
      vertices.set(place(x, y, drawn[k]), 3 * k);
      const isIn = holes.some(({ at, radius }) => Math.hypot(x - at[0], y - at[1]) < radius);
      isThere[k] = isIn ? 0 : 1;
    }
  const triangles: number[] = [];
  for (let j = 0; j + 1 < rows; j++)
    for (let i = 0; i + 1 < columns; i++) {
      const k = j * columns + i;
      for (const corners of [
        [k, k + 1, k + columns + 1],
        [k, k + columns + 1, k + columns],
      ])
        if (corners.every((corner) => isThere[corner] === 1)) triangles.push(...corners);
    }
  return { vertices, triangles: Uint32Array.from(triangles) };
}
