import { pulls, stiffnesses } from './atomPulls.ts';
import { guessesAt, type Coefficients, type Look } from './faultSets.ts';
import { leaders } from './fallingOrder.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import type { PanelModel } from './panelModel.ts';
import { plainDecays, type Particles } from './spectrumMixture.ts';

/** Weights of the coefficients on the three axes. */
type Weights = readonly Float64Array[];

/** An atom that may be at fault, and strengths it may have. */
export interface Suggestion {
  readonly atom: number;
  readonly starts: number[];
}

/** Atoms of each kind (point, drift, line, run) that each way of weighing sends on. */
const sentOn = [3, 2, 2, 2];
/** Nats that an atom must explain under some weights to be sent on. */
const leastWorth = 2;
/** Nats by which a run must explain more than any point or line to be sent on: it has more freedom. */
const runLead = 2;
/** Factors on a particle's variances, as powers of e: a fault makes it look rougher than it is. */
const tightenings = [0, -2, -4];
/** Coefficients this far above their variance are honest features, not noise: they count less. */
const outlying = 10;

/** Weights of the particles that like best what is left, as reweighted least squares has them. */
function robustWeights(
  { shifts }: PanelModel,
  mixture: readonly Particles[],
  { table }: MixtureScorer,
  left: Coefficients,
  seen: Look,
  hand: number,
): Weights {
  const guesses = guessesAt(seen, hand);
  return left.map((values, axis) => {
    const { particle, temperament } = guesses[axis];
    const { nodes } = mixture[axis];
    const from = particle * values.length;
    return values.map((value, c) =>
      table.weight(value * value, shifts[hand], nodes[from + c], temperament),
    );
  });
}

/** Weights of one particle an axis, its variances all changed by a factor. */
function gaussianWeights(
  { hands }: PanelModel,
  mixture: readonly Particles[],
  left: Coefficients,
  particles: readonly number[],
  hand: number,
  factor: number,
): Weights {
  const noise = hands[hand] * hands[hand];
  return left.map((values, axis) => {
    const { variances } = mixture[axis];
    const from = particles[axis] * values.length;
    return values.map((value, c) => {
      const weight = 1 / (variances[from + c] * factor + noise);
      return weight / (1 + (weight * value * value) / outlying);
    });
  });
}

/** Weights of what no polynomial of a low degree in u nor in v explains, as if all of it were the hand's. */
function mixedWeights(
  { spectrum, hands }: PanelModel,
  left: Coefficients,
  low: number,
  hand: number,
): Weights {
  const { degrees, count } = spectrum;
  const weight = 1 / (hands[hand] * hands[hand]);
  const [leastU, leastV] = [Math.min(low, count[0] - 2), Math.min(low, count[1] - 2)];
  const mask = Float64Array.from(degrees.u, (u, c) =>
    u >= leastU && degrees.v[c] >= leastV ? weight : 1e-6 * weight,
  );
  return left.map(() => mask);
}

/** Several weights for what is left: from those of the likeliest smooth spectrum to those of one much smoother. */
export function likelyWeights(
  model: PanelModel,
  scorer: MixtureScorer,
  mixture: readonly Particles[],
  left: Coefficients,
  seen: Look,
  asked: readonly number[],
): Weights[] {
  const byHand = leaders(seen.byHand, 2).filter((h) => asked.includes(h));
  const [best] = byHand;
  const lower = Math.max(0, best - 2);
  const liked = guessesAt(seen, best).map(({ particle }) => particle);
  const plain = plainDecays.map((shape) =>
    model.mixture.map(({ scaledCount }) => scaledCount - shape),
  );
  const tightened = (power: number): Weights =>
    gaussianWeights(model, mixture, left, liked, best, Math.exp(power));
  const asPlain = (particles: readonly number[]): Weights =>
    gaussianWeights(model, model.mixture, left, particles, lower, 1);
  return [
    ...byHand.map((h) => robustWeights(model, mixture, scorer, left, seen, h)),
    ...tightenings.map(tightened),
    gaussianWeights(model, mixture, left, liked, lower, Math.exp(-4)),
    ...plain.map(asPlain),
    mixedWeights(model, left, 2, best),
    mixedWeights(model, left, 3, best),
  ];
}

/** Each of the first `many` atoms by itself under some weights: its strength, and what that explains. */
function weighedAtoms(
  model: PanelModel,
  left: Coefficients,
  weights: Weights,
  many: number,
): { readonly strengths: Float64Array; readonly worth: Float64Array } {
  const pull = pulls(
    model,
    left.map((values, axis) => values.map((value, c) => value * weights[axis][c])),
    many,
  );
  const stiff = stiffnesses(model, weights, many);
  return {
    strengths: pull.map((value, atom) => value / (stiff[atom] + 1e-9)),
    worth: pull.map((value, atom) => (0.5 * value * value) / (stiff[atom] + 1e-9)),
  };
}

/** Strengths closer than this share of each other are one start. */
const alike = 0.25;

/**
 * Atoms that may be at fault in what is left of a panel: the best of each kind under several
 * weights, and those that are `forced`. `mixture` is what `seen` looked with; `allowed` says which
 * atoms may join (none behind its end).
 */
export function suggestions(
  model: PanelModel,
  scorer: MixtureScorer,
  mixture: readonly Particles[],
  left: Coefficients,
  seen: Look,
  asked: readonly number[],
  allowed: readonly boolean[],
  forced: readonly number[],
): Suggestion[] {
  const weighings = likelyWeights(model, scorer, mixture, left, seen, asked);
  const found = new Map<number, number[]>();
  const own = sentOn.map((_, kind) =>
    Array.from(allowed.keys()).filter((k) => model.kinds[k] === kind && allowed[k]),
  );
  for (const weights of weighings) {
    const { strengths, worth } = weighedAtoms(model, left, weights, allowed.length);
    let simplest = leastWorth;
    own.forEach((atoms, kind) => {
      const ranks = atoms.map((k) => worth[k]);
      const least = kind === 3 ? simplest + runLead : leastWorth;
      const heard = leaders(ranks, sentOn[kind])
        .filter((at) => ranks[at] > least)
        .map((at) => atoms[at]);
      if (heard.length > 0) simplest = Math.max(simplest, worth[heard[0]]);
      for (const atom of [...heard, ...forced.filter((k) => model.kinds[k] === kind)]) {
        const most = model.most[atom];
        const strength = Math.max(-most, Math.min(most, strengths[atom]));
        const starts = found.get(atom) ?? [];
        if (starts.every((other) => Math.abs(other - strength) > alike * Math.abs(other)))
          starts.push(strength);
        found.set(atom, starts);
      }
    });
  }
  return [...found].map(([atom, starts]) => ({ atom, starts })).sort((a, b) => a.atom - b.atom);
}
