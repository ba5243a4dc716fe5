import type { ControlNet } from '../geometry/controlNet.ts';
import { domain } from '../geometry/knots.ts';
import { dot, length } from '../geometry/vector.ts';
import { derivativeAbscissae, derivativePoints } from './secondDifferences.ts';
import type { Sight } from './sights.ts';

type PerPoint = readonly (number | null)[];

/** What an eye sighting along one row or column goes by, for whoever plots it. */
export interface LineProfile {
  /** Between neighbouring points, mm; one fewer than points. */
  readonly legs: readonly number[];
  /** One a point, radians; null at the ends, beside a collapsed leg and where there is no normal. */
  readonly turning: {
    /** About the row's side axis: positive where the point lies out. */
    readonly bulge: PerPoint;
    /** Within the surface. */
    readonly sway: PerPoint;
  };
  /** One a point, mm; null at the ends, at a break of the line and in a direction of degree 1. */
  readonly secondDifferences: {
    /** The part along the outward normal: negative where the line is convex. */
    readonly normal: PerPoint;
    readonly size: PerPoint;
  };
}

export interface NetProfiles {
  readonly rows: readonly LineProfile[];
  readonly columns: readonly LineProfile[];
}

/** Abscissae nearer than this share of the parameter range are one: a break, but for rounding. */
const coincident = 1e-9;

/**
 * Second differences are divided over Greville abscissae (derivativePoints) with the whole parameter
 * range taken as 1, so that they are lengths and the same whatever range a file uses.
 */
function secondDifferences(sight: Sight, knots: Float64Array): LineProfile['secondDifferences'] {
  const { degree, points, normals, abscissae } = sight;
  if (degree < 2) return { normal: points.map(() => null), size: points.map(() => null) };
  const [start, end] = domain(knots, degree);
  const second = derivativePoints(points, knots, degree, 2);
  const first = derivativeAbscissae(knots, degree, 1);
  const apart = (own: Float64Array, at: number): boolean =>
    own[at] - own[at - 1] > coincident * (end - start);
  const vectors = points.map((_, at) =>
    at > 0 &&
    at < points.length - 1 &&
    apart(abscissae, at) &&
    apart(abscissae, at + 1) &&
    apart(first, at)
      ? second[at - 1]
      : null,
  );
  const range = (end - start) ** 2;
  return {
    normal: vectors.map((vector, at) => {
      const normal = normals[at];
      return vector && normal && range * dot(vector, normal);
    }),
    size: vectors.map((vector) => vector && range * length(vector)),
  };
}

/** The profile of each row and column of a net, from its sights (rows, then columns). */
export function netProfiles({ knots }: ControlNet, sights: readonly Sight[]): NetProfiles {
  const profiles = (along: Sight['along']): LineProfile[] =>
    sights
      .filter((sight) => sight.along === along)
      .map((sight) => ({
        legs: sight.legs,
        turning: {
          bulge: sight.turnings.map((turning) => turning && turning.bulge),
          sway: sight.turnings.map((turning) => turning && turning.sway),
        },
        secondDifferences: secondDifferences(sight, knots[along === 'row' ? 0 : 1]),
      }));
  return { rows: profiles('row'), columns: profiles('column') };
}
