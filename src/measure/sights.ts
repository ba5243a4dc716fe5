import { lines, spotOnLine, type ControlNet, type Line } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import { distance, type Vector } from '../geometry/vector.ts';
import { leastLeg, turning, type Turning } from './turning.ts';

/**
 * One row or column as an eye sighting along it sees it: legs, and the bend at each point between
 * two of them. Lengths in mm, angles in radians, abscissae in parameter units.
 */
export interface Sight extends Line {
  /** Greville abscissae of its points. */
  readonly abscissae: Float64Array;
  readonly degree: number;
  /** legs[k] runs from point k to k+1. */
  readonly legs: readonly number[];
  /** Outward normals at its points; null where the surface has none. */
  readonly normals: readonly (Vector | null)[];
  /** One a point; null at the ends, at a zero-length leg, and where there is no normal. */
  readonly turnings: readonly (Turning | null)[];
}

/** All rows, then all columns. `normals`: outward, one a control point, row by row. */
export function sights(net: ControlNet, normals: readonly (Vector | null)[]): Sight[] {
  const abscissae = [
    grevilleAbscissae(net.knots[0], net.degree[0]),
    grevilleAbscissae(net.knots[1], net.degree[1]),
  ];
  const least = leastLeg(net);
  return lines(net).map((line): Sight => {
    const { points } = line;
    const direction = line.along === 'row' ? 0 : 1;
    const own = points.map((_, at) => {
      const spot = spotOnLine(line, at);
      return normals[spot.row * net.columns + spot.column];
    });
    return {
      ...line,
      abscissae: abscissae[direction],
      degree: net.degree[direction],
      legs: points.slice(1).map((point, k) => {
        const leg = distance(points[k], point);
        return leg > least ? leg : 0;
      }),
      normals: own,
      turnings: points.map((point, at) => {
        const normal = own[at];
        return normal && at > 0 && at < points.length - 1
          ? turning(points[at - 1], point, points[at + 1], normal, least)
          : null;
      }),
    };
  });
}
