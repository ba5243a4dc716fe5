import type { ControlNet } from '../../../../src/geometry/controlNet.ts';
import { atomsWithoutRuns, type Atom } from '../../../../src/measure/locator/atoms.ts';
import {
  atomKinds,
  cleanShare,
  edgeToll,
  furtherLineToll,
  handPrior,
  kindPriors,
  logPrior,
} from '../../../../src/measure/locator/faultPriors.ts';
import { panelSpectrum } from '../../../../src/measure/locator/panelSpectrum.ts';
import type { Density } from '../../../learn/robustDensity.ts';
import type { Setting } from './setting.ts';
import { spectrumMixture } from '../../../../src/measure/locator/spectrumMixture.ts';
import type { SpectrumTables } from '../../../../src/measure/locator/spectrumTables.ts';

/** Square of the deviation of the normal prior under which an atom is judged by itself, by kind. */
const loneVariances = { point: 4, drift: 60, line: 4, run: 4 } as const;

/** A setting in which several faults of all kinds may be present. */
export interface FaultSetting extends Setting {
  /** ln of the prior odds of each atom. */
  readonly logOdds: Float64Array;
  /** Variance of the normal prior of each atom. */
  readonly variances: Float64Array;
  /** Largest strength of each atom. */
  readonly most: Float64Array;
  /** Index of the kind (0 point, 1 drift, 2 line) of each atom. */
  readonly kinds: Uint8Array;
}

/** ln prior of a set of atoms and their strengths. */
export function logSetPrior(
  { atoms, logOdds }: FaultSetting,
  set: readonly number[],
  strengths: ArrayLike<number>,
): number {
  const lines = set.filter((atom) => atoms.list[atom].kind === 'line').length;
  return set.reduce(
    (total, atom, s) => total + logPrior(atoms.list[atom].kind, strengths[s]) + logOdds[atom],
    -furtherLineToll * Math.max(0, lines - 1),
  );
}

const isNextToEdge = ({ kind, i, j }: Atom, [n, m]: readonly [number, number]): boolean =>
  kind === 'line' && (i === 1 || j === 1 || i === n - 2 || j === m - 2);

/** `hand` is the unevenness of single points in mm, or null where it is not known. */
export function faultSetting(
  net: ControlNet,
  tables: SpectrumTables,
  density: Density,
  hand: number | null,
  isWindow: boolean,
): FaultSetting {
  const spectrum = panelSpectrum(net, isWindow);
  const atoms = atomsWithoutRuns(spectrum);
  atoms.list.forEach((_, atom) => atoms.fill(atom));
  const [inPlane, normal] = spectrumMixture(
    tables,
    spectrum.degrees,
    spectrum.fitted,
    spectrum.sampled,
  );
  const { list } = atoms;
  const counts = atomKinds.map((kind) => list.filter((atom) => atom.kind === kind).length);
  const kinds = Uint8Array.from(list, ({ kind }) => atomKinds.indexOf(kind));
  const logOdds = Float64Array.from(list, (atom, k) => {
    const own = kindPriors[atom.kind].share / cleanShare / counts[kinds[k]];
    return Math.log(own) - (isNextToEdge(atom, spectrum.count) ? edgeToll : 0);
  });
  return {
    spectrum,
    atoms,
    mixture: [inPlane, inPlane, normal],
    density,
    ...handPrior(hand === null ? null : (hand * 1000) / spectrum.size),
    logOdds,
    variances: Float64Array.from(list, ({ kind }) => loneVariances[kind]),
    most: Float64Array.from(list, ({ kind }) => kindPriors[kind].most),
    kinds,
  };
}
