import { unevenNet } from '../../../fixtures/panelFamilies.ts';
import { seededRandom, type SeededRandom } from '../../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet, type Spot } from '../../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../../src/geometry/evaluation.ts';
import { domain, grevilleAbscissae, spanCount } from '../../../src/geometry/knots.ts';
import { length, scaled, sum, unit, type Vector } from '../../../src/geometry/vector.ts';
import type { Run } from '../../../src/measure/locator/netFaults.ts';
import { visibleEffect } from '../../../src/measure/visibleEffect.ts';
import { isClear } from './isClear.ts';
import { leaveOneOutError } from './ownSpectrum.ts';
import { sizedNet } from './sizedNet.ts';

/** Where panels of one kind come from. */
export interface Family {
  readonly name: string;
  readonly kind: 'fair' | 'honest-feature' | 'published';
  readonly net: (random: SeededRandom) => ControlNet;
}

/** Unevenness of the hand, mm per 1200 mm: the deviation of every coordinate. */
export const hands = [0, 0.01, 0.05, 0.2] as const;
/** How far points are displaced, mm per 1200 mm; the last only within the surface. */
export const sizes = [0.25, 0.5, 1, 2, 5, 8] as const;
export const lineSizes = [1, 2, 5] as const;
export const ways = ['normal', 'row', 'column', 'oblique'] as const;
export const places = ['interior', 'next-to-edge', 'edge', 'corner'] as const;
export type Way = (typeof ways)[number];
export type Place = (typeof places)[number];

/** A displaced point: the truth a method is held against. */
export interface Slip {
  readonly spot: Spot;
  /** Where it is minus where it was, mm. */
  readonly moved: Vector;
  readonly by: number;
  readonly way: Way;
  readonly place: Place;
  /** Peak movement of the surface, mm. */
  readonly seen: number;
  readonly clear: boolean;
}

export interface DisplacedLine {
  readonly along: 'row' | 'column';
  readonly index: number;
  readonly by: number;
  /** Lines of that direction in the net, and spans across them. */
  readonly count: number;
  readonly spans: number;
}

/** A run of a line: at least three of its points, not all. */
export interface DisplacedRun extends Omit<DisplacedLine, 'count' | 'spans'> {
  readonly run: Run;
}

/** How many points are displaced, or a whole line, or a run of one. */
export type Question = 0 | 1 | 2 | 3 | 5 | 'line' | 'run';

export interface PanelCase {
  readonly family: string;
  readonly kind: Family['kind'];
  readonly hand: number;
  readonly question: Question;
  /** Before the hand and what was displaced. */
  readonly given: ControlNet;
  readonly net: ControlNet;
  readonly pointCount: number;
  readonly slips: readonly Slip[];
  readonly line: DisplacedLine | null;
  readonly run: DisplacedRun | null;
  /** Deviation of leave-one-out (method D) before anything was displaced, mm; null if not asked. */
  readonly ownError: number | null;
}

/** Unit directions at a control point: the surface's normal and its row and column. */
function directions(net: ControlNet, spot: Spot): Record<'normal' | 'row' | 'column', Vector> {
  const [u, v] = ([0, 1] as const).map((side) => {
    const [low, high] = domain(net.knots[side], net.degree[side]);
    const at = [spot.column, spot.row][side];
    const abscissa = grevilleAbscissae(net.knots[side], net.degree[side])[at];
    return Math.min(high, Math.max(low, abscissa));
  });
  const jet = surfaceJet(net, u, v);
  return {
    normal: surfaceNormal(jet) ?? [0, 0, 1],
    row: unit(jet.u) ?? [1, 0, 0],
    column: unit(jet.v) ?? [0, 1, 0],
  };
}

function move(net: ControlNet, spot: Spot, way: Way, by: number, random: SeededRandom): Vector {
  const { normal, row, column } = directions(net, spot);
  const sign = random.uniform() < 0.5 ? -by : by;
  const angle = random.between(0, 2 * Math.PI);
  const tilt = (random.between(20, 70) * Math.PI) / 180;
  if (way !== 'oblique') return scaled({ normal, row, column }[way], sign);
  const within = unit(sum(scaled(row, Math.cos(angle)), scaled(column, Math.sin(angle)))) ?? row;
  return scaled(sum(scaled(normal, Math.cos(tilt)), scaled(within, Math.sin(tilt))), sign);
}

function placeOf(net: ControlNet, { row, column }: Spot): Place {
  const inside = [Math.min(row, net.rows - 1 - row), Math.min(column, net.columns - 1 - column)];
  if (inside[0] === 0 && inside[1] === 0) return 'corner';
  const least = Math.min(...inside);
  return least === 0 ? 'edge' : least === 1 ? 'next-to-edge' : 'interior';
}

const one = <T>(list: readonly T[], random: SeededRandom): T => list[random.index(list.length)];

/** Half of the displacements along the normal, the rest within the surface or oblique. */
function slipAt(net: ControlNet, spot: Spot, ownError: number, random: SeededRandom): Slip {
  const way = random.uniform() < 0.5 ? 'normal' : one(ways.slice(1), random);
  const by = one(way === 'row' || way === 'column' ? sizes : sizes.slice(0, -1), random);
  const moved = move(net, spot, way, by, random);
  const seen = visibleEffect(net, [{ spot: spot, by: moved }]).peak;
  const place = placeOf(net, spot);
  return { spot, moved, by, way, place, seen, clear: isClear(length(moved), ownError, seen) };
}

/** Draws after which a net is taken to have no clear displacement of these sizes. */
const mostDraws = 60;

/** Slips at different spots; half of the panels are drawn again and again until theirs are clear. */
function slips(net: ControlNet, count: number, ownError: number, random: SeededRandom): Slip[] {
  const wantClear = random.uniform() < 0.5;
  const left = Array.from({ length: net.rows * net.columns }, (_, k) => k);
  return Array.from({ length: count }, () => {
    const draw = (): Slip => {
      const k = one(left, random);
      const spot = { row: Math.floor(k / net.columns), column: k % net.columns };
      return slipAt(net, spot, ownError, random);
    };
    let slip = draw();
    for (let k = 0; wantClear && !slip.clear && k < mostDraws; k++) slip = draw();
    left.splice(left.indexOf(slip.spot.row * net.columns + slip.spot.column), 1);
    return slip;
  });
}

/** Fewest points of a run, and of its line beside it. */
const shortestRun = 3;
const leastBeside = 2;
/** Fewest points along a line of which a run may be off. */
const leastForRun = 6;

/** Whether lines of one side (0: columns) are many enough, and long enough for a run. */
function hasLines({ columns, rows }: ControlNet, side: 0 | 1, question: 'line' | 'run'): boolean {
  const [count, length] = side === 0 ? [columns, rows] : [rows, columns];
  return count >= 5 && (question === 'line' || length >= leastForRun);
}

const canAsk = (net: ControlNet, question: 'line' | 'run'): boolean =>
  hasLines(net, 0, question) || hasLines(net, 1, question);

/** A line in the inside of a net, moved as a whole or a run of it along its members' normals. */
function shiftedLine(
  net: ControlNet,
  question: 'line' | 'run',
  random: SeededRandom,
): { net: ControlNet; line: DisplacedLine & DisplacedRun } {
  const able = ([0, 1] as const).filter((side) => hasLines(net, side, question));
  const side = one(able, random);
  const [count, length] = side === 0 ? [net.columns, net.rows] : [net.rows, net.columns];
  const index = 1 + random.index(count - 2);
  const by = one(lineSizes, random);
  const sign = random.uniform() < 0.5 ? -by : by;
  const size =
    question === 'line'
      ? length
      : shortestRun + random.index(length - leastBeside - shortestRun + 1);
  const first = question === 'line' ? 0 : random.index(length - size + 1);
  const moves = Array.from({ length: size }, (_, k) => {
    const at = first + k;
    const spot = side === 0 ? { row: at, column: index } : { row: index, column: at };
    return { spot, by: scaled(directions(net, spot).normal, sign) };
  });
  const spans = spanCount(net.knots[side], net.degree[side]);
  const along = side === 0 ? 'column' : 'row';
  return {
    net: withMoves(net, moves),
    line: { along, index, by, count, spans, run: [first, first + size - 1] },
  };
}

/** A panel of 1200 mm with an uneven hand and what is asked of it; one seed, one case. */
export function panelCase(
  family: Family,
  hand: number,
  question: Question,
  seed: number,
): PanelCase | null {
  const random = seededRandom(seed);
  let fair = family.net(random);
  const onLine = question === 'line' || question === 'run';
  for (let k = 0; onLine && !canAsk(fair, question) && k < 40; k++) fair = family.net(random);
  if (onLine && !canAsk(fair, question)) return null;
  const given = sizedNet(fair);
  const uneven = unevenNet(given, random, hand);
  const about = {
    given,
    family: family.name,
    kind: family.kind,
    hand,
    question,
    pointCount: uneven.rows * uneven.columns,
  };
  const nothing = { slips: [], line: null, run: null, ownError: null };
  if (onLine) {
    const { net, line } = shiftedLine(uneven, question, random);
    return { ...about, ...nothing, net, [question]: line };
  }
  if (question === 0) return { ...about, ...nothing, net: uneven };
  const ownError = leaveOneOutError(uneven);
  const drawn = slips(uneven, question, ownError, random);
  const net = withMoves(
    uneven,
    drawn.map(({ spot, moved }) => ({ spot, by: moved })),
  );
  return { ...about, ...nothing, net, slips: drawn, ownError };
}
