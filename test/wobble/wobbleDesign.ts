import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import {
  cross,
  difference,
  dot,
  scaled,
  sum,
  unit,
  type Vector,
} from '../../src/geometry/vector.ts';
import { wavesField, type Field } from './fields.ts';

/** A designed shape over its own plane coordinates x and y, mm along it, anywhere in space. */
export interface WobbleDesign {
  readonly normal: (x: number, y: number) => Vector;
  /** The point `off` mm outward of the design. */
  readonly point: (x: number, y: number, off: number) => Vector;
}

/** Waves of a panel's sweep are longer than this, mm, and so high at most. */
const leastSwell = 900;
const mostSwell = 6;
/** A step over which slopes are taken, mm. */
const slopeStep = 0.01;

/** A turn of space and a shift. */
function placing(random: SeededRandom) {
  const direction = (): Vector => unit([random.normal(), random.normal(), random.normal()])!;
  const a = direction();
  const b = unit(cross(a, direction()))!;
  const c = cross(a, b);
  const far = (): number => random.between(-900, 900);
  const shift: Vector = [far(), far(), far()];
  const turned = (p: Vector): Vector => [dot(a, p), dot(b, p), dot(c, p)];
  return { turned, placed: (p: Vector): Vector => sum(turned(p), shift) };
}

/** A panel bent to circles along x and along y (mm), with a slow swell, and what else is designed. */
export function wobbleDesign(
  random: SeededRandom,
  radii: readonly [number, number],
  feature: Field,
): WobbleDesign {
  const swell = wavesField(random, random.between(0, mostSwell), leastSwell);
  const { turned, placed } = placing(random);
  const own = (x: number, y: number): Vector => [
    radii[0] * Math.sin(x / radii[0]),
    radii[1] * Math.sin(y / radii[1]),
    radii[0] * (Math.cos(x / radii[0]) - 1) +
      radii[1] * (Math.cos(y / radii[1]) - 1) +
      swell(x, y) +
      feature(x, y),
  ];
  const ownNormal = (x: number, y: number, at: Vector): Vector =>
    unit(cross(difference(own(x + slopeStep, y), at), difference(own(x, y + slopeStep), at)))!;
  return {
    normal: (x, y) => turned(ownNormal(x, y, own(x, y))),
    point: (x, y, off) => {
      const at = own(x, y);
      return placed(sum(at, scaled(ownNormal(x, y, at), off)));
    },
  };
}
