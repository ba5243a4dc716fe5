import type { ScanBody } from '../geometry/scanBody.ts';
import { scaled, type Vector } from '../geometry/vector.ts';
import { displacementShare } from '../measure/displacementShare.ts';
import { scanFollowing } from '../measure/scanFollowing.ts';
import { wobbleCauses } from '../measure/wobbleCause.ts';
import type { WobblePicture } from '../measure/wobblePicture.ts';
import { causeOf, type WobbleShare } from '../measure/wobbleShare.ts';
import { suspectOfLine, suspectOfPoint, type WobbleSuspect } from '../measure/wobbleSuspect.ts';
import type { Judgement, Miss } from '../rules/rule.ts';
import type { Scanned, Subject } from '../rules/subject.ts';

/** Whose a wobble is: the modeller's, the scan's, or nobody can tell; lengths in mm. */
export interface WobbleOwner extends Pick<
  WobbleShare,
  'cause' | 'doubt' | 'confidence' | 'surface' | 'gap' | 'gapError' | 'share' | 'shareError'
> {
  /** Its top. */
  readonly position: Vector;
  /** Full wavelengths; null along a line that runs through. */
  readonly lengths: readonly [number | null, number | null];
  /** What a designer is shown; null where nothing could be fitted. */
  readonly picture: WobblePicture | null;
}

/** Rules whose findings are wobbles of the surface. */
const wobbleRules: readonly string[] = ['point-jut', 'hull-jut', 'section-sweep', 'highlight-kink'];

/** Findings of a panel that are looked at, the worst first: each takes some tenths of a second. */
const mostSuspects = 12;

type Seen = Extract<Scanned, { readonly kind: 'seen' }>;

/** What is sought in the scan for a miss: where, and how large; null where the miss does not tell. */
function suspectOf({ net }: Subject, { site, moves, suspect }: Miss): WobbleSuspect | null {
  if (suspect) return suspect;
  // of what is displaced
  if (!moves) return null;
  switch (site.kind) {
    case 'point':
      return suspectOfPoint(net, site.row, site.column);
    case 'points':
      return suspectOfPoint(net, site.points[0].row, site.points[0].column);
    case 'row':
    case 'column': {
      const [index, count] =
        site.kind === 'row' ? [site.row, net.columns] : [site.column, net.rows];
      const { from = 0, to = count - 1 } = site;
      return suspectOfLine(net, site.kind, index, (from + to) / 2 / (count - 1));
    }
    default:
      return null;
  }
}

/** Of a wobble whose height is known: what of it the scan lacks, if it follows the panel closely. */
function followed({ distances }: Seen, { position, lengths }: WobbleSuspect, height: number) {
  const following = scanFollowing(distances.lattice, position, lengths[0]);
  if (!following) return null;
  const { departure, error } = following;
  const share = 1 - departure / height;
  const shareError = 1.1 * (error / height) + 0.05;
  const verdict = causeOf(share, shareError);
  return verdict.cause === 'scan'
    ? { ...verdict, surface: height, gap: -departure, gapError: error, share, shareError }
    : null;
}

/** Whose a miss is, by all that can be held against the scan. */
function ownerOf(
  subject: Subject,
  seen: Seen,
  miss: Miss,
  suspect: WobbleSuspect,
  fitted: ReturnType<typeof wobbleCauses>[number],
): WobbleOwner {
  const { picture, doubt, cause, confidence, surface, gap, gapError, share, shareError } = fitted;
  const [a, b] = fitted.lengths;
  const shown = {
    position: fitted.position ?? suspect.position,
    lengths: [Number.isFinite(a) ? a : null, Number.isFinite(b) ? b : null] as const,
    picture,
  };
  const general = { cause, doubt, confidence, surface, gap, gapError, share, shareError, ...shown };
  // what is displaced, and by how much, is known of a jut: nothing need be found in the surface
  const known =
    miss.moves &&
    displacementShare(
      subject.net,
      seen.distances.lattice,
      miss.moves.map((move) => ({ ...move, by: scaled(move.by, -1) })),
    );
  if (known && known.cause !== 'unknown') return { ...known, ...shown };
  if (known) return general.cause === 'unknown' ? { ...known, ...shown } : general;
  const height = miss.evidence?.['height'];
  if (general.cause === 'unknown' && height !== undefined) {
    const owner = followed(seen, suspect, height);
    if (owner) return { ...owner, ...shown };
  }
  return general;
}

/** Whose the wobbles of a panel are that its rules found, by their misses. */
export function wobbleOwners(
  subject: Subject,
  judgements: Readonly<Record<string, Judgement>>,
): ReadonlyMap<Miss, WobbleOwner> {
  const asked = wobbleRules.flatMap((rule) => {
    const judgement = judgements[rule];
    return judgement?.outcome === 'missed' ? judgement.misses : [];
  });
  if (asked.length === 0 || !subject.scan?.body) return new Map();
  const seen = subject.scanned();
  if (seen.kind !== 'seen') return new Map();
  const body: ScanBody = subject.scan.body;
  const suspects = asked
    .flatMap((miss) => {
      const suspect = suspectOf(subject, miss);
      return suspect ? [{ miss, suspect }] : [];
    })
    .slice(0, mostSuspects);
  const surface = { net: subject.net, outward: subject.side.sign, kept: subject.kept };
  const fitted = wobbleCauses(
    surface,
    body,
    suspects.map(({ suspect }) => suspect),
  );
  return new Map(
    suspects.map(({ miss, suspect }, k) => [
      miss,
      ownerOf(subject, seen, miss, suspect, fitted[k]),
    ]),
  );
}
