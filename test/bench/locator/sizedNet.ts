import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { greatestDistance } from '../../../src/measure/displacements.ts';

/** The size that unevenness, displacements and floors are stated for, mm. */
const statedSize = 1200;

/** The net scaled so that its greatest distance between two points is 1200 mm. */
export function sizedNet(net: ControlNet): ControlNet {
  const size = greatestDistance(net);
  return { ...net, points: net.points.map((value) => (value * statedSize) / size) };
}
