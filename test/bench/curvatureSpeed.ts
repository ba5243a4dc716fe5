import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { basisRow, type BasisRow } from '../../src/geometry/basis.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { curvatureGrid } from '../../src/geometry/curvatureGrid.ts';
import { library, librarySurface } from '../published/librarySurface.ts';
import { kernelBend } from '../published/oracleKernel.ts';
import { durations } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** A crowned panel of a metre by its degrees and its spans each way. */
const panel = (degree: number, spans: number): ControlNet =>
  fittedNet(
    [degree, degree],
    [clampedKnots(degree, spans), clampedKnots(degree, spans)],
    (u, v) => [1000 * u, 600 * v, -120 * u * u - 40 * Math.sin(2 * v) - 15 * u * v * v],
  );

/** Parameters each way of a grid: what a rule asks of a panel of some spans. */
const count = 100;

/** Multiplications in a place's curvature once its derivatives are there, square roots among them. */
const formulaProducts = 75;

/** Multiplications that a grid takes. */
function products({ degree, columns }: ControlNet): number {
  // nine sums over v at each column a row of the grid, eighteen sums over u at each place
  const rows = count * 9 * columns * (degree[1] + 1);
  return rows + count * count * (18 * (degree[0] + 1) + formulaProducts);
}

/** So many multiplications and additions, four sums side by side, over numbers that stay in the cache. */
function multipliedAndAdded(count: number): number {
  const [a, b] = [1.5, 0.5].map((value) => new Float64Array(1024).fill(value));
  let [p, q, r, s] = [0, 0, 0, 0];
  for (let left = count; left > 0; left -= 1024)
    for (let k = 0; k < 1024; k += 4) {
      p += a[k] * b[k];
      q += a[k + 1] * b[k + 1];
      r += a[k + 2] * b[k + 2];
      s += a[k + 3] * b[k + 3];
    }
  return p + q + r + s;
}

/** How many places with points, normals and all curvatures the grid gives, against others one by one. */
export async function curvatureFigures(places: number, rounds: number): Promise<Figure[]> {
  const middles = (many: number): number[] =>
    Array.from({ length: many }, (_, k) => (k + 0.5) / many);
  const repeat = Math.ceil(places / count ** 2);
  // the others are slow: fewer places, of which each takes as long
  const few = middles(50);
  const figures: Figure[] = [];
  for (const [name, net] of [
    ['6x6 points, degree 5', panel(5, 1)],
    ['30x30 points, degree 3', panel(3, 27)],
  ] as const) {
    const surface = librarySurface(net);
    const bend = await kernelBend(net);
    const oneByOne = (evaluate: (u: number, v: number) => unknown) => ({
      run: () => few.forEach((v) => few.forEach((u) => evaluate(u, v))),
    });
    const basis = (side: 0 | 1): BasisRow[] =>
      middles(count).map((w) => basisRow(net.knots[side], net.degree[side], w, 2));
    const taken = durations(
      {
        grid: { run: () => curvatureGrid(net, basis(0), basis(1)), repeat },
        sums: { run: () => multipliedAndAdded(products(net)), repeat },
        library: oneByOne((u, v) => library.eval.Eval.surfaceDerivatives(surface, u, v, 2)),
        kernel: oneByOne(bend),
      },
      rounds,
    );
    const ours = {
      name: 'grid',
      taken: taken.grid,
      amount: { value: count * count, unit: 'places' },
    };
    const amount = { value: few.length * few.length, unit: 'places' };
    figures.push(
      figureOf(
        `curvature of ${name}: against the derivatives alone by verb-nurbs-web`,
        'as fast',
        ours,
        { name: 'verb-nurbs-web', taken: taken.library, amount },
        'at least 20',
      ),
      figureOf(`curvature of ${name}: against the kernel point by point`, 'as fast', ours, {
        name: 'kernel',
        taken: taken.kernel,
        amount,
      }),
      figureOf(
        `curvature of ${name}: against a plain loop of as many multiplications and additions`,
        'as long',
        ours,
        { name: 'plain loop', taken: taken.sums },
      ),
    );
  }
  return figures;
}
