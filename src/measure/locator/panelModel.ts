import type { ControlNet } from '../../geometry/controlNet.ts';
import { allAtoms, isLinear, type Atom, type Atoms } from './atoms.ts';
import { handShift } from './densityTable.ts';
import { atomKinds, cleanShare, edgeToll, handPrior, kindPriors } from './faultPriors.ts';
import { panelSpectrum, type PanelSpectrum } from './panelSpectrum.ts';
import { core, spectrumMixture, type Particles } from './spectrumMixture.ts';
import type { SpectrumTables } from './spectrumTables.ts';

/** One panel and all that may be said about it. Lengths are per mille of the panel's size. */
export interface PanelModel {
  readonly spectrum: PanelSpectrum;
  readonly atoms: Atoms;
  /** One mixture for each axis of the frame, and a few of its particles for a first look. */
  readonly mixture: readonly Particles[];
  readonly cores: readonly Particles[];
  /** Unevenness of single points that the hand may have left, rising, and ln of its probability. */
  readonly hands: Float64Array;
  readonly logHands: Float64Array;
  /** Indices of all of them. */
  readonly everyHand: readonly number[];
  /** Shift of each unevenness in the table of densities. */
  readonly shifts: Int32Array;
  /** ln of the prior odds of each atom. */
  readonly logOdds: Float64Array;
  /** Largest strength of each atom. */
  readonly most: Float64Array;
  /** Index of the kind (0 point, 1 drift, 2 line, 3 run) of each atom. */
  readonly kinds: Uint8Array;
  /** The same for atoms at one place: a point and its drifts, the profiles of one line; a run has its own. */
  readonly sites: Int32Array;
  /** The line that a line or run is of; -1 for points. */
  readonly lines: Int32Array;
}

const isNextToEdge = ({ kind, i, j }: Atom, [n, m]: readonly [number, number]): boolean =>
  kind === 'line' && (i === 1 || j === 1 || i === n - 2 || j === m - 2);

const lineOf = ({ kind, i, j }: Atom, { count }: PanelSpectrum): number =>
  isLinear(kind) ? (i ?? count[0] + (j ?? 0)) : -1;

/** Points first, then lines, then runs by their own number. */
function siteOf(atom: Atom, number: number, spectrum: PanelSpectrum): number {
  const { pointCount, count } = spectrum;
  if (atom.kind === 'run') return pointCount + count[0] + count[1] + number;
  return atom.kind === 'line' ? pointCount + lineOf(atom, spectrum) : atom.point;
}

/**
 * The model of a net with an extent and at least 4 x 4 points. `hand` is the unevenness of single
 * points in mm, or null where it is not known; `isWindow` where the net is part of a larger one.
 */
export function panelModel(
  net: ControlNet,
  tables: SpectrumTables,
  hand: number | null,
  isWindow: boolean,
): PanelModel {
  const spectrum = panelSpectrum(net, isWindow);
  const atoms = allAtoms(spectrum);
  const { list } = atoms;
  const [inPlane, normal] = spectrumMixture(
    tables,
    spectrum.degrees,
    spectrum.fitted,
    spectrum.sampled,
  );
  const kinds = Uint8Array.from(list, ({ kind }) => atomKinds.indexOf(kind));
  const counts = atomKinds.map((_, kind) => kinds.filter((own) => own === kind).length);
  const { hands, logHands } = handPrior(hand === null ? null : (hand * 1000) / spectrum.size);
  const mixture = [inPlane, inPlane, normal];
  return {
    spectrum,
    atoms,
    mixture,
    cores: mixture.map(core),
    hands,
    logHands,
    everyHand: Array.from(hands.keys()),
    shifts: Int32Array.from(hands, handShift),
    logOdds: Float64Array.from(
      list,
      (atom, k) =>
        Math.log(kindPriors[atom.kind].share / cleanShare / counts[kinds[k]]) -
        (isNextToEdge(atom, spectrum.count) ? edgeToll : 0),
    ),
    most: Float64Array.from(list, ({ kind }) => kindPriors[kind].most),
    kinds,
    sites: Int32Array.from(list, (atom, k) => siteOf(atom, k, spectrum)),
    lines: Int32Array.from(list, (atom) => lineOf(atom, spectrum)),
  };
}
