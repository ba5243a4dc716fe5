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
import { windowLengths } from '../../src/measure/templateFit.ts';
import { wideWindow } from '../../src/measure/wobbleShare.ts';
import {
  suspectOfLine,
  suspectOfPoint,
  type WobbleSuspect,
} from '../../src/measure/wobbleSuspect.ts';
import { bumpField, eitherSign, logBetween, noField, wavesField, type Field } from './fields.ts';
import { scanGrid, type Rectangle } from './scanGrid.ts';
import { wobbleDesign, type WobbleDesign } from './wobbleDesign.ts';

/** What surface and scan have of the wobble. */
export const wobbleKinds = [
  /** The scan has it and the surface follows. */
  'followed',
  /** The scan has it and the surface follows it short. */
  'short',
  /** Both have it, the surface of its own. */
  'both',
  /** The surface alone: fitted to a shape that has it. */
  'model',
  /** The surface alone: one control point displaced. */
  'jut',
  /** The surface alone: a row or a column displaced. */
  'line',
  /** The scan has the opposite. */
  'opposite',
  /** The scan has about half of it. */
  'shared',
  'none',
] as const;
export type WobbleKind = (typeof wobbleKinds)[number];

/** What a case was made with; lengths mm. */
export interface WobbleFacts {
  readonly kind: WobbleKind;
  /** The scan's wobble over the surface's, both without noise; null where neither has one. */
  readonly share: number | null;
  /** Height of the surface's wobble. */
  readonly peak: number;
  /** Full wavelength, the mean of both directions. */
  readonly wavelength: number;
  readonly noise: number;
  /** Triangles over which the noise's correlation falls to a half; 0: white. */
  readonly correlation: number;
  readonly triangle: number;
  readonly misfit: number;
  /** The smallest radius that the panel is bent to. */
  readonly radius: number;
  readonly size: number;
  readonly hasHole: boolean;
  /** The window reaches beyond the panel or the scan. */
  readonly isCut: boolean;
  /** The design has a feature about as small as the wobble. */
  readonly hasFeature: boolean;
}

/** A panel and its scan with a wobble of which everything is known. */
export interface WobbleCase {
  readonly facts: WobbleFacts;
  readonly net: ControlNet;
  readonly scan: Mesh;
  /** As a finding would give it: 12 % of the wavelength astray, and 25 % too long or short, at most. */
  readonly suspect: WobbleSuspect;
}

const ranges = {
  size: [600, 600, 600, 350, 1000],
  peak: [0.05, 2],
  wavelength: [50, 500],
  noise: [0.01, 0.2],
  triangle: [1, 10],
  misfit: 0.9,
  /** Larger ones are flat. */
  radius: [450, 8000],
} as const;
const flatRadius = 50_000;
const placeError = 0.12;
const lengthError = 0.25;
/** Noise that is alike over a larger share of the wavelength is no noise but a wobble of the scan. */
const noiseShare = 0.2;

/** The panel in its own plane coordinates, and a fit to it. */
interface Ground {
  readonly design: WobbleDesign;
  readonly size: number;
  /** The fitted surface of the design moved by a field. */
  readonly fitted: (off: Field) => ControlNet;
}

/** A wobble in a surface, in the panel's plane coordinates. */
interface Wobble {
  readonly net: ControlNet;
  readonly inScan: Field;
  readonly at: readonly [number, number];
  /** Where a finding without errors would have it. */
  readonly suspect: WobbleSuspect;
}

const onPanel = (size: number, [u, v]: readonly [number, number]): readonly [number, number] => [
  size * (u - 0.5),
  size * (v - 0.5),
];

function fittedWobble(
  random: SeededRandom,
  { design, fitted }: Ground,
  kind: Exclude<WobbleKind, 'jut' | 'line'>,
  misfit: Field,
  peak: number,
  shape: Parameters<typeof bumpField>[1],
): Wobble {
  const bump = bumpField(random, shape);
  const height = eitherSign(random) * peak;
  const parts = {
    followed: [1, 1],
    short: [random.between(0.45, 0.85), 1],
    both: [random.between(0.85, 1.15), 1],
    model: [1, 0],
    opposite: [1, -random.between(0.3, 1)],
    shared: [1, random.between(0.4, 0.6)],
    none: [0, 0],
  };
  const [inSurface, inScan] = parts[kind];
  const { at, angle, lengths } = shape;
  const top = design.point(...at, 0);
  const ahead = design.point(at[0] + Math.cos(angle), at[1] + Math.sin(angle), 0);
  return {
    net: fitted((x, y) => misfit(x, y) + inSurface * height * bump(x, y)),
    inScan: (x, y) => inScan * height * bump(x, y),
    at,
    suspect: { position: top, at: null, along: difference(ahead, top), lengths },
  };
}

/** A control point, or all of a line of them, moved so that the surface rises by `peak`. */
function displacedWobble(
  random: SeededRandom,
  { design, size }: Ground,
  kind: 'jut' | 'line',
  still: ControlNet,
  peak: number,
  wanted: readonly [number, number],
): Wobble {
  const near = (value: number, count: number): number =>
    Math.min(count - 3, Math.max(2, Math.round((value / size + 0.5) * (count - 1))));
  const [row, column] = [near(wanted[1], still.rows), near(wanted[0], still.columns)];
  const along = random.uniform() < 0.5 ? 'row' : 'column';
  const share = Math.min(0.8, Math.max(0.2, wanted[along === 'row' ? 0 : 1] / size + 0.5));
  const index = along === 'row' ? row : column;
  const suspectOf = (net: ControlNet): WobbleSuspect =>
    kind === 'jut' ? suspectOfPoint(net, row, column) : suspectOfLine(net, along, index, share);
  const lineSpots =
    along === 'row'
      ? Array.from({ length: still.columns }, (_, k) => ({ row, column: k }))
      : Array.from({ length: still.rows }, (_, k) => ({ row: k, column }));
  const spots = kind === 'jut' ? [{ row, column }] : lineSpots;
  const [u, v] = suspectOf(still).at!;
  const at = onPanel(size, [u, v]);
  const way = scaled(design.normal(...at), eitherSign(random));
  const moved = (by: number): ControlNet =>
    withMoves(
      still,
      spots.map((spot) => ({ spot, by: scaled(way, by) })),
    );
  const rise = dot(difference(surfacePoint(moved(1), u, v), surfacePoint(still, u, v)), way);
  const net = moved(peak / rise);
  return { net, inScan: noField, at, suspect: suspectOf(net) };
}

/** The scan's wobble over the surface's by least squares on a grid about the top, and the surface's height there. */
function trueShare({ design, size }: Ground, still: ControlNet, wobble: Wobble) {
  const wide = windowLengths(wobble.suspect.lengths);
  let [own, both, peak] = [0, 0, 0];
  for (let k = 0; k < 441; k++) {
    const [x, y] = [
      wobble.at[0] + ((k % 21) / 20 - 0.5) * wide[0],
      wobble.at[1] + (Math.floor(k / 21) / 20 - 0.5) * wide[1],
    ];
    const [u, v] = [x / size + 0.5, y / size + 0.5];
    if (Math.min(u, v) < 0 || Math.max(u, v) > 1) continue;
    const by = difference(surfacePoint(wobble.net, u, v), surfacePoint(still, u, v));
    const inSurface = dot(by, design.normal(x, y));
    own += inSurface * inSurface;
    both += inSurface * wobble.inScan(x, y);
    peak = Math.max(peak, Math.abs(inSurface));
  }
  return { share: own > 0 ? both / own : null, peak };
}

/** What a finding gives: place and lengths with errors. */
function aimed(random: SeededRandom, { suspect }: Wobble, normal: Vector): WobbleSuspect {
  const along = unit(suspect.along)!;
  const across = unit(cross(normal, along))!;
  const wide = windowLengths(suspect.lengths);
  const astray = ([along, across] as const).map((axis, k) =>
    scaled(axis, random.between(-placeError, placeError) * wide[k]),
  );
  const longer = (): number => 1 + random.between(-lengthError, lengthError);
  return {
    position: sum(suspect.position, sum(astray[0], astray[1])),
    at: null,
    along,
    lengths: [suspect.lengths[0] * longer(), suspect.lengths[1] * longer()],
  };
}

/** A generated case; `finest`: the smallest triangles, mm, which make the largest scans. */
export function wobbleCase(random: SeededRandom, kind: WobbleKind, finest: number): WobbleCase {
  const size = ranges.size[random.index(ranges.size.length)];
  const half = size / 2;
  const height = logBetween(random, ...ranges.peak);
  const wavelength = logBetween(
    random,
    ranges.wavelength[0],
    Math.min(ranges.wavelength[1], 0.85 * size),
  );
  const stretch = random.uniform() < 0.5 ? 1 : logBetween(random, 1, 1.6);
  const lengths = [wavelength * stretch, wavelength / stretch] as const;
  const noise = logBetween(random, ...ranges.noise);
  const triangle = logBetween(
    random,
    Math.max(finest, ranges.triangle[0]),
    Math.max(finest, Math.min(ranges.triangle[1], wavelength / 6)),
  );
  const alike = random.between(1.5, 8);
  const mostAlike = (noiseShare * wavelength) / triangle;
  const correlation = random.uniform() < 0.5 ? 0 : Math.min(alike, mostAlike);
  const misfit = random.uniform() < 0.2 ? 0 : random.between(0, ranges.misfit);
  const radius = random.uniform() < 0.3 ? flatRadius : logBetween(random, ...ranges.radius);
  const other = random.uniform() < 0.5 ? flatRadius : logBetween(random, radius, flatRadius);

  const free = Math.max(0, half - 1.5 * wavelength);
  const within = (): number => random.between(-free, free);
  const isAtEdge = random.uniform() < 0.12;
  const edgeWay = random.between(0.3, 1) * Math.min(wavelength, half);
  const wanted = [isAtEdge ? half - edgeWay : within(), within()] as const;
  const angle = random.between(0, Math.PI);

  const hasFeature = random.uniform() < 0.08;
  const beside = random.between(0.6, 1.2) * wavelength;
  const toward = random.between(0, 2 * Math.PI);
  const featureWidth = random.between(0.9, 1.8) * wavelength;
  const featureBump = bumpField(random, {
    at: [wanted[0] + beside * Math.cos(toward), wanted[1] + beside * Math.sin(toward)],
    lengths: [featureWidth, featureWidth * random.between(1, 3)],
    angle: random.between(0, Math.PI),
  });
  const featureHeight = eitherSign(random) * height * logBetween(random, 1, 5);
  const feature: Field = hasFeature ? (x, y) => featureHeight * featureBump(x, y) : noField;
  const design = wobbleDesign(random, [radius, other], feature);

  // so many spans that the surface can show the wobble, or that a control point makes one so wide
  const degree = 3 + random.index(3);
  const isDisplaced = kind === 'jut' || kind === 'line';
  const gap = isDisplaced
    ? (lengths[1] / 4.5) * Math.sqrt(12 / (degree + 1))
    : lengths[1] * random.between(0.16, 0.4);
  const spans = Math.min(40, Math.max(1, Math.round(size / gap)));
  const knots = [clampedKnots(degree, spans), clampedKnots(degree, spans)] as const;
  const ground: Ground = {
    design,
    size,
    fitted: (off) =>
      fittedNet(
        [degree, degree],
        knots,
        (u, v) => {
          const [x, y] = onPanel(size, [u, v]);
          return design.point(x, y, off(x, y));
        },
        Math.max(41, 2 * (spans + degree) + 9),
      ),
  };
  const off = wavesField(random, misfit, Math.max(350, 2.2 * wavelength));
  const still = ground.fitted(off);
  const wobble = isDisplaced
    ? displacedWobble(random, ground, kind, still, height, wanted)
    : fittedWobble(random, ground, kind, off, height, { at: wanted, lengths, angle });
  const { at } = wobble;
  const wide = windowLengths(wobble.suspect.lengths);

  const reach = 2.1 * Math.max(...wide);
  const overhang = random.uniform() < 0.5 ? 20 : -random.between(0, 0.05) * size;
  const side = (k: 0 | 1): readonly [number, number] => [
    Math.max(-half - overhang, at[k] - reach),
    Math.min(half + overhang, at[k] + reach),
  ];
  const rectangle: Rectangle = [side(0), side(1)];
  const hasHole = random.uniform() < 0.2;
  const holeWay = (): number => random.between(-0.6, 0.6) * wavelength;
  const hole = {
    at: [at[0] + holeWay(), at[1] + holeWay()] as const,
    radius: random.between(0.05, 0.35) * wavelength,
  };
  const strays = random.uniform() < 0.3 ? 0.01 : 0;
  const scan = scanGrid(
    random,
    rectangle,
    triangle,
    { correlation, white: random.between(0.2, 0.8) },
    hasHole ? [hole] : [],
    (x, y, drawn) => {
      const stray = random.uniform() < strays ? eitherSign(random) * random.between(0.5, 3) : 0;
      return design.point(x, y, wobble.inScan(x, y) + noise * drawn + stray);
    },
  );
  const farthest = wideWindow.reach * Math.max(...wide);
  const { share, peak } = trueShare(ground, still, wobble);
  return {
    facts: {
      kind,
      share,
      peak,
      wavelength: Math.sqrt(wide[0] * wide[1]),
      noise,
      correlation,
      triangle,
      misfit,
      radius,
      size,
      hasHole,
      isCut: rectangle.some(([low, high], k) => at[k] - farthest < low || at[k] + farthest > high),
      hasFeature,
    },
    net: wobble.net,
    scan,
    suspect: aimed(random, wobble, design.normal(...at)),
  };
}
