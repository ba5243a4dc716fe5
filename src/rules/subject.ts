import { type ControlNet, pointAt, type Spot } from '../geometry/controlNet.ts';
import { keptBox, keptPart, type HalfSpace } from '../geometry/keptPart.ts';
import { diagonal } from '../geometry/controlNet.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { outlineEdges } from '../geometry/outlineEdges.ts';
import { pieces } from '../geometry/pieces.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import type { TrimRegion } from '../geometry/trimRegion.ts';
import type { Vector } from '../geometry/vector.ts';
import { displacements, type LocatorResult } from '../measure/displacements.ts';
import {
  netNormals,
  outward,
  outwardSide,
  type OutsideStatement,
  type OutwardSide,
} from '../measure/outwardSide.ts';
import { featureMask, isInQuad } from '../measure/featureMask.ts';
import type { FeatureBounds } from '../measure/featureMeetings.ts';
import { scanFeatures, type ScanFeatures } from '../measure/scanFeatures.ts';
import { panelSamples } from '../measure/panelSamples.ts';
import { scanAlignment, type ScanAlignment } from '../measure/scanAlignment.ts';
import { scanDistances, type ScanDistances } from '../measure/scanDistances.ts';
import { scanFacing } from '../measure/scanFacing.ts';
import { maskedLattice, scanLattice, type ScanQuestion } from '../measure/scanLattice.ts';
import { sights, type Sight } from '../measure/sights.ts';
import { surfaceLook, type Kept, type SurfaceLook } from '../measure/surfaceLook.ts';
import { tightRadii, type TightRadius } from '../measure/tightRadii.ts';

/** A part of the net that may be expected to run evenly, with what rules look at. */
export interface Part {
  readonly net: ControlNet;
  /** Row and column of its first point in the whole net. */
  readonly row: number;
  readonly column: number;
  /** Whether it is the whole net. */
  readonly whole: boolean;
  readonly normals: readonly (Vector | null)[];
  readonly sights: readonly Sight[];
  /** Worked out on first use: the dearest of all measures, and two rules read it. */
  readonly displaced: () => LocatorResult;
  /** Its normals and curvatures all over what is kept, and where it bends most; worked out on first use. */
  readonly look: () => SurfaceLook;
  readonly radii: () => readonly TightRadius[];
}

/** What the job says of its modellers' hands and of its patience. */
export interface LocatorSettings {
  /** Unevenness of single points, mm; null: found from each net. */
  readonly hand: number | null;
  /** Share of clean panels that may have a point named; and, apart from that, a line. */
  readonly falseAlarms: number;
}

export const plainLocator: LocatorSettings = { hand: null, falseAlarms: 0.01 };

/** The part of a surface that rules on the surface look at; net and build rules look at the whole net. */
export interface KeptRegion {
  /** What the file trims away is outside it; null: nothing. */
  readonly region: TrimRegion | null;
  /** The halves of space that the spec keeps. */
  readonly keep: readonly HalfSpace[];
}

const allKept: KeptRegion = { region: null, keep: [] };

/** Says where parameters of a net stand to what is kept of it; null: all of it is kept. */
export const keptOf = (net: ControlNet, { region, keep }: KeptRegion): Kept =>
  region || keep.length > 0 ? keptPart(net, region, keep) : null;

/** The scan that a panel is judged by. */
export interface PanelScan {
  /** Null: it could not be read. */
  readonly body: ScanBody | null;
  /** mm that the panel may lie off it, and the share of that which the job wants kept free, 0: none. */
  readonly limit: number;
  readonly margin: number;
  /** What counts as a fillet or feature line of the scan: distances there do not count; null: nothing does. */
  readonly features?: FeatureBounds | null;
}

/** How a scan that cannot be judged by lies to a panel. */
export type Misalignment = Exclude<ScanAlignment, { readonly kind: 'aligned' }>;

/** A panel against its scan, or why nobody can hold one against the other. */
export type Scanned =
  | { readonly kind: 'no-scan' | 'scan-unread' }
  | { readonly kind: 'scan-misaligned'; readonly alignment: Misalignment }
  | {
      readonly kind: 'seen';
      readonly question: ScanQuestion;
      readonly distances: ScanDistances;
      /** The outline of what is kept, and what of the scan's features lies under the panel; null: not looked for. */
      readonly edges: readonly OutlineEdge[];
      readonly features: ScanFeatures | null;
    };

/** What is judged: one panel's net, whole and in parts between its breaks. */
export interface Subject {
  readonly net: ControlNet;
  readonly side: OutwardSide;
  readonly locator: LocatorSettings;
  /** Between the planes of sections, mm; null: from the size of each panel. */
  readonly sectionSpacing: number | null;
  /** Of the panel's material, mm, measured inward from the surface; 0: the job does not say. */
  readonly thickness: number;
  readonly parts: readonly Part[];
  readonly keptRegion: KeptRegion;
  /** Where parameters stand to the kept part of the surface; null: all of it is kept. */
  readonly kept: Kept;
  readonly scan: PanelScan | null;
  /** How far the kept part lies off the scan; worked out on first use. */
  readonly scanned: () => Scanned;
}

/** What may be known of a net besides its points. */
interface Circumstances {
  readonly outside?: OutsideStatement | null;
  readonly locator?: LocatorSettings;
  /** Its side, where that is known already (a mended copy keeps it). */
  readonly side?: OutwardSide;
  readonly keptRegion?: KeptRegion;
  readonly sectionSpacing?: number | null;
  readonly thickness?: number;
  readonly scan?: PanelScan | null;
}

/** The scan is sought within this share of the panel's diagonal, and no less than so many mm. */
const scanReach = { share: 0.05, least: 10 };

/** Distances matter to this share of the limit. */
const fineShare = 0.05;

const reachOf = (net: ControlNet): number =>
  Math.max(scanReach.least, scanReach.share * diagonal(net));

function scannedOf(
  net: ControlNet,
  { sign }: OutwardSide,
  keptRegion: KeptRegion,
  kept: Kept,
  scan: PanelScan | null,
  alignment: ScanAlignment | null,
): Scanned {
  if (!scan) return { kind: 'no-scan' };
  if (!scan.body) return { kind: 'scan-unread' };
  if (alignment && alignment.kind !== 'aligned') return { kind: 'scan-misaligned', alignment };
  const fine = fineShare * scan.limit;
  const { body } = scan;
  // points alone do not show how the scan turns
  const bounds = body.kind === 'mesh' ? scan.features : null;
  const edges = bounds ? outlineEdges(net, keptRegion) : [];
  const features = bounds ? scanFeatures({ net, edges, kept, body }, bounds) : null;
  const cover = features?.cover ?? [];
  const isOver = (u: number, v: number): boolean => cover.some((quad) => isInQuad(quad, u, v));
  const question: ScanQuestion = { net, sign, kept, isOver, body, reach: reachOf(net), fine };
  const whole = scanLattice(question, keptBox(net, keptRegion.region));
  const lattice =
    cover.length > 0 ? maskedLattice(whole, featureMask(cover, whole.at[0], whole.at[1])) : whole;
  return { kind: 'seen', question, distances: scanDistances(question, lattice), edges, features };
}

function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | null = null;
  return () => (made ??= { value: make() }).value;
}

export function subjectOf(
  net: ControlNet,
  {
    outside = null,
    locator = plainLocator,
    side: known,
    keptRegion = allKept,
    sectionSpacing = null,
    thickness = 0,
    scan = null,
  }: Circumstances = {},
): Subject {
  const own = once(() => netNormals(net));
  const kept = keptOf(net, keptRegion);
  const alignment = once(() =>
    scan?.body
      ? scanAlignment(panelSamples(net, keptBox(net, keptRegion.region), kept), scan.body)
      : null,
  );
  const facing = (): number =>
    !outside && scan?.body && alignment()?.kind === 'aligned'
      ? scanFacing(net, own(), scan.body, reachOf(net))
      : 0;
  const side = known ?? outwardSide(net, outside, own(), facing());
  const parts = pieces(net).map((piece): Part => {
    const whole = piece.net === net;
    const look = once(() => surfaceLook(piece.net, keptBox(piece.net, keptRegion.region), kept));
    const normals = outward(whole ? own() : netNormals(piece.net), side);
    return {
      ...piece,
      whole,
      normals,
      sights: sights(piece.net, normals),
      displaced: once(() => displacements(piece.net, locator.hand)),
      look,
      radii: once(() => tightRadii(look(), kept)),
    };
  });
  const scanned = once(() => scannedOf(net, side, keptRegion, kept, scan, alignment()));
  return {
    net,
    side,
    locator,
    sectionSpacing,
    thickness,
    parts,
    keptRegion,
    kept,
    scan,
    scanned,
  };
}

/** The sights of the whole net, across its breaks. */
export const wholeSights = ({ net, side, parts }: Subject): readonly Sight[] =>
  parts.find(({ whole }) => whole)?.sights ?? sights(net, outward(netNormals(net), side));

/** A spot of a part, counted in the whole net. */
export const wholeSpot = (part: Part, spot: Spot): Spot => ({
  row: part.row + spot.row,
  column: part.column + spot.column,
});

export const partPoint = (part: Part, spot: Spot): Vector =>
  pointAt(part.net, spot.row, spot.column);

export const partNormal = (part: Part, spot: Spot): Vector | null =>
  part.normals[spot.row * part.net.columns + spot.column];
