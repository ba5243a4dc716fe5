import { cross, dot, scaled, type Vector } from '../../geometry/vector.ts';
import { indexOfMost } from './fallingOrder.ts';
import { fittedSet, residual, squares, type Coefficients, type FaultSet } from './faultSets.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import { deviation } from './normalEquations.ts';
import type { PanelModel } from './panelModel.ts';
import { likelyWeights } from './suggestions.ts';

/** Nats that a displacement free on all axes must promise before it is fitted. */
const leastPromise = 4;

/** Strengths that make up a displacement from the directions of a point's atoms; null in a plane. */
function strengthsOf(by: Vector, [a, b, c]: readonly Vector[]): number[] | null {
  const volume = dot(a, cross(b, c));
  if (Math.abs(volume) < 1e-3) return null;
  return [cross(b, c), cross(c, a), cross(a, b)].map((side) => dot(by, side) / volume);
}

/** Displacements of one point on one axis that some weights of the coefficients suggest. */
function guessed(values: Float64Array, mark: Float64Array, weights: Float64Array): number {
  let [pull, stiff] = [0, 1e-9];
  for (let c = 0; c < values.length; c++) {
    pull += weights[c] * mark[c] * values[c];
    stiff += weights[c] * mark[c] * mark[c];
  }
  return pull / stiff;
}

/**
 * The likeliest displacement of a point axis by axis, without any direction: those which several
 * weights suggest are looked at, and the one it has. Null where none promises more than that one.
 */
function freeDisplacement(
  model: PanelModel,
  scorer: MixtureScorer,
  left: Coefficients,
  set: FaultSet,
  point: number,
  has: Vector,
  asked: readonly number[],
): Vector | null {
  const { count } = model.spectrum.degrees;
  const mark = model.spectrum.marks.subarray(point * count, (point + 1) * count);
  const shift = model.shifts[indexOfMost(set.look.byHand)];
  const weighings = likelyWeights(model, scorer, model.mixture, left, set.look, asked);
  let promise = 0;
  const [x, y, z] = left.map((values, axis) => {
    const worth = (by: number): number =>
      scorer.score(
        squares(values.map((value, c) => value - by * mark[c])),
        model.cores[axis],
        shift,
      ).total;
    const tried = [has[axis], ...weighings.map((weights) => guessed(values, mark, weights[axis]))];
    const worths = tried.map(worth);
    const best = indexOfMost(worths);
    promise += worths[best] - worths[0];
    return tried[best];
  });
  return promise > leastPromise ? [x, y, z] : null;
}

/** A set with all three atoms of one point in it, or two where the third says nothing. */
function wholeSite(
  model: PanelModel,
  scorer: MixtureScorer,
  set: FaultSet,
  point: number,
  asked: readonly number[],
): FaultSet | null {
  const { atoms, sites, kinds, most, spectrum } = model;
  const own = Array.from(atoms.directions.keys(), (way) => way * spectrum.pointCount + point);
  const others = set.atoms.flatMap((atom, s) => (own.includes(atom) ? [] : [s]));
  const kept = others.map((s) => set.atoms[s]);
  const rest = others.map((s) => set.strengths[s]);
  const ways = atoms.directions.map((all): Vector => [
    all[3 * point],
    all[3 * point + 1],
    all[3 * point + 2],
  ]);
  const has = set.atoms.reduce<Vector>(
    ([x, y, z], atom, s) => {
      const at = own.indexOf(atom);
      const by = at < 0 ? ([0, 0, 0] as const) : scaled(ways[at], set.strengths[s]);
      return [x + by[0], y + by[1], z + by[2]];
    },
    [0, 0, 0],
  );
  const free = freeDisplacement(model, scorer, residual(model, kept, rest), set, point, has, asked);
  const strengths = free && strengthsOf(free, ways);
  if (!strengths || own.some((atom) => sites[atom] !== point || kinds[atom] > 1)) return null;
  const start = strengths.map((by, at) => Math.max(-most[own[at]], Math.min(most[own[at]], by)));
  const whole = fittedSet(
    model,
    scorer,
    [...kept, ...own],
    Float64Array.from([...rest, ...start]),
    asked,
    2,
  );
  const size = whole.atoms.length;
  const sure = own.map((_, at) => {
    const s = kept.length + at;
    return -Math.abs(whole.strengths[s]) / deviation(whole.factor, size, s);
  });
  const weakest = kept.length + indexOfMost(sure);
  const two = fittedSet(
    model,
    scorer,
    whole.atoms.filter((_, s) => s !== weakest),
    whole.strengths.filter((_, s) => s !== weakest),
    asked,
    1,
  );
  return two.evidence > whole.evidence ? two : whole;
}

/**
 * The set with one of its points free to be off in any direction, the best of them, or null. Atoms
 * that join one by one do not get there: one part of a displacement explains little while another
 * is still in.
 */
export function wholeSites(
  model: PanelModel,
  scorer: MixtureScorer,
  set: FaultSet,
  asked: readonly number[],
): FaultSet | null {
  const points = [...new Set(set.atoms.map((atom) => model.atoms.list[atom].point))].filter(
    (point) =>
      point >= 0 && set.atoms.filter((atom) => model.atoms.list[atom].point === point).length < 3,
  );
  return points.reduce<FaultSet | null>((best, point) => {
    const found = wholeSite(model, scorer, set, point, asked);
    return found && (!best || found.evidence > best.evidence) ? found : best;
  }, null);
}
