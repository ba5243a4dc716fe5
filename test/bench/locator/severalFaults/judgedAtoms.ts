import { shareSite } from './atomPlaces.ts';
import { expanded, type Extension } from './extensions.ts';
import type { FaultSetting } from './faultSetting.ts';
import type { FaultSet } from './jointFit.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';

/** One atom of a set, weighed against nothing and against its rivals with the others in place. */
export interface JudgedAtom {
  readonly atom: number;
  /** Strength and standard deviation, per mille. */
  readonly strength: number;
  readonly deviation: number;
  /** ln odds that the fault is at its site, nats. */
  readonly logOdds: number;
  /** The same as a probability, tempered. */
  readonly confidence: number;
  /** The likeliest atom elsewhere, or null where none was looked at. */
  readonly rival: number | null;
}

/** Raw odds are over-sure on panels unlike the learned ones. */
const tempering = { factor: 0.45, shift: 1.5 };

export const tempered = (logOdds: number, shift = tempering.shift): number =>
  1 / (1 + Math.exp(-tempering.factor * (Math.min(60, Math.max(-60, logOdds)) - shift)));

const lastAtom = ({ atoms }: FaultSet): number => atoms[atoms.length - 1];

const lastStrength = ({ strengths }: FaultSet): number => strengths[strengths.length - 1];

/** The extension, of those at one site or of those elsewhere, with the most evidence. */
function leader(list: readonly Extension[]): Extension | null {
  return list.reduce<Extension | null>(
    (best, one) => (best === null || one.evidence > best.evidence ? one : best),
    null,
  );
}

/**
 * Judges the last atom that joined a clean or corrected net, which has `nothing` as evidence without
 * it, from the extensions looked at. Null where its site is not among them.
 */
export function judgedLeader(
  { atoms }: FaultSetting,
  nothing: number,
  extensions: readonly Extension[],
  atom: number,
): JudgedAtom | null {
  const isHere = (one: Extension): boolean =>
    shareSite(atoms.list[atom], atoms.list[lastAtom(one)]);
  const here = extensions.filter(isHere);
  const elsewhere = extensions.filter((one) => !isHere(one));
  const best = leader(here);
  if (best === null) return null;
  const logOdds =
    logSum(here.map(({ evidence }) => evidence)) -
    logSum([nothing, ...elsewhere.map(({ evidence }) => evidence)]);
  const rival = leader(elsewhere);
  return {
    atom: lastAtom(best),
    strength: lastStrength(best),
    deviation: best.deviation,
    logOdds,
    confidence: tempered(logOdds),
    rival: rival && lastAtom(rival),
  };
}

/** All atoms of a set judged, and the best other set seen on the way: one dropped or swapped. */
export function judgedAtoms(
  setting: FaultSetting,
  { atoms, strengths, evidence }: FaultSet,
  active: readonly number[],
): { readonly judged: readonly JudgedAtom[]; readonly other: FaultSet | null } {
  let other: FaultSet | null = null;
  const judged = atoms.map((atom, at): JudgedAtom => {
    const others = {
      atoms: atoms.filter((_, k) => k !== at),
      strengths: strengths.filter((_, k) => k !== at),
      evidence: -Infinity,
    };
    const { set, extensions } = expanded(setting, others, active, [atom]);
    for (const one of [set, extensions[0]])
      if (one && (other === null || one.evidence > other.evidence)) other = one;
    // the set as it stands is one way to extend what is left of it, if it is the better fit
    const told = extensions.map((one) =>
      lastAtom(one) === atom && evidence >= one.evidence
        ? {
            ...one,
            evidence,
            strengths: Float64Array.from([...others.strengths, strengths[at]]),
          }
        : one,
    );
    return (
      judgedLeader(setting, set.evidence, told, atom) ?? {
        atom,
        strength: strengths[at],
        deviation: 9,
        logOdds: 0,
        confidence: 0,
        rival: null,
      }
    );
  });
  return { judged, other };
}
