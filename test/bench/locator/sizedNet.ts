import type { ControlNet } from '../../../src/geometry/controlNet.ts';

/** The size that unevenness, displacements and floors are stated for, mm. */
const statedSize = 1200;

/** Greatest distance between two points of the net: its size however it is turned, mm. */
function greatestDistance({ points }: ControlNet): number {
  let most = 0;
  for (let k = 0; k < points.length; k += 3)
    for (let l = 0; l < k; l += 3) {
      const [x, y, z] = [
        points[k] - points[l],
        points[k + 1] - points[l + 1],
        points[k + 2] - points[l + 2],
      ];
      most = Math.max(most, x * x + y * y + z * z);
    }
  return Math.sqrt(most);
}

/** The net scaled so that its greatest distance between two points is 1200 mm. */
export function sizedNet(net: ControlNet): ControlNet {
  const size = greatestDistance(net);
  return { ...net, points: net.points.map((value) => (value * statedSize) / size) };
}
