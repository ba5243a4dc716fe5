import type { ControlNet, Spot } from '../../geometry/controlNet.ts';
import { length, scaled, sum, type Vector } from '../../geometry/vector.ts';
import { isLinear, type Atom, type LineMove } from './atoms.ts';
import { firstLook, lastAtom } from './extensions.ts';
import { indexOfMost, middleOfMost } from './fallingOrder.ts';
import {
  fittedSet,
  guessesAt,
  jointFit,
  look,
  residual,
  settledSet,
  type FaultSet,
  type Look,
} from './faultSets.ts';
import { judgedSite, judgedSites, type JudgedSite } from './judgedSites.ts';
import { likeliestSet, type LikeliestSet } from './likeliestSet.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import { deviation } from './normalEquations.ts';
import { panelModel, type PanelModel } from './panelModel.ts';
import type { SpectrumTables } from './spectrumTables.ts';

/** A point, a whole line of the net, or the run of a line between two of its points. */
export type FaultPlace =
  | { readonly kind: 'point'; readonly row: number; readonly column: number }
  | { readonly kind: 'row'; readonly row: number; readonly run?: Run }
  | { readonly kind: 'column'; readonly column: number; readonly run?: Run };

/** First and last point of a run, counted along its line. */
export type Run = readonly [first: number, last: number];

const rowOf = (place: FaultPlace): number => (place.kind === 'column' ? -1 : place.row);
const columnOf = (place: FaultPlace): number => (place.kind === 'row' ? -1 : place.column);

const runOf = (place: FaultPlace): Run | null =>
  place.kind === 'point' ? null : (place.run ?? null);

export const samePlace = (a: FaultPlace, b: FaultPlace): boolean =>
  rowOf(a) === rowOf(b) && columnOf(a) === columnOf(b) && runOf(a)?.join() === runOf(b)?.join();

/** How much speaks for one fault. */
export interface FaultOdds {
  /** ln odds that the fault is here rather than elsewhere or nowhere, the others in place, nats. */
  readonly logOdds: number;
  /** What it explains better than nothing at its place, nats. */
  readonly gain: number;
  /** What all faults of the net together explain better than none, nats; their number. */
  readonly setGain: number;
  readonly setSize: number;
}

/** A point or a line that is not where the rest of the net leads one to expect it. */
export interface NetFault extends FaultOdds {
  readonly place: FaultPlace;
  /** Kind of its strongest part: along the normal, within the surface, or a line. */
  readonly part: Atom['kind'];
  /** Where each of its points is minus where it is expected, mm in the axes of the model. */
  readonly moves: readonly { readonly spot: Spot; readonly by: Vector }[];
  /** Where it is minus where it is expected; of a line, its member that is farthest off, mm. */
  readonly displacement: Vector;
  /** Standard deviation of its length, mm. */
  readonly deviation: number;
  /** Other places it may be at, nats behind it, and how far off each would be, if that was fitted. */
  readonly rivals: readonly {
    readonly place: FaultPlace;
    readonly behind: number;
    readonly displacement: Vector | null;
  }[];
}

export interface NetFaults {
  /** Unevenness of single points that remains, mm. */
  readonly hand: number;
  readonly faults: readonly NetFault[];
}

/** Rounds in which the weakest of a set is taken back, and the ln odds under which it is. */
const mostTakenBack = 3;
const leastOdds = -0.4;
/** Where nothing wins, a leader with lower ln odds is not worth telling. */
const leastTold = -3;
/**
 * Nets whose first look gains less have nothing that is told, nats: of the benchmark's 3662 nets of
 * at most 14 points a side 226 gained less, none of them with anything to tell; between -4 and -3 a
 * few have something probable.
 */
const leastFirstGain = -4;

/** Sites judged already, with the strengths of the settled set. */
const settledSites = (
  judged: readonly JudgedSite[] | null,
  set: FaultSet,
): readonly JudgedSite[] | null =>
  judged &&
  judged.map((one) => ({
    ...one,
    strengths: one.atoms.map((atom) => set.strengths[set.atoms.indexOf(atom)]),
  }));

/** A single site is judged by what was seen of the net without it. */
function sitesJudged(
  model: PanelModel,
  scorer: MixtureScorer,
  { set, clean }: LikeliestSet,
): readonly JudgedSite[] {
  const [site, ...others] = new Set(set.atoms.map((atom) => model.sites[atom]));
  if (others.length > 0) return judgedSites(model, scorer, set, model.everyHand).judged;
  const order = set.atoms.map((_, s) => s);
  order.sort((a, b) => Math.abs(set.strengths[b]) - Math.abs(set.strengths[a]));
  const told = {
    atoms: order.map((s) => set.atoms[s]),
    strengths: order.map((s) => set.strengths[s]),
    deviation: deviation(set.factor, set.atoms.length, order[0]),
  };
  return [judgedSite(model, clean, site, told, set.evidence)];
}

/** The set judged, the weakest sites taken back one by one. */
function judgedSet(
  model: PanelModel,
  scorer: MixtureScorer,
  found: LikeliestSet,
): { readonly set: FaultSet; readonly judged: readonly JudgedSite[] } {
  let { set } = found;
  if (set.atoms.length === 0) {
    const [leader] = found.clean.extensions;
    if (!leader) return { set, judged: [] };
    const asLeader = (one: FaultSet): JudgedSite => {
      const own = {
        atoms: one.atoms,
        strengths: [one.strengths[0]],
        deviation: deviation(one.factor, 1, 0),
      };
      return judgedSite(model, found.clean, model.sites[lastAtom(one)], own, one.evidence);
    };
    const quick = asLeader(leader);
    if (quick.logOdds < leastTold) return { set, judged: [] };
    return { set, judged: [asLeader(settledSet(model, scorer, leader))] };
  }
  set = settledSet(model, scorer, set);
  let judged = settledSites(found.judged, set) ?? sitesJudged(model, scorer, { ...found, set });
  for (let round = 0; round < mostTakenBack && judged.length > 1; round++) {
    const weakest = judged.reduce((a, b) => (b.logOdds < a.logOdds ? b : a));
    if (weakest.logOdds >= leastOdds) break;
    const kept = set.atoms.flatMap((atom, s) => (weakest.atoms.includes(atom) ? [] : [s]));
    const fitted = fittedSet(
      model,
      scorer,
      kept.map((s) => set.atoms[s]),
      Float64Array.from(kept, (s) => set.strengths[s]),
      model.everyHand,
      2,
    );
    set = settledSet(model, scorer, fitted);
    ({ judged } = judgedSites(model, scorer, set, model.everyHand));
  }
  return { set, judged };
}

/** Geometric mean of the unevenness left by a set, per mille. */
function meanHand({ hands }: PanelModel, { byHand, total }: Look): number {
  return Math.exp(
    byHand.reduce((sofar, log, h) => sofar + Math.exp(log - total) * Math.log(hands[h]), 0),
  );
}

function placeOf({ spectrum, atoms }: PanelModel, atom: number): FaultPlace {
  const { kind, i, j, from, to } = atoms.list[atom];
  const [column, row] = spectrum.swapped ? [j, i] : [i, j];
  if (!isLinear(kind)) return { kind: 'point', row: row ?? 0, column: column ?? 0 };
  const run = from === undefined || to === undefined ? {} : ({ run: [from, to] } as const);
  return row === null
    ? { kind: 'column', column: column ?? 0, ...run }
    : { kind: 'row', row, ...run };
}

/** Displacements of the points of a site, mm, in the axes of the model. */
function movesOf(
  model: PanelModel,
  { atoms: own, strengths }: Pick<JudgedSite, 'atoms' | 'strengths'>,
): NetFault['moves'] {
  const { spectrum, atoms } = model;
  const scale = spectrum.size / 1000;
  const [, m] = spectrum.count;
  const spotOf = (k: number): Spot => {
    const [i, j] = [Math.floor(k / m), k % m];
    return spectrum.swapped ? { row: i, column: j } : { row: j, column: i };
  };
  const inModel = (x: number, y: number, z: number, by: number): Vector =>
    [x, y, z].reduce<Vector>(
      (total, part, axis) => sum(total, scaled(spectrum.frame[axis], part * by * scale)),
      [0, 0, 0],
    );
  const moved = new Map<number, Vector>();
  own.forEach((atom, s) => {
    const { kind, point, way } = atoms.list[atom];
    const field = isLinear(kind) ? spectrum.normals : atoms.directions[way];
    const { members, strengths: shares }: LineMove = isLinear(kind)
      ? atoms.lineMove(atom)
      : { members: [point], strengths: [1] };
    members.forEach((k, q) => {
      const by = inModel(
        field[3 * k],
        field[3 * k + 1],
        field[3 * k + 2],
        strengths[s] * shares[q],
      );
      if (by.some((part) => part !== 0)) moved.set(k, sum(moved.get(k) ?? [0, 0, 0], by));
    });
  });
  return [...moved].sort(([a], [b]) => a - b).map(([k, by]) => ({ spot: spotOf(k), by }));
}

/** The displacement of the member that is farthest off; of a line that is off alike, its middle. */
const largestMove = (moves: NetFault['moves']): Vector =>
  moves[middleOfMost(moves.map(({ by }) => length(by)))]?.by ?? [0, 0, 0];

/**
 * The faults of one net or window: the likeliest set of displaced points and lines, each judged
 * against nothing and against its rivals. Where nothing wins, the likeliest one is told with its low
 * odds. `hand` is the unevenness of single points in mm, or null where it is not known.
 */
export function netFaults(
  net: ControlNet,
  scorer: MixtureScorer,
  tables: SpectrumTables,
  hand: number | null,
  isWindow: boolean,
): NetFaults {
  const model = panelModel(net, tables, hand, isWindow);
  const scale = model.spectrum.size / 1000;
  const first = firstLook(model, scorer);
  if (first.gain < leastFirstGain) return { hand: meanHand(model, first.base) * scale, faults: [] };
  const found = likeliestSet(model, scorer);
  const { set, judged } = judgedSet(model, scorer, found);
  const setGain = set.evidence - found.clean.set.evidence;
  return {
    hand: meanHand(model, set.look) * scale,
    faults: judged.map((one): NetFault => {
      const moves = movesOf(model, one);
      return {
        place: placeOf(model, one.atoms[0]),
        part: model.atoms.list[one.atoms[0]].kind,
        moves,
        displacement: largestMove(moves),
        deviation: one.deviation * scale,
        logOdds: one.logOdds,
        gain: one.gain,
        setGain: set.atoms.length > 0 ? setGain : one.gain,
        setSize: Math.max(1, judged.length),
        rivals: one.rivals.map(({ atom, strength, behind }) => ({
          place: placeOf(model, atom),
          behind,
          displacement:
            strength === 0
              ? null
              : largestMove(movesOf(model, { atoms: [atom], strengths: [strength] })),
        })),
      };
    }),
  };
}

/**
 * What is still measured of a displacement at some places, whatever speaks for it: its largest
 * member, mm in the axes of the model.
 */
export function remainders(
  net: ControlNet,
  scorer: MixtureScorer,
  tables: SpectrumTables,
  hand: number | null,
  isWindow: boolean,
  places: readonly FaultPlace[],
): Vector[] {
  const model = panelModel(net, tables, hand, isWindow);
  return places.map((place) => {
    const atoms = model.atoms.list.flatMap(({ kind, way }, k) =>
      (!isLinear(kind) || way === 0) && samePlace(placeOf(model, k), place) ? [k] : [],
    );
    let strengths: Float64Array = new Float64Array(atoms.length);
    for (let round = 0; round < 3; round++) {
      const left = residual(model, atoms, strengths);
      const seen = look(model, scorer, model.mixture, left, model.everyHand);
      const best = indexOfMost(seen.byHand);
      const own = { atoms, strengths };
      const guesses = guessesAt(seen, best);
      ({ strengths } = jointFit(model, scorer, own, model.mixture, guesses, best, 2));
    }
    return largestMove(movesOf(model, { atoms, strengths: Array.from(strengths) }));
  });
}
