import { curveDomain, curvePoint } from '../src/geometry/splineCurve.ts';
import type { TrimRegion } from '../src/geometry/trimRegion.ts';

/** The loops as polygons of many corners: the plain way, to hold other ways against. */
function polygons({ loops }: TrimRegion, cornersEach: number): (readonly [number, number])[][] {
  return loops.map(({ curves }) =>
    curves.flatMap((curve) => {
      const [from, to] = curveDomain(curve);
      return Array.from({ length: cornersEach }, (_, k): readonly [number, number] => {
        const [u, v] = curvePoint(curve, from + (k / cornersEach) * (to - from));
        return [u, v];
      });
    }),
  );
}

/** Whether (u, v) is kept: a ray in u crosses the polygons an odd number of times. */
export function insideLoops(
  region: TrimRegion,
  cornersEach = 400,
): (u: number, v: number) => boolean {
  const all = polygons(region, cornersEach);
  return (u, v) => {
    let kept = false;
    for (const corners of all)
      corners.forEach(([u1, v1], k) => {
        const [u2, v2] = corners[(k + 1) % corners.length];
        if (v1 > v !== v2 > v && u < u1 + ((v - v1) / (v2 - v1)) * (u2 - u1)) kept = !kept;
      });
    return kept;
  };
}
