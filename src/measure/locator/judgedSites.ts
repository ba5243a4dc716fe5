import { expanded, lastAtom, type Expanded } from './extensions.ts';
import { fittedSet, type FaultSet } from './faultSets.ts';
import { logSum } from './logSum.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import { deviation } from './normalEquations.ts';
import type { PanelModel } from './panelModel.ts';

/** One site of a set, weighed against nothing and against its rivals with the others in place. */
export interface JudgedSite {
  readonly site: number;
  /** Its atoms in the set, the best of them first, and their strengths, per mille. */
  readonly atoms: readonly number[];
  readonly strengths: readonly number[];
  /** Standard deviation of the first strength, per mille. */
  readonly deviation: number;
  /** ln odds that a fault is at this site rather than elsewhere or nowhere, nats. */
  readonly logOdds: number;
  /** ln of what it explains better than nothing at its place, nats. */
  readonly gain: number;
  /** Other sites by falling evidence, nats below this one; strength 0 where it was not fitted. */
  readonly rivals: readonly {
    readonly atom: number;
    readonly strength: number;
    readonly behind: number;
  }[];
}

interface SiteEvidence {
  readonly evidence: readonly number[];
  readonly best: number;
  readonly atom: number;
  readonly strength: number;
}

/** Evidence of each site from extensions and glimpses, with the best atom there. */
function bySite(
  { sites }: PanelModel,
  { extensions, glimpses }: Expanded,
): Map<number, SiteEvidence> {
  const found = new Map<number, SiteEvidence>();
  const all = [
    ...extensions.map((one) => ({
      atom: lastAtom(one),
      strength: one.strengths[one.strengths.length - 1],
      evidence: one.evidence,
    })),
    ...glimpses.map((one) => ({ ...one, strength: 0 })),
  ];
  for (const { atom, strength, evidence } of all) {
    const own = found.get(sites[atom]);
    const better = !own || evidence > own.best;
    found.set(sites[atom], {
      evidence: [...(own?.evidence ?? []), evidence],
      best: better ? evidence : own.best,
      atom: better ? atom : own.atom,
      strength: better ? strength : own.strength,
    });
  }
  return found;
}

/**
 * One site judged: what it explains (`evidence` of the set with it, beside what was seen of it)
 * against nothing at its place and against all others.
 */
export function judgedSite(
  model: PanelModel,
  without: Expanded,
  site: number,
  own: Pick<JudgedSite, 'atoms' | 'strengths' | 'deviation'>,
  evidence: number,
): JudgedSite {
  const sites = bySite(model, without);
  const here = logSum([evidence, ...(sites.get(site)?.evidence ?? [])]);
  const others = [...sites].filter(([other]) => other !== site);
  const nothing = without.set.evidence;
  const elsewhere = logSum([nothing, ...others.flatMap(([, { evidence: all }]) => all)]);
  return {
    ...own,
    site,
    logOdds: here - elsewhere,
    gain: here - nothing,
    rivals: others
      .map(([, { atom, strength, evidence: all }]) => ({
        atom,
        strength,
        behind: here - logSum(all),
      }))
      .sort((a, b) => a.behind - b.behind),
  };
}

/** All sites of a set judged, and the best other set seen on the way: one dropped or swapped. */
export function judgedSites(
  model: PanelModel,
  scorer: MixtureScorer,
  set: FaultSet,
  asked: readonly number[],
): { readonly judged: readonly JudgedSite[]; readonly other: FaultSet | null } {
  let other: FaultSet | null = null;
  const { sites } = model;
  const judged = [...new Set(set.atoms.map((atom) => sites[atom]))].map((site) => {
    const own = set.atoms.flatMap((atom, s) => (sites[atom] === site ? [s] : []));
    own.sort((a, b) => Math.abs(set.strengths[b]) - Math.abs(set.strengths[a]));
    const atoms = own.map((s) => set.atoms[s]);
    const others = set.atoms.flatMap((_, s) => (own.includes(s) ? [] : [s]));
    const rest = fittedSet(
      model,
      scorer,
      others.map((s) => set.atoms[s]),
      Float64Array.from(others, (s) => set.strengths[s]),
      asked,
      1,
    );
    const without = expanded(model, scorer, rest, asked, own.length === 1 ? atoms : []);
    for (const one of [without.set, without.extensions[0]])
      if (one && (other === null || one.evidence > other.evidence)) other = one;
    const told = {
      atoms,
      strengths: own.map((s) => set.strengths[s]),
      deviation: deviation(set.factor, set.atoms.length, own[0]),
    };
    return judgedSite(model, without, site, told, set.evidence);
  });
  return { judged, other };
}
