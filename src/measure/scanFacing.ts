import { surfacePoint } from '../geometry/evaluation.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import type { Vector } from '../geometry/vector.ts';

/**
 * Whether a scan's front is on the side of a net's normals (those of netNormals): the mean cosine
 * between them where the scan lies behind the net within `reach` mm, -1 to 1; 0 where it nowhere does.
 */
export function scanFacing(
  net: ControlNet,
  normals: readonly (Vector | null)[],
  body: ScanBody,
  reach: number,
): number {
  // a cloud has no front
  if (body.kind === 'cloud') return 0;
  const [us, vs] = ([0, 1] as const).map((side) =>
    grevilleAbscissae(net.knots[side], net.degree[side]),
  );
  const places = Float64Array.from(
    Array.from(vs, (v) => Array.from(us, (u) => surfacePoint(net, u, v)).flat()).flat(),
  );
  const feet = scanFeet(body, places, reach);
  let [total, count] = [0, 0];
  normals.forEach((normal, k) => {
    if (!normal || feet.standings[k] !== scanStandings.over) return;
    total += normal.reduce((dot, x, axis) => dot + x * feet.normals[3 * k + axis], 0);
    count += 1;
  });
  return count > 0 ? total / count : 0;
}
