import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { section, type SectionPlace } from '../../fixtures/featureScan.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';

/** Radius of the calm surface along the section, mm. */
const calmRadius = 900;
/** mm of calm section before the feature. */
export const calmLength = 300;

export const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** A calm section that ends in a fillet of a radius (0: a crease) and a turn in degrees, and goes on straight. */
export const featureSection = (radius: number, turn: number): ((s: number) => SectionPlace) =>
  section(
    [
      { length: calmLength, bend: 1 / calmRadius },
      radius > 0
        ? { length: radius * radians(Math.abs(turn)), bend: Math.sign(turn) / radius }
        : { crease: radians(turn) },
      { length: 400, bend: 0 },
    ],
    calmLength,
  );

/** The calm section as it would go on. */
export const calmSection = section([{ length: 3 * calmLength, bend: 1 / calmRadius }], calmLength);

/** A panel through a section drawn out along x: u along x, v along the section from one arc length to another. */
export const drawnPanel = (
  line: (s: number) => SectionPlace,
  [xFrom, xTo]: readonly [number, number],
  [sFrom, sTo]: readonly [number, number],
): ControlNet =>
  fittedNet([5, 5], [clampedKnots(5), clampedKnots(5)], (u, v) => {
    const { y, z } = line(sFrom + v * (sTo - sFrom));
    return [xFrom + u * (xTo - xFrom), y, z];
  });
