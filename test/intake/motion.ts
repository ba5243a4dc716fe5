import { expect } from 'vitest';
import type { Panel } from '../../src/intake/panel.ts';

export type Point = readonly [number, number, number];
/** Where an assembly puts a point of a part. */
export type Motion = (p: Point) => Point;

/** By an angle about an axis through the origin: Rodrigues' formula (any textbook), then a shift. */
export function turn([x, y, z]: Point, angle: number, shift: Point): Motion {
  const size = Math.hypot(x, y, z);
  const k = [x / size, y / size, z / size];
  return (p) => {
    const along = k[0] * p[0] + k[1] * p[1] + k[2] * p[2];
    const across = [
      k[1] * p[2] - k[2] * p[1],
      k[2] * p[0] - k[0] * p[2],
      k[0] * p[1] - k[1] * p[0],
    ];
    const at = (i: 0 | 1 | 2): number =>
      p[i] * Math.cos(angle) +
      across[i] * Math.sin(angle) +
      k[i] * along * (1 - Math.cos(angle)) +
      shift[i];
    return [at(0), at(1), at(2)];
  };
}

export const outermost =
  (outer: Motion, inner: Motion): Motion =>
  (p) =>
    outer(inner(p));

/** Coordinates in threes as points. */
export const pointsOf = (coordinates: ArrayLike<number>): Point[] =>
  Array.from({ length: coordinates.length / 3 }, (_, k) => [
    coordinates[3 * k],
    coordinates[3 * k + 1],
    coordinates[3 * k + 2],
  ]);

/** Largest distance of a net's points from where a motion takes those of the part, over their size. */
function departure(
  { net }: Panel,
  points: readonly Point[],
  motion: Motion,
  millimetres: number,
): number {
  const wanted = points.map((p) => motion(p).map((x) => x * millimetres));
  const size = Math.max(...wanted.flat().map(Math.abs));
  return Math.max(...wanted.flat().map((x, at) => Math.abs(x - net.points[at]))) / size;
}

/**
 * Points and motions are in a unit of so many millimetres. The panel that each motion makes of a part, in whatever order they were read: it departs from it by
 * less than 1e-9 of its size, every other panel by more than a thousandth.
 */
export function panelsByMotion(
  panels: readonly Panel[],
  points: readonly Point[],
  motions: readonly Motion[],
  millimetres: number,
): Panel[] {
  expect(panels).toHaveLength(motions.length);
  return motions.map((motion) => {
    const [best, ...others] = panels
      .map((panel) => ({ panel, off: departure(panel, points, motion, millimetres) }))
      .toSorted((a, b) => a.off - b.off);
    expect(best.off).toBeLessThan(1e-9);
    for (const { off } of others) expect(off).toBeGreaterThan(1e-3);
    return best.panel;
  });
}
