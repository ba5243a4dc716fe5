import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import type { WobbleSuspect } from '../../src/measure/wobbleSuspect.ts';
import type { Field } from '../wobble/fields.ts';
import { scanGrid, type Disc, type Rectangle } from '../wobble/scanGrid.ts';

/** A round Gaussian bump of a full wavelength, mm. */
export const bump =
  (cx: number, cy: number, wave: number, height: number): Field =>
  (x, y) =>
    height * Math.exp((-0.5 * 4.5 ** 2 * ((x - cx) ** 2 + (y - cy) ** 2)) / wave ** 2);

/** Height of a panel of 600 by 500 mm, bent like a hood. */
const design: Field = (x, y) => -(x * x) / 5000 - (y * y) / 3200 - (x / 300) ** 3 * 3;

/** The panel with a field added to its height; u runs along x, v along y. */
export const wobblyPanel = (field: Field): ControlNet =>
  fittedNet(
    [4, 4],
    [clampedKnots(4, 16), clampedKnots(4, 14)],
    (u, v) => {
      const [x, y] = [600 * (u - 0.5), 500 * (v - 0.5)];
      return [x, y, design(x, y) + field(x, y)];
    },
    81,
  );

/** A scan of it in triangles of 7 mm, seen from above. */
export function wobblyScan(
  field: Field,
  noise = 0.01,
  holes: readonly Disc[] = [],
  rectangle: Rectangle = [
    [-307, 307],
    [-254, 254],
  ],
): Mesh {
  const white = { correlation: 0, white: 1 };
  return scanGrid(seededRandom(5), rectangle, 7, white, holes, (x, y, drawn) => [
    x,
    y,
    design(x, y) + field(x, y) + noise * drawn,
  ]);
}

/** A suspect as something would have it that does not know its place well. */
export const suspectAt = (x: number, y: number, wave: number): WobbleSuspect => ({
  position: [x, y, design(x, y)],
  at: null,
  along: [1, 0, 0],
  lengths: [wave, wave],
});
