import type { BernsteinPatch, SurfacePatch } from './bernsteinPatch.ts';
import {
  derivativeForm,
  factor,
  productSum,
  type BernsteinForm,
  type Factor,
} from './bernsteinProduct.ts';
import { dot, type Vector } from './vector.ts';

type Three = readonly [Float64Array, Float64Array, Float64Array];

/**
 * The straight lines along a surface's normals over one of its patches, as polynomials: `direction` d
 * along S_u x S_v and `moment` m = d x S, one array a coordinate, in Bernstein form (Pluecker's six
 * coordinates of a line). All that a light line or a parallel light makes of a surface is a polynomial
 * of the six.
 */
export interface NormalLinePatch extends Pick<BernsteinPatch, 'degree' | 'u' | 'v'> {
  readonly direction: Three;
  readonly moment: Three;
  /** The direction once more, at the lower degree that it has by itself. */
  readonly normal: {
    readonly degree: readonly [number, number];
    readonly factors: readonly [Factor, Factor, Factor];
  };
}

type Factors = readonly [Factor, Factor, Factor];

/** Coordinates of sums of cross products, all of one degree. */
function crossSum(pairs: readonly (readonly [Factors, Factors])[]): readonly BernsteinForm[] {
  return ([0, 1, 2] as const).map((axis) => {
    const [next, last] = [((axis + 1) % 3) as 0 | 1 | 2, ((axis + 2) % 3) as 0 | 1 | 2];
    return productSum(
      pairs.flatMap(([a, b]) => [
        [a[next], b[last], 1],
        [a[last], b[next], -1],
      ]),
    );
  });
}

/**
 * The normal of a patch (x w, y w, z w, w) = (P, w): for w = 1 it is P_u x P_v, else
 * w P_u x P_v + w_u P_v x P + w_v P x P_u, which is w^3 S_u x S_v over w. Neither is of length 1.
 */
function normalForms(
  { degree, coordinates }: SurfacePatch,
  isRational: boolean,
): readonly BernsteinForm[] {
  const forms = coordinates.map((coefficients): BernsteinForm => ({ degree, coefficients }));
  const slopes = ([0, 1] as const).map((side) => forms.map((form) => derivativeForm(form, side)));
  const three = (all: readonly BernsteinForm[]): Factors =>
    all.slice(0, 3).map(factor) as unknown as Factors;
  const [alongU, alongV] = slopes.map(three);
  if (!isRational) return crossSum([[alongU, alongV]]);
  const [point, w] = [three(forms), factor(forms[3])];
  const [wu, wv] = slopes.map((all) => factor(all[3]));
  const plain = crossSum([[alongU, alongV]]);
  const first = crossSum([[alongV, point]]);
  const second = crossSum([[point, alongU]]);
  return plain.map((form, axis) => {
    const parts = [
      productSum([[factor(form), w, 1]]),
      productSum([[factor(first[axis]), wu, 1]]),
      productSum([[factor(second[axis]), wv, 1]]),
    ];
    return {
      degree: parts[0].degree,
      coefficients: parts[0].coefficients.map(
        (value, at) => value + parts[1].coefficients[at] + parts[2].coefficients[at],
      ),
    };
  });
}

/** Coefficients smaller than this share of the largest are rounding. */
const nothing = 1e-13;

/**
 * Normals that are 0 all along the edge at the start or end of a direction, divided by what makes them
 * so: along an edge that is collapsed into a point S_u x S_v is 0, but it has a direction up to there.
 * c_j B_j^q(t) = t (q / j) c_j B_{j-1}^{q-1}(t).
 */
function withoutEdge(
  forms: readonly BernsteinForm[],
  side: 0 | 1,
  atEnd: boolean,
): readonly BernsteinForm[] {
  const { degree } = forms[0];
  const last = degree[side];
  const width = degree[0] + 1;
  const along = (at: number): number => (side === 0 ? at % width : Math.floor(at / width));
  const fromEdge = (at: number): number => (atEnd ? last - along(at) : along(at));
  let [all, edge] = [0, 0];
  for (const { coefficients } of forms)
    coefficients.forEach((value, at) => {
      all = Math.max(all, Math.abs(value));
      if (fromEdge(at) === 0) edge = Math.max(edge, Math.abs(value));
    });
  if (last === 0 || !(all > 0) || edge > nothing * all) return forms;
  const left = forms.map(({ coefficients }): BernsteinForm => ({
    degree: side === 0 ? [degree[0] - 1, degree[1]] : [degree[0], degree[1] - 1],
    coefficients: Float64Array.from(
      [...coefficients.entries()]
        .filter(([at]) => fromEdge(at) > 0)
        .map(([at, value]) => (value * last) / fromEdge(at)),
    ),
  }));
  return withoutEdge(left, side, atEnd);
}

/** The normal lines over the patches of a surface. */
export const normalLines = (
  patches: readonly SurfacePatch[],
  isRational: boolean,
): NormalLinePatch[] =>
  patches.map((patch): NormalLinePatch => {
    let forms = normalForms(patch, isRational);
    for (const side of [0, 1] as const)
      for (const atEnd of [false, true]) forms = withoutEdge(forms, side, atEnd);
    const [x, y, z, w] = patch.coordinates.map((coefficients) =>
      factor({ degree: patch.degree, coefficients }),
    );
    const normals = forms.map(factor) as unknown as Factors;
    const moment = crossSum([[normals, [x, y, z]]]);
    const direction = forms.map((form) => productSum([[factor(form), w, 1]]));
    return {
      degree: moment[0].degree,
      u: patch.u,
      v: patch.v,
      direction: direction.map(({ coefficients }) => coefficients) as unknown as Three,
      moment: moment.map(({ coefficients }) => coefficients) as unknown as Three,
      normal: { degree: forms[0].degree, factors: normals },
    };
  });

/**
 * Where the normal line meets the line through `through` along `along`: the Bernstein form that is 0
 * there, of (along x d) . (through - S).
 */
export function meetingForm(
  { degree, u, v, direction: [dx, dy, dz], moment: [mx, my, mz] }: NormalLinePatch,
  { through, along }: { readonly through: Vector; readonly along: Vector },
): BernsteinPatch {
  const [ax, ay, az] = [
    through[1] * along[2] - through[2] * along[1],
    through[2] * along[0] - through[0] * along[2],
    through[0] * along[1] - through[1] * along[0],
  ];
  const [bx, by, bz] = along;
  return {
    degree,
    u,
    v,
    coefficients: dx.map(
      (_, k) => ax * dx[k] + ay * dy[k] + az * dz[k] - (bx * mx[k] + by * my[k] + bz * mz[k]),
    ),
  };
}

/** Where the normal makes an angle with `toward` whose cosine is `cosine` or minus that: of (d . toward)^2 - cosine^2 d . d. */
export function slopeForm(
  { u, v, normal: { degree, factors } }: NormalLinePatch,
  toward: Vector,
  cosine: number,
): BernsteinPatch {
  const [x, y, z] = factors.map(({ weighted }) => weighted);
  const dotted: Factor = {
    degree,
    weighted: x.map((_, k) => dot(toward, [x[k], y[k], z[k]])),
  };
  const scaledBy = (a: Factor): Factor => ({
    degree,
    weighted: a.weighted.map((value) => value * cosine),
  });
  return {
    u,
    v,
    ...productSum([
      [dotted, dotted, 1],
      ...factors.map((one) => [scaledBy(one), scaledBy(one), -1] as const),
    ]),
  };
}
