import type { BuildPrice } from '../measure/lighterBuilds.ts';
import { counted, shownQuantity } from './shown.ts';

/** A build in words: "5x7 points, degree 4x4, spans 1x3". */
export const buildText = ({ points, degree, spans }: BuildPrice): string =>
  `${points.join('x')} points, degree ${degree.join('x')}, spans ${spans.join('x')}`;

/** What is below this is told as no deviation, mm: coordinates in files are no finer. */
const finest = 1e-6;

const shownDeviation = (deviation: number): string =>
  deviation < finest ? 'nothing' : shownQuantity(deviation, 'mm');

/** What builds of fewer and fewer points cost, in one sentence. */
export function priceText([asIs, ...lighter]: readonly BuildPrice[]): string {
  const size = ({ points }: BuildPrice): number => points[0] * points[1];
  const prices = lighter.map(
    (build) =>
      `${size(build)} (degree ${build.degree.join('x')}) ${shownDeviation(build.deviation)}`,
  );
  return `Of its ${counted(size(asIs), 'point')}, fewer would cost: ${prices.join(', ')}.`;
}
