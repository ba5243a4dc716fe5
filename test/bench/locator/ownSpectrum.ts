import { withMoves, type ControlNet, type Spot } from '../../../src/geometry/controlNet.ts';
import { grevilleAbscissae } from '../../../src/geometry/knots.ts';
import { length, scaled } from '../../../src/geometry/vector.ts';
import { visibleEffect } from '../../../src/measure/visibleEffect.ts';
import { discretePolynomials } from './discretePolynomials.ts';
import type { PointScore } from './pointScores.ts';
import { principalNet } from './principalNet.ts';
import { decayVariances, spectrumDecay, type Coefficients } from './spectrumDecay.ts';

/**
 * Yardstick D: the leave-one-out displacement of every
 * point under the decay of the net's own spectrum on its principal axes, and its score z. By falling
 * z.
 */
export function ownSpectrum(net: ControlNet): PointScore[] {
  const { columns, rows } = net;
  const { axes, values } = principalNet(net);
  const [qu, qv] = [0, 1].map((side) =>
    discretePolynomials(grevilleAbscissae(net.knots[side], net.degree[side])),
  );
  const places = Array.from({ length: rows * columns }, (_, k) => ({
    a: k % columns,
    b: Math.floor(k / columns),
  })).filter(({ a, b }) => a >= 2 || b >= 2);
  const [a, b] = [places.map((p) => p.a), places.map((p) => p.b)].map((list) =>
    Uint8Array.from(list),
  );
  const size = a.length;
  // marks[k * size + c]: how far coefficient c moves when point k moves by 1
  const marks = new Float64Array(rows * columns * size);
  for (let k = 0; k < rows * columns; k++)
    for (let c = 0; c < size; c++)
      marks[k * size + c] = qu.get(k % columns, a[c]) * qv.get(Math.floor(k / columns), b[c]);
  const spectra = values.map((axis) => {
    const spectrum = new Float64Array(size);
    axis.forEach((value, k) => {
      for (let c = 0; c < size; c++) spectrum[c] += marks[k * size + c] * value;
    });
    return spectrum;
  });
  const groups = [spectra.slice(0, 2), spectra.slice(2)];
  const variances = groups.flatMap((group) => {
    const coefficients: Coefficients = { a, b, axes: group };
    const own = decayVariances(coefficients, spectrumDecay(coefficients));
    return group.map(() => own);
  });
  return Array.from({ length: rows * columns }, (_, k): PointScore => {
    let square = 0;
    const displacement = [0, 0, 0];
    spectra.forEach((spectrum, axis) => {
      let [pull, weight] = [0, 0];
      for (let c = 0; c < size; c++) {
        const share = marks[k * size + c] / variances[axis][c];
        pull += share * spectrum[c];
        weight += share * marks[k * size + c];
      }
      square += (pull * pull) / weight;
      axes[axis].forEach((part, m) => {
        displacement[m] += (part * pull) / weight;
      });
    });
    const [x, y, z] = displacement;
    return {
      spot: { row: Math.floor(k / columns), column: k % columns },
      score: Math.sqrt(square),
      displacement: [x, y, z],
    };
  }).sort((k, l) => l.score - k.score);
}

/** Root of the mean square of what leaving each point out foretells wrongly, mm. */
export function leaveOneOutError(net: ControlNet): number {
  const scores = ownSpectrum(net);
  const squares = scores.reduce((total, { displacement }) => total + length(displacement) ** 2, 0);
  return Math.sqrt(squares / scores.length);
}

/** The plain threshold it was studied with: z, and the peak of what is seen, mm. */
const leastScore = 5.5;
const leastSeen = 0.1;
const mostFound = 6;

const sameSpot = (a: Spot, b: Spot): boolean => a.row === b.row && a.column === b.column;

const passes = (net: ControlNet, { spot, score, displacement }: PointScore): boolean =>
  score > leastScore &&
  length(displacement) > leastSeen &&
  visibleEffect(net, [{ spot: spot, by: displacement }]).peak > leastSeen;

const mended = (net: ControlNet, found: readonly PointScore[]): ControlNet =>
  withMoves(
    net,
    found.map(({ spot, displacement }) => ({ spot, by: scaled(displacement, -1) })),
  );

/** Several: correct the worst, fit again, repeat; then each back in turn, the weakest dropped. */
export function spectrumOutliers(net: ControlNet, first: readonly PointScore[]): PointScore[] {
  let found: PointScore[] = [];
  let left = first;
  while (found.length < mostFound) {
    const now = mended(net, found);
    const next = left.find(
      (one) => passes(now, one) && found.every(({ spot }) => !sameSpot(spot, one.spot)),
    );
    if (!next) break;
    found.push(next);
    left = ownSpectrum(mended(net, found));
  }
  while (found.length > 1) {
    const again = found.map((one) => {
      const rest = mended(
        net,
        found.filter((other) => other !== one),
      );
      const score = ownSpectrum(rest).find(({ spot }) => sameSpot(spot, one.spot))!;
      return { score, holds: passes(rest, score) };
    });
    const weakest = again.reduce((a, b) => (b.score.score < a.score.score ? b : a));
    found = again.map(({ score }) => score);
    if (weakest.holds) break;
    found = found.filter((one) => one !== weakest.score);
  }
  return found;
}
