import { diagonal } from '../geometry/controlNet.ts';
import { footFinder } from '../geometry/foot.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { sheetOf } from '../geometry/sheet.ts';
import { difference, dot, scaled, sum, type Vector } from '../geometry/vector.ts';
import { aimedFrame, type AimedFrame } from './aimedFrame.ts';
import { scanWindow } from './scanWindow.ts';
import {
  placeOver,
  suspectFrame,
  type SheetedSurface,
  type SuspectFrame,
  type WobbledSurface,
} from './suspectFrame.ts';
import { windowLengths, type Template, type WindowPoints } from './templateFit.ts';
import { linePlaces, wobblePicture, type WobblePicture } from './wobblePicture.ts';
import { wobbleShare, type WobbleShare } from './wobbleShare.ts';
import type { WobbleSuspect } from './wobbleSuspect.ts';

/** Whose a suspected wobble is, with the line that a designer is shown. */
export interface WobbleCause extends Omit<WobbleShare, 'levels'> {
  /** The top of the wobble as it was found near the suspect's place, mm; null where that is not on the surface. */
  readonly position: Vector | null;
  /** Its wavelengths, found likewise, mm. */
  readonly lengths: readonly [number, number];
  /** Null where nothing could be fitted. */
  readonly picture: WobblePicture | null;
}

/** What counts as one place, as a share of the diagonal. */
const oneShare = 1e-7;

/** Suspects farther apart than this many wavelengths do not disturb each other. */
const besideReach = 1.3;
/** Nearer ones than this are one and the same wobble, found twice. */
const sameReach = 0.4;
/** One that stands more upright on the other's plane than this cosine is on another part of the surface. */
const leastAligned = 0.5;

const meanLength = (lengths: readonly [number, number]): number => {
  const [a, b] = windowLengths(lengths);
  return Math.sqrt(a * b);
};

/** The bump of a frame, without one as the suspect has it. */
type Bump = SuspectFrame & Pick<AimedFrame, 'top' | 'lengths'>;

const unaimed = (frame: SuspectFrame): Bump => ({
  ...frame,
  top: [0, 0],
  lengths: frame.suspect.lengths,
});

/** In the frame's plane. */
const topOf = ({ origin, along, across, top }: Bump): Vector =>
  sum(origin, sum(scaled(along, top[0]), scaled(across, top[1])));

/** The same on the surface. */
const topOn = (surface: SheetedSurface, frame: AimedFrame): Vector =>
  sum(
    topOf(frame),
    scaled(frame.outward, placeOver(surface, frame, frame.top, frame.at)?.height ?? 0),
  );

/** The other bumps that a fit must allow for, in the axes of one about its top. */
function besideOf(own: Bump, all: readonly Bump[]): Template[] {
  return all.flatMap((other) => {
    if (other.suspect === own.suspect) return [];
    const way = difference(topOf(other), topOf(own));
    const at = [dot(way, own.along), dot(way, own.across)] as const;
    const apart = Math.hypot(...at) / Math.max(meanLength(own.lengths), meanLength(other.lengths));
    if (apart < sameReach || apart > besideReach) return [];
    const [c, s] = [dot(other.along, own.along), dot(other.along, own.across)];
    const size = Math.hypot(c, s);
    if (!(size > leastAligned)) return [];
    return [{ at, turn: [c / size, s / size] as const, lengths: other.lengths }];
  });
}

const empty = new Float64Array(0);
const noPoints: WindowPoints = { x: empty, y: empty, height: empty, gap: empty };

/**
 * Whose the suspected wobbles of one surface are, in the order of the suspects. Each is first aimed at: its
 * place and wavelengths need be known to a quarter and a half only. Suspects close to each other are
 * fitted together, so all of a panel's are best given at once.
 */
export function wobbleCauses(
  asked: WobbledSurface,
  scan: ScanBody,
  suspects: readonly WobbleSuspect[],
): WobbleCause[] {
  const { spacing } = scan;
  const sheet = sheetOf(asked.net, oneShare * diagonal(asked.net));
  const surface: SheetedSurface = { ...asked, sheet };
  const find = footFinder(sheet);
  const frames = suspects.map((suspect) => suspectFrame(surface, find, suspect));
  const bumps = frames.filter((frame) => frame !== null).map(unaimed);
  const aimed = frames.map(
    (frame) =>
      frame &&
      aimedFrame(surface, frame, scanWindow(surface, scan, frame), besideOf(unaimed(frame), bumps)),
  );
  const sound = aimed.filter((frame) => frame !== null);
  return aimed.map((frame, k) => {
    const lengths = frame?.lengths ?? suspects[k].lengths;
    const { levels, ...share } = wobbleShare(
      frame?.points ?? noPoints,
      { lengths, beside: frame ? besideOf(frame, sound) : [], spacing },
      Float64Array.from(frame ? linePlaces(suspects[k].lengths, lengths).places.flat() : []),
    );
    return {
      ...share,
      position: frame && topOn(surface, frame),
      lengths,
      picture: frame && levels ? wobblePicture(surface, frame, levels, spacing) : null,
    };
  });
}
