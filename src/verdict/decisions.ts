import { distance, type Vector } from '../geometry/vector.ts';
import type { WobblePicture } from '../measure/wobbleCause.ts';
import { severities, type Finding } from './finding.ts';
import type { WobbleOwner } from './wobbleOwners.ts';

/** A wobble that the scan has as well, for the designer to decide: one place of one panel. */
export interface Decision {
  readonly panel: string;
  readonly file: string;
  /** Ids of the findings that show it, the worst first. */
  readonly findings: readonly string[];
  /** mm in the model's frame, of the worst of them. */
  readonly position: Vector;
  /** Height in the surface, mm, and full wavelengths. */
  readonly surface: number;
  readonly lengths: WobbleOwner['lengths'];
  readonly share: number;
  readonly shareError: number;
  readonly confidence: number;
  readonly picture: WobblePicture | null;
}

/** The wavelength that tells two places apart, mm. */
const wave = ({ lengths: [a, b] }: Decision): number => Math.max(a ?? 0, b ?? 0);

function decisionOf({ id, panel, file, owner }: Finding): Decision | null {
  if (owner?.cause !== 'scan') return null;
  const { surface, position, lengths, share, shareError, confidence, picture } = owner;
  return {
    panel,
    file,
    findings: [id],
    position,
    surface,
    lengths,
    share,
    shareError,
    confidence: confidence ?? 0,
    picture,
  };
}

/** What the designer is to decide, one entry a place: findings within a wavelength of each other are one. */
export function decisionsOf(findings: readonly Finding[]): Decision[] {
  const order = findings.toSorted(
    (a, b) => severities.indexOf(a.severity) - severities.indexOf(b.severity),
  );
  const found: Decision[] = [];
  for (const own of order.flatMap((finding) => decisionOf(finding) ?? [])) {
    const at = found.findIndex(
      (other) =>
        other.panel === own.panel &&
        other.file === own.file &&
        distance(other.position, own.position) <= Math.max(wave(other), wave(own)),
    );
    if (at < 0) found.push(own);
    else found[at] = { ...found[at], findings: [...found[at].findings, ...own.findings] };
  }
  return found;
}
