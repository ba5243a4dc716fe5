import { surfaceNormal, type ThirdJet } from './evaluation.ts';
import { parameterDirection } from './surfaceCurvature.ts';
import { cross, dot, length, scaled, squareTo, sum, type Vector } from './vector.ts';

/** a x + b y. */
const blend = (a: number, x: Vector, b: number, y: Vector): Vector =>
  sum(scaled(x, a), scaled(y, b));

/**
 * How fast the mean curvature H, signed with S_u x S_v, changes along a unit tangent `direction`: 1/mm a
 * mm. With direction = a S_u + b S_v the rate of anything is a d/du + b d/dv of it, so the product rule
 * on H = (EN - 2FM + GL) / (2(EG - F^2)) gives it exactly from third derivatives. Null where the surface
 * has no normal.
 */
export function meanCurvatureRate(jet: ThirdJet, direction: Vector): number | null {
  const n = surfaceNormal(jet);
  const way = n && parameterDirection(jet, direction);
  if (!n || !way) return null;
  const [a, b] = way;
  const { u, v, uu, uv, vv } = jet;
  const [uRate, vRate] = [blend(a, uu, b, uv), blend(a, uv, b, vv)];
  const nRate = scaled(squareTo(sum(cross(uRate, v), cross(u, vRate)), n), 1 / length(cross(u, v)));
  const [e, f, g] = [dot(u, u), dot(u, v), dot(v, v)];
  const [eRate, gRate] = [2 * dot(u, uRate), 2 * dot(v, vRate)];
  const fRate = dot(uRate, v) + dot(u, vRate);
  const [l, m, k] = [dot(uu, n), dot(uv, n), dot(vv, n)];
  const lRate = dot(blend(a, jet.uuu, b, jet.uuv), n) + dot(uu, nRate);
  const mRate = dot(blend(a, jet.uuv, b, jet.uvv), n) + dot(uv, nRate);
  const kRate = dot(blend(a, jet.uvv, b, jet.vvv), n) + dot(vv, nRate);
  const above = e * k - 2 * f * m + g * l;
  const below = 2 * (e * g - f * f);
  const aboveRate = eRate * k + e * kRate - 2 * (fRate * m + f * mRate) + gRate * l + g * lRate;
  const belowRate = 2 * (eRate * g + e * gRate - 2 * f * fRate);
  const rate = (aboveRate - (above / below) * belowRate) / below;
  return Number.isFinite(rate) ? rate : null;
}
