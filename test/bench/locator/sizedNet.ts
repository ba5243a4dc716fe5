import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { leastUnevenness } from '../../../src/measure/displacedPoints.ts';
import { leastHand } from '../../../src/measure/spectrumStory.ts';

/** The size that unevenness, displacements and floors are stated for, mm. */
const statedSize = 1200;

/** The net scaled so that its greatest distance between two points is 1200 mm. */
export function sizedNet(net: ControlNet): ControlNet {
  // The least unevenness is a fixed share of that distance.
  const size = (leastUnevenness(net) / leastHand) * statedSize;
  return { ...net, points: net.points.map((value) => (value * statedSize) / size) };
}
