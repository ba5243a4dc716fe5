import { createHash } from 'node:crypto';
import {
  seenMeasures,
  type Limit,
  type Miss,
  type RuleData,
  type SeenSteps,
  type Site,
  type SurfaceClass,
  type Unit,
  type Visible,
} from '../rules/rule.ts';
import type { Severity } from '../rules/spec.ts';
import type { Nudge } from '../suggest/nudges.ts';
import type { WobbleOwner } from './wobbleOwners.ts';

/** One missed limit at one site of one panel: numbers, no sentence. Lengths in mm, angles in degrees. */
export interface Finding {
  readonly id: string;
  readonly rule: string;
  readonly severity: Severity;
  readonly panel: string;
  readonly file: string;
  readonly miss: Miss;
  readonly unit: Unit;
  readonly limit: Limit;
  /** How many times beyond the limit; under 1 only within the margin that a job wants kept free. */
  readonly beyond: number;
  readonly certainty: 'named' | 'uncertain';
  readonly nudge: Nudge | null;
  /** Id of the finding whose nudge takes this one away as well. */
  readonly curedBy: string | null;
  /** Whose the wobble is; null where it is none, or there is no scan. */
  readonly owner: WobbleOwner | null;
}

/**
 * Of a seam, where along it a limit is missed changes with each nudge; which seam it is does not. Of a
 * region its area does, and the point that sways it most does not.
 */
function lasting(site: Site): unknown {
  if (site.kind === 'seam') return { kind: site.kind, with: site.with, nth: site.nth };
  if (site.kind === 'region') return { kind: site.kind, point: site.points[0], nth: site.nth };
  return site;
}

/** The same fault keeps its fingerprint from run to run: rule, panel and site, never a text. */
export const fingerprint = (rule: string, panel: string, site: Site): string =>
  createHash('sha256')
    .update(JSON.stringify([rule, panel, lasting(site)]))
    .digest('hex')
    .slice(0, 12);

/** A value is at most this many times beyond a limit it should reach: nothing is infinitely bad. */
const farthestBeyond = 1e6;

export function beyondLimit({ sense }: RuleData, value: number, limit: Limit): number {
  const ratio = sense === 'at-most' ? value / limit.value : limit.value / value;
  return Number.isFinite(ratio) ? Math.min(ratio, farthestBeyond) : farthestBeyond;
}

/** How many of the three that are seen must reach a step: one alone may mislead (see the rules' pages). */
const fewestReached = { moderate: 2, severe: 3 } as const;

function seenSeverity({ seen }: SeenSteps, visible: Visible, surfaceClass: SurfaceClass): Severity {
  const reached = (step: 'moderate' | 'severe'): boolean =>
    seenMeasures.filter((measure) => visible[measure] >= seen[measure][step][surfaceClass].value)
      .length >= fewestReached[step];
  return reached('severe') ? 'severe' : reached('moderate') ? 'moderate' : 'slight';
}

/**
 * Severity by what is seen of a displaced point, else by how many times beyond the limit a miss is;
 * what is only "probably here" is slight and never blocks.
 */
export function severityOf(
  { id, severity }: RuleData,
  surfaceClass: SurfaceClass,
  { beyond, visible, certainty }: Pick<Finding, 'beyond' | 'certainty'> & Pick<Miss, 'visible'>,
): Severity {
  if (certainty === 'uncertain') return 'slight';
  if ('seen' in severity) {
    if (!visible) throw new Error(`rule ${id} goes by what is seen, and its miss does not tell`);
    return seenSeverity(severity, visible, surfaceClass);
  }
  if (beyond < severity.moderate) return 'slight';
  return severity.severe !== null && beyond >= severity.severe ? 'severe' : 'moderate';
}

/** What is known of a miss besides its rule. */
interface Circumstances {
  readonly panel: string;
  readonly file: string;
  readonly certainty?: Finding['certainty'];
  readonly nudge?: Nudge | null;
  readonly curedBy?: string | null;
  readonly owner?: WobbleOwner | null;
}

/** A miss of one rule as a finding of one panel. */
export function findingOf(
  data: RuleData,
  surfaceClass: SurfaceClass,
  miss: Miss,
  { panel, file, certainty = 'named', nudge = null, curedBy = null, owner = null }: Circumstances,
): Finding {
  const limit = data.limits[surfaceClass];
  const beyond = Math.max(beyondLimit(data, miss.value, limit), miss.beyond ?? 0);
  return {
    id: fingerprint(data.id, panel, miss.site),
    rule: data.id,
    severity: severityOf(data, surfaceClass, { ...miss, beyond, certainty }),
    panel,
    file,
    miss,
    unit: data.unit,
    limit,
    beyond,
    certainty,
    nudge,
    curedBy,
    owner,
  };
}

export const severities = ['severe', 'moderate', 'slight'] as const;

/** Whether a finding stands in the way at a bar: what the scan has too is the designer's to decide. */
export const blocks = ({ severity, owner }: Finding, bar: Severity): boolean =>
  owner?.cause !== 'scan' && atLeast(severity, bar);

/** True where `severity` is as bad as `bar` or worse. */
export const atLeast = (severity: Severity, bar: Severity): boolean =>
  severities.indexOf(severity) <= severities.indexOf(bar);
