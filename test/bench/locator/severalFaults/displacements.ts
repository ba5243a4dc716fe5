import type { ControlNet } from '../../../../src/geometry/controlNet.ts';
import { length, scaled, sum, unit, type Vector } from '../../../../src/geometry/vector.ts';
import { evidenceTable } from './evidenceTable.ts';
import { faultSetting, type FaultSetting } from './faultSetting.ts';
import { judgedAtoms, judgedLeader, tempered, type JudgedAtom } from './judgedAtoms.ts';
import { wholeFit, type FaultSet } from './jointFit.ts';
import { likeliestSet, type LikeliestSet } from './likeliestSet.ts';
import type { Density } from '../../../learn/robustDensity.ts';
import { residual } from './setting.ts';
import type { SpectrumTables } from '../../../../src/measure/locator/spectrumTables.ts';

/** A point off along its normal, a point slid within the surface, or a whole line off. */
export interface Displacement {
  readonly kind: 'point' | 'drift' | 'row' | 'column';
  /** Null for a column. */
  readonly row: number | null;
  /** Null for a row. */
  readonly column: number | null;
  /** Where it is minus where it is expected, mm, in the axes of the model; of a line, its middle. */
  readonly displacement: Vector;
  /** Standard deviation of its length, mm. */
  readonly deviation: number;
  /** ln odds that this is at fault, given the other displacements, nats. */
  readonly logOdds: number;
  readonly confidence: number;
  readonly certainty: 'named' | 'uncertain';
  /** What all displacements together explain better than none, nats. */
  readonly gain: number;
}

/** Probability from which a displacement is named, and reported, by kind of atom. */
const namedFrom = { point: 0.88, drift: 0.93, line: 0.99, run: Infinity } as const;
const reportedFrom = 0.3;
/** Shares of the panel's size: least that the surface shows, least that is named, by kind. */
const leastVisible = 8e-5;
const leastNamed = { point: 0, drift: 8e-4, line: 4e-4, run: 4e-4 } as const;
/** Fewer points do not tell several displacements apart. */
const leastForSeveral = 25;
/** Nats by which several displacements together must win for each to be even odds. */
const setShift = 10.5;
/** A member of a named line that is off by less than this share of the line belongs to it. */
const memberShare = 0.7;
const mostTakenBack = 3;

/** The judged atoms of a net, and what the set gains. */
interface Verdict {
  readonly set: FaultSet;
  readonly judged: readonly JudgedAtom[];
  readonly gain: number;
}

/** Where nothing wins: the leader, at most at even odds. */
function runnerUp(setting: FaultSetting, { clean }: LikeliestSet): JudgedAtom[] {
  const [leader] = clean.extensions;
  const judged =
    leader && judgedLeader(setting, clean.set.evidence, clean.extensions, leader.atoms[0]);
  return judged ? [{ ...judged, confidence: Math.min(judged.confidence, 0.5) }] : [];
}

/** The set judged, the weakest atoms taken back one by one. */
function verdict(setting: FaultSetting): Verdict {
  const found = likeliestSet(setting);
  const nothing = found.clean.set.evidence;
  const everyHand = Array.from(setting.hands.keys());
  let { set } = found;
  if (set.atoms.length === 0) return { set, judged: runnerUp(setting, found), gain: 0 };
  let judged = found.judged ?? judgedAtoms(setting, set, everyHand).judged;
  for (let round = 0; round < mostTakenBack && judged.length > 1; round++) {
    const weakest = judged.reduce((a, b) => (b.confidence < a.confidence ? b : a));
    if (weakest.confidence >= reportedFrom) break;
    const kept = judged.filter((one) => one !== weakest);
    set = wholeFit(
      setting,
      kept.map(({ atom }) => atom),
      kept.map(({ strength }) => strength),
      everyHand,
    );
    ({ judged } = judgedAtoms(setting, set, everyHand));
  }
  return { set, judged, gain: set.evidence - nothing };
}

/** Geometric mean of the unevenness left by a set, per mille; 0 where there is no set. */
function meanHand(setting: FaultSetting, { atoms, strengths }: FaultSet): number {
  if (atoms.length === 0) return 0;
  const everyHand = Array.from(setting.hands.keys());
  const { byHand, total } = evidenceTable(setting, residual(setting, atoms, strengths), everyHand);
  return Math.exp(
    byHand.reduce((mean, e, h) => mean + Math.exp(e - total) * Math.log(setting.hands[h]), 0),
  );
}

/** Direction of an atom in the frame: of a line, the mean of its points' moves. */
function directionOf({ atoms, spectrum }: FaultSetting, atom: number): Vector {
  const { kind, point, way } = atoms.list[atom];
  if (kind !== 'line') {
    const [x, y, z] = atoms.directions[way].subarray(3 * point, 3 * point + 3);
    return [x, y, z];
  }
  const { members, strengths } = atoms.lineMove(atom);
  let total: Vector = [0, 0, 0];
  members.forEach((k, q) => {
    const [x, y, z] = spectrum.normals.subarray(3 * k, 3 * k + 3);
    total = sum(total, scaled([x, y, z], strengths[q]));
  });
  return unit(total) ?? [0, 0, 0];
}

function displacementOf(
  setting: FaultSetting,
  { atom, strength, deviation, logOdds, confidence: alone }: JudgedAtom,
  { set, gain }: Verdict,
  hand: number,
): Displacement | null {
  const { spectrum, atoms } = setting;
  const { kind, i, j, peak } = atoms.list[atom];
  const several = set.atoms.length > 1;
  const confidence = several ? Math.min(alone, tempered(gain - setShift, 0)) : alone;
  const size = Math.abs(strength);
  const visible = (size * peak) / 1000;
  const isSure = size > (logOdds > 12 ? 2 : 4) * deviation && size > 4 * hand;
  const isNamed =
    confidence > namedFrom[kind] &&
    (spectrum.pointCount >= leastForSeveral || !several) &&
    isSure &&
    visible > leastVisible &&
    size / 1000 > leastNamed[kind];
  const isReported =
    confidence > reportedFrom && visible > leastVisible / 2 && size / 1000 > 0.5 * leastNamed[kind];
  if (!isNamed && !isReported) return null;
  const scale = spectrum.size / 1000;
  const own = directionOf(setting, atom);
  const direction = spectrum.frame.reduce<Vector>(
    (total, way, axis) => sum(total, scaled(way, own[axis])),
    [0, 0, 0],
  );
  const [row, column] = spectrum.swapped ? [i, j] : [j, i];
  return {
    kind: kind === 'point' || kind === 'drift' ? kind : row === null ? 'column' : 'row',
    row,
    column,
    displacement: scaled(direction, strength * scale),
    deviation: deviation * scale,
    logOdds,
    confidence,
    certainty: isNamed ? 'named' : 'uncertain',
    gain,
  };
}

/** The parts of one point, along its normal and within the surface, are one displacement. */
function merged(all: readonly Displacement[]): Displacement[] {
  const made: Displacement[] = [];
  for (const one of all.toSorted((a, b) => b.confidence - a.confidence)) {
    const at = made.findIndex(
      ({ row, column }) =>
        row !== null && column !== null && row === one.row && column === one.column,
    );
    if (at < 0) {
      made.push(one);
      continue;
    }
    const first = made[at];
    made[at] = {
      ...first,
      displacement: sum(first.displacement, one.displacement),
      kind: one.kind === 'point' ? 'point' : first.kind,
      certainty: one.certainty === 'named' ? 'named' : first.certainty,
    };
  }
  return made;
}

/** A point on a named line only mends its profile; one that is off further stays, uncertain. */
function folded(all: readonly Displacement[]): Displacement[] {
  const lines = all.filter(
    ({ kind, certainty }) => (kind === 'row' || kind === 'column') && certainty === 'named',
  );
  return all.flatMap((one): Displacement[] => {
    if (one.kind === 'row' || one.kind === 'column') return [one];
    const through = lines.filter(
      ({ row, column }) =>
        (row !== null && row === one.row) || (column !== null && column === one.column),
    );
    if (through.length === 0) return [one];
    const most = Math.max(...through.map(({ displacement }) => length(displacement)));
    if (length(one.displacement) < memberShare * most) return [];
    return [{ ...one, certainty: 'uncertain' }];
  });
}

/**
 * The displacements of one net, by a density of the caller's choice; `isWindow`
 * where the net is part of a larger one.
 */
export function displacementsBy(
  net: ControlNet,
  tables: SpectrumTables,
  density: Density,
  hand: number | null,
  isWindow: boolean,
): Displacement[] {
  const setting = faultSetting(net, tables, density, hand, isWindow);
  const told = verdict(setting);
  const uneven = meanHand(setting, told.set);
  const all = told.judged.flatMap((one) => displacementOf(setting, one, told, uneven) ?? []);
  return folded(merged(all));
}
