import { diagonal, pointAt, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import { difference, length, type Vector } from '../geometry/vector.ts';
import { learnedSpectra } from './locator/learnedSpectra.ts';
import { MixtureScorer } from './locator/mixtureScorer.ts';
import {
  netFaults,
  remainders,
  samePlace,
  type FaultPlace,
  type NetFault,
  type Run,
} from './locator/netFaults.ts';
import { netWindows, offCentre, type NetWindow } from './netWindows.ts';

/** One control point, or a row or column, whole or a run of it, that is off the run of its net. */
export interface Displacement extends Omit<NetFault, 'moves'> {
  /** Each of its points: where it is, minus where it is expected, and where it is expected; mm. */
  readonly points: readonly {
    readonly spot: Spot;
    readonly displacement: Vector;
    readonly expected: Vector;
  }[];
}

type Hindrance = 'too-small' | 'too-large' | 'no-extent' | 'inner-break';

export type LocatorResult =
  | { readonly kind: 'undecided'; readonly reason: Hindrance }
  | {
      readonly kind: 'measured';
      /** Unevenness of single points that remains when the displacements are taken away, mm. */
      readonly hand: number;
      /** By falling log odds. */
      readonly displacements: readonly Displacement[];
    };

/** Below four points a side nothing is left over to be judged. */
const leastSide = 4;
/** A second or two of work; a net built by hand has a tenth of this. */
const mostPoints = 2500;

let scorer: MixtureScorer | null = null;
const ownScorer = (): MixtureScorer => (scorer ??= new MixtureScorer(learnedSpectra()));

/** True where two control points stand for the same parameter: the net may break there. */
function breaks(net: ControlNet): boolean {
  return ([0, 1] as const).some((side) => {
    const abscissae = grevilleAbscissae(net.knots[side], net.degree[side]);
    const least = 1e-9 * (abscissae[abscissae.length - 1] - abscissae[0]);
    return abscissae.some((value, i) => i > 0 && !(value - abscissae[i - 1] > least));
  });
}

/** Why a net cannot be judged, or null. */
function hindrance(net: ControlNet): Hindrance | null {
  if (net.columns < leastSide || net.rows < leastSide) return 'too-small';
  if (net.columns * net.rows > mostPoints) return 'too-large';
  const size = diagonal(net);
  if (!(size > 0) || !Number.isFinite(size)) return 'no-extent';
  return breaks(net) ? 'inner-break' : null;
}

const shiftedRun = ({ run }: { readonly run?: Run }, by: number): { readonly run?: Run } =>
  run ? { run: [run[0] + by, run[1] + by] } : {};

/** A place of a window, counted in the whole net. */
function wholePlace({ row, column }: NetWindow, place: FaultPlace): FaultPlace {
  switch (place.kind) {
    case 'point':
      return { kind: 'point', row: place.row + row, column: place.column + column };
    case 'row':
      return { ...place, row: place.row + row, ...shiftedRun(place, column) };
    case 'column':
      return { ...place, column: place.column + column, ...shiftedRun(place, row) };
  }
}

/** How far a place is from the middle of a window, in windows; a whole line by its own index alone. */
function placeOffCentre(window: NetWindow, place: FaultPlace): number {
  const { net, row, column } = window;
  const middleRow = row + (net.rows - 1) / 2;
  const middleColumn = column + (net.columns - 1) / 2;
  const middleOf = ([first, last]: Run): number => (first + last) / 2;
  if (place.kind === 'row')
    return offCentre(window, place.row, place.run ? middleOf(place.run) : middleColumn);
  if (place.kind === 'column')
    return offCentre(window, place.run ? middleOf(place.run) : middleRow, place.column);
  return offCentre(window, place.row, place.column);
}

/** A fault of a window as one of the whole net. */
function displacement(whole: ControlNet, window: NetWindow, fault: NetFault): Displacement {
  const { moves, ...rest } = fault;
  return {
    ...rest,
    place: wholePlace(window, fault.place),
    rivals: fault.rivals.map((rival) => ({ ...rival, place: wholePlace(window, rival.place) })),
    points: moves.map(({ spot, by }) => {
      const own = { row: spot.row + window.row, column: spot.column + window.column };
      return {
        spot: own,
        displacement: by,
        expected: difference(pointAt(whole, own.row, own.column), by),
      };
    }),
  };
}

/** Parts of one line from several windows as one: the surest speaks for it, points are joined. */
function joined(parts: readonly Displacement[]): Displacement {
  const [first] = parts;
  const points = parts.flatMap((part) => part.points);
  const once = points.filter(
    ({ spot }, k) =>
      points.findIndex((p) => p.spot.row === spot.row && p.spot.column === spot.column) === k,
  );
  return { ...first, points: once };
}

/**
 * Control points and lines off the run of their net. The net's coefficients on discrete polynomials
 * are compared with those of smooth panels (a learned mixture of spectra); a displaced point or line
 * changes all of them a little. The set of displacements that explains the net best is told, each
 * with what speaks for it; where nothing is likely, the likeliest with its low odds.
 *
 * Nothing changes when the net is moved, turned, mirrored, scaled, transposed or reversed. Weights
 * of rational nets are left out of account. Over 14 points a side the net is judged in overlapping
 * windows of 12, each place where it is most central. `hand` is the unevenness of single points in
 * mm, or null where it is not known.
 */
export function displacements(net: ControlNet, hand: number | null): LocatorResult {
  const reason = hindrance(net);
  if (reason) return { kind: 'undecided', reason };
  const windows = netWindows(net);
  const isWindow = windows.length > 1;
  const told = windows.map((window) =>
    netFaults(window.net, ownScorer(), learnedSpectra(), hand, isWindow),
  );
  const central = told.flatMap(({ faults }, w) =>
    faults
      .map((fault) => displacement(net, windows[w], fault))
      .filter(({ place }) => {
        const nearest = Math.min(...windows.map((other) => placeOffCentre(other, place)));
        return placeOffCentre(windows[w], place) <= nearest + 1e-9;
      }),
  );
  central.sort((a, b) => b.logOdds - a.logOdds);
  const places = central
    .map(({ place }) => place)
    .filter((place, k, all) => all.findIndex((other) => samePlace(other, place)) === k);
  const hands = told.map((one) => one.hand).sort((a, b) => a - b);
  return {
    kind: 'measured',
    hand: (hands[(hands.length - 1) >> 1] + hands[hands.length >> 1]) / 2,
    displacements: places.map((place) =>
      joined(central.filter((part) => samePlace(part.place, place))),
    ),
  };
}

/**
 * How far off each point or line is still measured to be, whatever speaks for it: what a nudge
 * leaves, mm; null where the net cannot be judged.
 */
export function remaining(
  net: ControlNet,
  places: readonly FaultPlace[],
  hand: number | null,
): number[] | null {
  if (hindrance(net)) return null;
  const windows = netWindows(net);
  const central = places.map((place) =>
    windows.reduce((a, b) => (placeOffCentre(b, place) < placeOffCentre(a, place) ? b : a)),
  );
  const left = places.map(() => 0);
  for (const window of new Set(central)) {
    const own = places.flatMap((_, k) => (central[k] === window ? [k] : []));
    const start = { ...window, row: -window.row, column: -window.column };
    const inWindow = own.map((k) => wholePlace(start, places[k]));
    const isWindow = windows.length > 1;
    remainders(window.net, ownScorer(), learnedSpectra(), hand, isWindow, inWindow).forEach(
      (by, at) => (left[own[at]] = length(by)),
    );
  }
  return left;
}
