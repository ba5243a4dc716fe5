import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import {
  cross,
  difference,
  dot,
  scaled,
  sum,
  unit,
  type Vector,
} from '../../src/geometry/vector.ts';
import {
  suspectOfLine,
  suspectOfPoint,
  type WobbleSuspect,
} from '../../src/measure/wobbleSuspect.ts';

/** What surface and scan have of the wobble. */
export const wobbleKinds = [
  /** The scan has it and the surface follows. */
  'followed',
  /** The scan has it and the surface follows it short. */
  'short',
  /** The surface alone: fitted to a shape that has it. */
  'model',
  /** The surface alone: one control point, or one line of them, displaced. */
  'jut',
  'line',
  /** The scan has the opposite. */
  'opposite',
  /** The scan has about half of it. */
  'shared',
  'none',
] as const;
export type WobbleKind = (typeof wobbleKinds)[number];

/** A panel and its scan with a wobble of which everything is known. */
export interface WobbleCase {
  readonly kind: WobbleKind;
  readonly net: ControlNet;
  readonly outward: 1 | -1;
  readonly scan: Mesh;
  readonly suspect: WobbleSuspect;
  /** The scan's wobble over the surface's, both without noise; null where neither has one. */
  readonly share: number | null;
  /** Height of the surface's wobble at its top, mm. */
  readonly peak: number;
  /** Full wavelength, the mean of both directions, mm. */
  readonly wavelength: number;
  readonly noise: number;
  /** Of the noise, in triangles; 0: white. */
  readonly correlation: number;
  readonly triangle: number;
  readonly misfit: number;
  readonly radius: number;
  readonly size: number;
  readonly hasHole: boolean;
  /** The window reaches beyond the panel or the scan. */
  readonly isCut: boolean;
  /** The design has a feature about as small as the wobble. */
  readonly hasFeature: boolean;
}

/** A scalar field over the panel's own plane coordinates, mm. */
type Field = (x: number, y: number) => number;

/** Even in the logarithm. */
const logBetween = (random: SeededRandom, low: number, high: number): number =>
  low * (high / low) ** random.uniform();

const sign = (random: SeededRandom): 1 | -1 => (random.uniform() < 0.5 ? 1 : -1);

/** A bump of height 1, of full wavelengths along axes turned by an angle: three profiles. */
function bump(
  random: SeededRandom,
  at: readonly [number, number],
  lengths: readonly [number, number],
  angle: number,
): Field {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const profile = random.uniform();
  return (x, y) => {
    const [dx, dy] = [x - at[0], y - at[1]];
    const a = (c * dx + s * dy) / lengths[0];
    const b = (c * dy - s * dx) / lengths[1];
    const r = Math.hypot(a, b);
    if (profile < 0.5) return Math.exp(-0.5 * 4.5 ** 2 * r * r);
    if (profile < 0.8) return r < 0.5 ? (1 + Math.cos(2 * Math.PI * r)) / 2 : 0;
    // a bump with a shallow ditch around it
    return Math.exp(-0.5 * 3.6 ** 2 * r * r) * Math.cos(Math.PI * 1.1 * Math.min(r, 1.5));
  };
}

/** A sum of long waves of the given largest height, none shorter than `least`. */
function waves(random: SeededRandom, height: number, least: number, count = 4): Field {
  const all = Array.from({ length: count }, () => {
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
    (height / whole) *
    all.reduce(
      (total, { kx, ky, phase, size }) => total + size * Math.sin(kx * x + ky * y + phase),
      0,
    );
}

/** The design: bent by R1 along x and R2 along y, with a slow swell and perhaps a small feature. */
function designOf(random: SeededRandom, radii: readonly [number, number], more: Field) {
  const swell = waves(random, random.between(0, 6), 900);
  const bend = (t: number, radius: number): readonly [number, number] => [
    radius * Math.sin(t / radius),
    radius * (Math.cos(t / radius) - 1),
  ];
  const point = (x: number, y: number): Vector => {
    const [px, zx] = bend(x, radii[0]);
    const [py, zy] = bend(y, radii[1]);
    return [px, py, zx + zy + swell(x, y) + more(x, y)];
  };
  const normal = (x: number, y: number): Vector => {
    const h = 0.05;
    const along = difference(point(x + h, y), point(x - h, y));
    const across = difference(point(x, y + h), point(x, y - h));
    return unit(cross(along, across))!;
  };
  return {
    point,
    /** The design moved along its normal. */
    moved: (x: number, y: number, by: number): Vector => sum(point(x, y), scaled(normal(x, y), by)),
    normal,
  };
}

/** A turn of space, as three rows, and a shift. */
function placing(random: SeededRandom): (p: Vector) => Vector {
  const direction = (): Vector => unit([random.normal(), random.normal(), random.normal()])!;
  const a = direction();
  const b = unit(cross(a, direction()))!;
  const c = cross(a, b);
  const shift: Vector = [
    random.between(-900, 900),
    random.between(-900, 900),
    random.between(-900, 900),
  ];
  return (p) => sum([dot(a, p), dot(b, p), dot(c, p)], shift);
}

/** Noise over a grid: white, or smoothed over so many triangles, of standard deviation 1. */
function noiseGrid(
  random: SeededRandom,
  columns: number,
  rows: number,
  correlation: number,
): Float64Array {
  const white = Float64Array.from({ length: columns * rows }, () => random.normal());
  if (correlation === 0) return white;
  const reach = Math.ceil(2.5 * correlation);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, k) =>
    Math.exp(-0.5 * ((k - reach) / (correlation / 1.5)) ** 2),
  );
  const size = Math.sqrt(kernel.reduce((total, k) => total + k * k, 0));
  const smooth = (from: Float64Array, stepI: number, stepJ: number): Float64Array => {
    const to = new Float64Array(from.length);
    for (let j = 0; j < rows; j++)
      for (let i = 0; i < columns; i++) {
        let total = 0;
        for (let k = -reach; k <= reach; k++) {
          const a = (i + stepI * k + columns) % columns;
          const b = (j + stepJ * k + rows) % rows;
          total +=
            kernel[k + reach] * from[((b + rows) % rows) * columns + ((a + columns) % columns)];
        }
        to[j * columns + i] = total / size;
      }
    return to;
  };
  return smooth(smooth(white, 1, 0), 0, 1);
}

/** What a generated case may not leave: the ranges asked of the measure. */
export const ranges = {
  peak: [0.05, 2],
  wavelength: [50, 500],
  noise: [0.01, 0.2],
  triangle: [1, 10],
  misfit: 0.9,
} as const;

interface Hole {
  readonly at: readonly [number, number];
  readonly radius: number;
}

/** The triangles of a jittered grid over a rectangle of the panel's plane, without those in holes. */
function gridMesh(
  random: SeededRandom,
  box: readonly [readonly [number, number], readonly [number, number]],
  triangle: number,
  holes: readonly Hole[],
  place: (x: number, y: number, i: number, j: number) => Vector,
): Mesh {
  // triangles of a square's halves have edges 1, 1 and root 2
  const step = triangle / 1.1;
  const [columns, rows] = box.map(([low, high]) => Math.max(2, Math.ceil((high - low) / step) + 1));
  const vertices = new Float64Array(3 * columns * rows);
  const isIn = new Uint8Array(columns * rows);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const x =
        box[0][0] +
        ((box[0][1] - box[0][0]) * i) / (columns - 1) +
        random.between(-0.25, 0.25) * step;
      const y =
        box[1][0] + ((box[1][1] - box[1][0]) * j) / (rows - 1) + random.between(-0.25, 0.25) * step;
      vertices.set(place(x, y, i, j), 3 * (j * columns + i));
      isIn[j * columns + i] = holes.some(
        ({ at, radius }) => Math.hypot(x - at[0], y - at[1]) < radius,
      )
        ? 0
        : 1;
    }
  const triangles: number[] = [];
  const add = (...corners: readonly number[]): void => {
    if (corners.every((k) => isIn[k] === 1)) triangles.push(...corners);
  };
  for (let j = 0; j + 1 < rows; j++)
    for (let i = 0; i + 1 < columns; i++) {
      const k = j * columns + i;
      add(k, k + 1, k + columns + 1);
      add(k, k + columns + 1, k + columns);
    }
  return { vertices, triangles: Uint32Array.from(triangles) };
}

/** The generated case of a kind. */
export function wobbleCase(random: SeededRandom, kind: WobbleKind): WobbleCase {
  const size = [600, 600, 600, 350, 1000][random.index(5)];
  const peak = logBetween(random, ...ranges.peak);
  const wavelength = logBetween(
    random,
    ranges.wavelength[0],
    Math.min(ranges.wavelength[1], 0.85 * size),
  );
  const stretch = random.uniform() < 0.5 ? 1 : logBetween(random, 1, 1.6);
  const lengths = [wavelength * stretch, wavelength / stretch] as const;
  const noise = logBetween(random, ...ranges.noise);
  const correlation = random.uniform() < 0.5 ? 0 : random.between(1.5, 8);
  const triangle = logBetween(
    random,
    ranges.triangle[0],
    Math.min(ranges.triangle[1], wavelength / 6),
  );
  const misfit = random.uniform() < 0.2 ? 0 : random.between(0, ranges.misfit);
  const radius = random.uniform() < 0.3 ? 50_000 : logBetween(random, 450, 8000);
  const radii = [
    radius,
    random.uniform() < 0.5 ? 50_000 : logBetween(random, radius, 12_000),
  ] as const;
  const hasFeature = random.uniform() < 0.08;
  const isAtEdge = random.uniform() < 0.12;
  const hasHole = random.uniform() < 0.2;

  // the middle of the wobble: so that most of the window is on the panel, or near an edge
  const half = size / 2;
  const free = Math.max(0, half - 1.5 * wavelength);
  let at: readonly [number, number] = [random.between(-free, free), random.between(-free, free)];
  if (isAtEdge) at = [half - random.between(0.3, 1) * Math.min(wavelength, half), at[1]];

  const angle = random.between(0, Math.PI);
  const feature = hasFeature
    ? ((): Field => {
        const far = random.between(0.6, 1.2) * wavelength;
        const turn = random.between(0, 2 * Math.PI);
        const width = random.between(0.9, 1.8) * wavelength;
        const own = bump(
          random,
          [at[0] + far * Math.cos(turn), at[1] + far * Math.sin(turn)],
          [width, width * random.between(1, 3)],
          random.between(0, Math.PI),
        );
        const tall = sign(random) * peak * logBetween(random, 1, 5);
        return (x, y) => tall * own(x, y);
      })()
    : () => 0;
  const design = designOf(random, radii, feature);
  const turned = placing(random);

  // a net that can show the wobble: a control point spacing of a third to a sixth of its wavelength
  const degree = 3 + random.index(3);
  const isByPoints = kind === 'jut' || kind === 'line';
  const shortest = Math.min(...lengths);
  const spans = Math.max(
    1,
    Math.min(
      40,
      Math.round(
        size /
          (isByPoints
            ? (shortest / 4.5) * Math.sqrt(12 / (degree + 1))
            : shortest * random.between(0.16, 0.4)),
      ),
    ),
  );
  const knots = [clampedKnots(degree, spans), clampedKnots(degree, spans)] as const;
  const samples = Math.max(41, 2 * (spans + degree) + 9);
  const inPlane = (u: number, v: number): readonly [number, number] => [
    size * (u - 0.5),
    size * (v - 0.5),
  ];
  const fitted = (field: Field): ControlNet =>
    fittedNet(
      [degree, degree],
      knots,
      (u, v) => {
        const [x, y] = inPlane(u, v);
        return turned(design.moved(x, y, field(x, y)));
      },
      samples,
    );

  const heightSign = sign(random);
  const own = bump(random, at, lengths, angle);
  const wave: Field = (x, y) => heightSign * peak * own(x, y);
  const off = waves(random, misfit, Math.max(350, 2.2 * wavelength));
  const still = fitted(off);
  let net = still;
  let scanWave: Field = () => 0;
  let suspect: WobbleSuspect | null = null;
  if (kind === 'jut' || kind === 'line') {
    const columns = still.columns;
    const near = (value: number): number =>
      Math.min(columns - 3, Math.max(2, Math.round((value / size + 0.5) * (columns - 1))));
    const spot = { row: near(at[1]), column: near(at[0]) };
    const first =
      kind === 'jut'
        ? suspectOfPoint(still, spot.row, spot.column)
        : suspectOfLine(still, 'row', spot.row, at[0] / size + 0.5);
    const [u, v] = first.at!;
    const normal = turned(design.normal(...inPlane(u, v)));
    const origin = turned([0, 0, 0]);
    const by = scaled(difference(normal, origin), heightSign);
    const spots =
      kind === 'jut'
        ? [spot]
        : Array.from({ length: columns }, (_, column) => ({ row: spot.row, column }));
    const trial = withMoves(
      still,
      spots.map((one) => ({ spot: one, by })),
    );
    const rise = Math.abs(
      dot(difference(surfacePoint(trial, u, v), surfacePoint(still, u, v)), by),
    );
    net = withMoves(
      still,
      spots.map((one) => ({ spot: one, by: scaled(by, peak / rise) })),
    );
    at = inPlane(u, v);
    suspect =
      kind === 'jut'
        ? suspectOfPoint(net, spot.row, spot.column)
        : suspectOfLine(net, 'row', spot.row, u);
  } else {
    const parts: Readonly<Record<Exclude<WobbleKind, 'jut' | 'line'>, readonly [number, number]>> =
      {
        followed: [1, 1],
        short: [random.between(0.45, 0.85), 1],
        model: [1, 0],
        opposite: [1, -random.between(0.3, 1)],
        shared: [1, random.between(0.4, 0.6)],
        none: [0, 0],
      };
    const [inSurface, inScan] = parts[kind];
    net = inSurface === 0 ? still : fitted((x, y) => off(x, y) + inSurface * wave(x, y));
    scanWave = (x, y) => inScan * wave(x, y);
  }

  // the scan around the wobble
  const reach = 2.1 * Math.max(...lengths);
  const overhang = random.uniform() < 0.5 ? 20 : -random.between(0, 0.05) * size;
  const box = ([0, 1] as const).map((k): readonly [number, number] => [
    Math.max(-half - overhang, at[k] - reach),
    Math.min(half + overhang, at[k] + reach),
  ]) as unknown as readonly [readonly [number, number], readonly [number, number]];
  const holes: Hole[] = hasHole
    ? [
        {
          at: [
            at[0] + random.between(-0.6, 0.6) * wavelength,
            at[1] + random.between(-0.6, 0.6) * wavelength,
          ],
          radius: random.between(0.05, 0.35) * wavelength,
        },
      ]
    : [];
  const step = triangle / 1.1;
  const across = box.map(([low, high]) => Math.max(2, Math.ceil((high - low) / step) + 1));
  const smooth = noiseGrid(random, across[0], across[1], correlation);
  const outlierShare = random.uniform() < 0.3 ? 0.01 : 0;
  const whiteShare = correlation > 0 ? random.between(0.2, 0.8) : 0;
  const scan = gridMesh(random, box, triangle, holes, (x, y, i, j) => {
    const correlated = smooth[j * across[0] + i];
    let error =
      noise * (Math.sqrt(1 - whiteShare) * correlated + Math.sqrt(whiteShare) * random.normal());
    if (random.uniform() < outlierShare) error += sign(random) * random.between(0.5, 3);
    return turned(design.moved(x, y, scanWave(x, y) + error));
  });

  // what surface and scan have of it, without noise
  const ground = Array.from({ length: 21 }, (_, j) =>
    Array.from({ length: 21 }, (_c, i) => {
      const [x, y] = [
        at[0] + (i / 10 - 1) * 0.5 * lengths[0],
        at[1] + (j / 10 - 1) * 0.5 * lengths[1],
      ];
      const [u, v] = [x / size + 0.5, y / size + 0.5];
      if (u < 0 || u > 1 || v < 0 || v > 1) return { inSurface: 0, inScan: 0 };
      const by = difference(surfacePoint(net, u, v), surfacePoint(still, u, v));
      const origin = turned([0, 0, 0]);
      const normal = difference(turned(design.normal(x, y)), origin);
      return { inSurface: dot(by, normal), inScan: scanWave(x, y) };
    }),
  ).flat();
  const surfaceSize = ground.reduce((total, { inSurface }) => total + inSurface * inSurface, 0);
  const both = ground.reduce((total, { inSurface, inScan }) => total + inSurface * inScan, 0);
  const top = ground.reduce((most, { inSurface }) => Math.max(most, Math.abs(inSurface)), 0);

  // the place and size as a finding would have them
  const guess = (): number => random.between(-0.12, 0.12);
  const scale = (): number => random.between(0.75, 1.25);
  const frame = (x: number, y: number): Vector => turned(design.point(x, y));
  const direction = (turn: number): Vector =>
    difference(frame(at[0] + Math.cos(turn), at[1] + Math.sin(turn)), frame(at[0], at[1]));
  const known = suspect ?? { along: direction(angle), lengths };
  const along = unit(known.along)!;
  const side = unit(cross(difference(turned(design.normal(...at)), turned([0, 0, 0])), along))!;
  const wide = known.lengths.map((length) => (Number.isFinite(length) ? length : known.lengths[0]));
  const aimed: WobbleSuspect = {
    position: sum(
      suspect?.position ?? frame(at[0], at[1]),
      sum(scaled(along, guess() * wide[0]), scaled(side, guess() * wide[1])),
    ),
    at: null,
    along,
    lengths: [known.lengths[0] * scale(), known.lengths[1] * scale()],
  };
  const farthest = 1.7 * Math.max(...wide);
  return {
    kind,
    net,
    outward: 1,
    scan,
    suspect: aimed,
    share: surfaceSize > 0 ? both / surfaceSize : null,
    peak: top,
    wavelength: Math.sqrt(wide[0] * wide[1]),
    noise,
    correlation,
    triangle,
    misfit,
    radius,
    size,
    hasHole,
    isCut: ([0, 1] as const).some(
      (k) => at[k] - farthest < box[k][0] || at[k] + farthest > box[k][1],
    ),
    hasFeature,
  };
}
