import { wideFamilies, unevenNet } from '../../../fixtures/panelFamilies.ts';
import { clampedKnots, fittedNet } from '../../../fixtures/fittedNet.ts';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../../src/geometry/evaluation.ts';
import { displacements } from '../../../src/measure/displacements.ts';
import { firstLook } from '../../../src/measure/locator/extensions.ts';
import { learnedSpectra } from '../../../src/measure/locator/learnedSpectra.ts';
import { MixtureScorer } from '../../../src/measure/locator/mixtureScorer.ts';
import { panelModel } from '../../../src/measure/locator/panelModel.ts';
import { yardsticks } from './rankedAnswer.ts';
import { reportedAnswer } from './reportedAnswer.ts';
import { sizedNet } from './sizedNet.ts';

/** Middle time of one panel, ms, warm, on one core. */
export interface Pace {
  readonly net: string;
  readonly method: string;
  readonly clean: number;
  readonly displaced: number;
}

const builds = [
  { name: '4x4', degree: [3, 3], inner: [1, 1] },
  { name: '6x6', degree: [5, 5], inner: [1, 1] },
  { name: '7x7', degree: [5, 5], inner: [2, 2] },
  { name: '12x10', degree: [3, 3], inner: [9, 7] },
] as const;

const styled = wideFamilies[0];

/** Styled panels of one build, half of them with a point in the middle 2 mm out. */
function panels({ degree, inner }: (typeof builds)[number], count: number): ControlNet[] {
  return Array.from({ length: count }, (_, k) => {
    const random = seededRandom(7000 + k);
    const shape = styled.net(random);
    const knots = [clampedKnots(degree[0], inner[0]), clampedKnots(degree[1], inner[1])] as const;
    const fair = fittedNet(degree, knots, (u, v) => surfacePoint(shape, u, v));
    const net = unevenNet(sizedNet(fair), random, 0.02);
    const inside = 3 * ((net.rows >> 1) * net.columns + (net.columns >> 1)) + 2;
    if (k % 2 === 1) net.points[inside] += 2;
    return net;
  });
}

const middle = (times: readonly number[]): number =>
  [...times].sort((a, b) => a - b)[times.length >> 1];

function alone(net: ControlNet): { readonly milliseconds: number } {
  const start = performance.now();
  displacements(net, null);
  return { milliseconds: performance.now() - start };
}

const tables = learnedSpectra();
const scorer = new MixtureScorer(tables);

function lookedAt(net: ControlNet): { readonly milliseconds: number } {
  const start = performance.now();
  firstLook(panelModel(net, tables, null, false), scorer);
  return { milliseconds: performance.now() - start };
}

/** How long each method takes, by size of net. */
export function paces(count: number): Pace[] {
  const methods = [
    ...Object.entries(yardsticks),
    ['present', reportedAnswer],
    ['present, locator alone', alone],
    ['present, first look alone', lookedAt],
  ] as const;
  return builds.flatMap((build) => {
    const nets = panels(build, count);
    return methods.map(([method, run]) => {
      nets.forEach(run); // warm
      const times = nets.map((net) => run(net).milliseconds);
      const clean = middle(times.filter((_, k) => k % 2 === 0));
      return { net: build.name, method, clean, displaced: middle(times.filter((_, k) => k % 2)) };
    });
  });
}
