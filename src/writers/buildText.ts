import type { BuildPrice } from '../measure/lighterBuilds.ts';
import { counted, shownQuantity } from './shown.ts';

/** What is below this is told as no deviation, mm: coordinates in files are no finer. */
const finest = 1e-6;

/** A lighter build and how near it holds the shape: "5x7 points, degree 4x4, spans 1x3, hold it within 0.05 mm". */
export function heldText({ points, degree, spans, deviation }: BuildPrice): string {
  const near = deviation < finest ? 'without a loss' : `within ${shownQuantity(deviation, 'mm')}`;
  return `${points.join('x')} points, degree ${degree.join('x')}, spans ${spans.join('x')}, hold it ${near}`;
}

/** What builds of fewer and fewer points cost, in one sentence. */
export function priceText([asIs, ...lighter]: readonly BuildPrice[]): string {
  const size = ({ points }: BuildPrice): number => points[0] * points[1];
  const prices = lighter.map(
    (build) =>
      `${size(build)} (degree ${build.degree.join('x')}) ${build.deviation < finest ? 'nothing' : shownQuantity(build.deviation, 'mm')}`,
  );
  return `Of its ${counted(size(asIs), 'point')}, fewer would cost: ${prices.join(', ')}.`;
}
