import type { BuildPrice } from '../measure/lighterBuilds.ts';
import { counted, shownQuantity } from './shown.ts';

/** What is below this is told as no deviation, mm: coordinates in files are no finer. */
const finest = 1e-6;

/** Of a pair that of u alone for a curve. */
const pairText = (pair: readonly [number, number], isCurve: boolean): string =>
  isCurve ? String(pair[0]) : pair.join('x');

/** A lighter build and how near it holds the shape: "5x7 points, degree 4x4, spans 1x3, hold it within 0.05 mm". */
export function heldText(
  { points, degree, spans, deviation }: BuildPrice,
  isCurve = false,
): string {
  const near = deviation < finest ? 'without a loss' : `within ${shownQuantity(deviation, 'mm')}`;
  const [n, p, s] = [points, degree, spans].map((pair) => pairText(pair, isCurve));
  return `${n} points, degree ${p}, spans ${s}, hold it ${near}`;
}

function pricesText([asIs, ...lighter]: readonly BuildPrice[], isCurve: boolean): string {
  const size = ({ points }: BuildPrice): number => points[0] * points[1];
  const prices = lighter.map(
    (build) =>
      `${size(build)} (degree ${pairText(build.degree, isCurve)}) ` +
      (build.deviation < finest ? 'nothing' : shownQuantity(build.deviation, 'mm')),
  );
  return `Of its ${counted(size(asIs), 'point')}, fewer would cost: ${prices.join(', ')}.`;
}

/** What builds of a panel with fewer and fewer points cost, in one sentence. */
export const priceText = (prices: readonly BuildPrice[]): string => pricesText(prices, false);

/** The same of a curve. */
export const curvePriceText = (prices: readonly BuildPrice[]): string => pricesText(prices, true);
