import { surfacePatches } from './bernsteinPatch.ts';
import { contourCurve } from './contourCurve.ts';
import { diagonal, type ControlNet } from './controlNet.ts';
import { curveJets } from './curveJets.ts';
import { edgeImage, type EdgeImage } from './edgeImage.ts';
import { joinedCurve } from './joinedCurve.ts';
import { keptPart, type HalfSpace } from './keptPart.ts';
import { domain } from './knots.ts';
import { linearRoots } from './linearRoots.ts';
import type { OutlineEdge } from './outlineEdge.ts';
import { parameterLine } from './parameterLine.ts';
import { planeSections } from './planeSections.ts';
import {
  curveDomain,
  curvePart,
  curvePoint,
  type Coordinates,
  type SplineCurve,
} from './splineCurve.ts';
import { shiftedCurve } from './closedLoop.ts';
import type { TrimRegion } from './trimRegion.ts';
import { trimTest, type Standing } from './trimTest.ts';
import { tangentPlanes, type TangentPlane } from './tangentPlanes.ts';
import { angleBetween, distance, dot, length, scaled, sum, type Vector } from './vector.ts';

/** What takes away from a surface. */
export interface Kept {
  readonly region: TrimRegion | null;
  readonly keep: readonly HalfSpace[];
}

/** Radians by which an edge turns in space, where it is parted in two. */
const smallestCorner = (8 * Math.PI) / 180;
/** Without a trim, what counts as one place, as a share of the net's diagonal. */
const samePlaceShare = 1e-5;
/** Beside a corner its two directions are taken at this share of the pieces that meet there. */
const besideShare = 1e-6;
/** Places two of which are nearer than this share of a curve's domain are one. */
const sameCut = 1e-10;
/** Places of a stretch at which it is asked whether it runs along a rim. */
const looks = [0.02, 0.25, 0.5, 0.75, 0.98];
/** Places farther from a rim than this share of the domain do not lie on it. */
const rimShare = 0.02;
/** Steps aside, in what counts as one place, at which it is asked what is kept. */
const steps = [4, 16, 64];
/** Looks along a curve for where a plane crosses it. */
const mostLooks = 64;
/** Share of the net's diagonal within which two points of it are one. */
const samePoint = 1e-9;
/** Chord tolerance of a traced plane section as a share of the net's diagonal. */
const chordShare = 1e-4;

/** All that the search for edges asks of a surface. */
interface Ground {
  readonly net: ControlNet;
  readonly ends: readonly (readonly [number, number])[];
  readonly region: TrimRegion | null;
  readonly keep: readonly HalfSpace[];
  /** mm */
  readonly reach: number;
  readonly kept: (u: number, v: number) => Standing;
  readonly tangents: (u: number, v: number) => TangentPlane;
  /** The point of the surface at a place, mm. */
  readonly point: (place: Coordinates) => Vector;
}

/** A part of a curve on the outline. */
interface Part {
  readonly curve: SplineCurve;
  readonly from: number;
  readonly to: number;
  readonly keptOnLeft: boolean;
}

const inside = ({ ends }: Ground, [u, v]: Coordinates): boolean =>
  [u, v].every((value, side) => value >= ends[side][0] && value <= ends[side][1]);

/** A place brought into the domain, by whole periods where the surface closes. */
function homeShift({ ends, region }: Ground, place: Coordinates): [number, number] {
  const shift = (side: 0 | 1): number => {
    const period = region?.period[side] ?? null;
    return period === null ? 0 : -period * Math.floor((place[side] - ends[side][0]) / period);
  };
  return [shift(0), shift(1)];
}

/** Values rising, without those that are at an end or at one another, and with both ends. */
function cutsOf(values: readonly number[], from: number, to: number): number[] {
  const close = sameCut * (to - from);
  const cuts = [from];
  for (const value of values.toSorted((a, b) => a - b))
    if (value > cuts[cuts.length - 1] + close && value < to - close) cuts.push(value);
  return [...cuts, to];
}

/** Parameters at which an image crosses a plane: between looks of which one lies before and one behind it. */
function planeRoots({ breaks, at }: EdgeImage, { normal, most }: HalfSpace): number[] {
  const each = Math.max(Math.ceil(mostLooks / (breaks.length - 1)), 2);
  const height = (t: number): number => dot(normal, at(t).point) - most;
  const roots: number[] = [];
  for (let k = 1; k < breaks.length; k++) {
    let [low, below] = [breaks[k - 1], height(breaks[k - 1]) < 0];
    for (let look = 1; look <= each; look++) {
      const high = breaks[k - 1] + (look / each) * (breaks[k] - breaks[k - 1]);
      const isBelow = height(high) < 0;
      if (isBelow !== below) {
        let [a, b] = [low, high];
        for (let middle = (a + b) / 2; middle > a && middle < b; middle = (a + b) / 2)
          if (height(middle) < 0 === below) a = middle;
          else b = middle;
        roots.push((a + b) / 2);
      }
      [low, below] = [high, isBelow];
    }
  }
  return roots;
}

/** Radians by which an image turns at a parameter within its domain. */
function turnAt({ breaks, at }: EdgeImage, t: number): number {
  const [first, last] = [breaks[0], breaks[breaks.length - 1]];
  const before = breaks.findLast((value) => value < t) ?? first;
  const after = breaks.find((value) => value > t) ?? last;
  const low = at(t - besideShare * (t - before)).slope;
  const high = at(t + besideShare * (after - t)).slope;
  return angleBetween(low, high);
}

const isCorner = (turn: number): boolean => !(turn <= smallestCorner);

/** The place `far` mm to the left of a curve, square to it on the surface. */
function aside(
  { tangents, ends }: Ground,
  place: Coordinates,
  slope: Coordinates,
  far: number,
): Coordinates {
  const jet = tangents(place[0], place[1]);
  const along = sum(scaled(jet.u, slope[0]), scaled(jet.v, slope[1]));
  const left = [-dot(along, jet.v), dot(along, jet.u)];
  const size = length(sum(scaled(jet.u, left[0]), scaled(jet.v, left[1])));
  if (size > 0 && Number.isFinite(far / size))
    return [place[0] + (far / size) * left[0], place[1] + (far / size) * left[1]];
  // beside a collapsed edge: by shares of the domain
  const widths = ends.map(([from, to]) => to - from);
  const plain = [-slope[1] / widths[1], slope[0] / widths[0]];
  const share = sameCut ** 0.5 / Math.hypot(...plain);
  return [place[0] + share * plain[0] * widths[0], place[1] + share * plain[1] * widths[1]];
}

/** What is kept beside a place; outside the domain, and within a step that tells nothing, nothing is. */
function standingBeside(
  ground: Ground,
  place: Coordinates,
  slope: Coordinates,
  far: number,
): Standing {
  const beside = aside(ground, place, slope, far);
  const shift = homeShift(ground, beside);
  const moved = [beside[0] + shift[0], beside[1] + shift[1]];
  return inside(ground, moved) ? ground.kept(moved[0], moved[1]) : 'outside';
}

/** On which side of a stretch the kept part lies; null where it is on both or on neither. */
function keptSide(ground: Ground, curve: SplineCurve, from: number, to: number): boolean | null {
  const jets = curveJets(curve);
  let votes = 0;
  for (const share of [0.5, 0.3, 0.7]) {
    const { point, slope } = jets.at(from + share * (to - from));
    for (const step of steps) {
      const far = step * ground.reach;
      const left = standingBeside(ground, point, slope, far);
      const right = standingBeside(ground, point, slope, -far);
      if (left === 'border' || right === 'border') continue;
      votes += Number(left === 'inside') - Number(right === 'inside');
      break;
    }
  }
  return votes === 0 ? null : votes > 0;
}

/** Length of a stretch of an image, by a few legs. */
function roughLength({ at }: EdgeImage, from: number, to: number): number {
  const legs = 16;
  let total = 0;
  let last = at(from).point;
  for (let k = 1; k <= legs; k++) {
    const next = at(from + (k / legs) * (to - from)).point;
    total += distance(last, next);
    last = next;
  }
  return total;
}

const partCurve = ({ curve, from, to }: Pick<Part, 'curve' | 'from' | 'to'>): SplineCurve => {
  const [low, high] = curveDomain(curve);
  return from === low && to === high ? curve : curvePart(curve, from, to);
};

/** The rim of a domain as a curve over its own parameter. */
function rimCurve({ ends }: Ground, side: 0 | 1, end: 0 | 1): SplineCurve {
  const [from, to] = ends[1 - side];
  const at = ends[side][end];
  return {
    dimension: 2,
    degree: 1,
    knots: Float64Array.of(from, from, to, to),
    points: side === 0 ? Float64Array.of(at, from, at, to) : Float64Array.of(from, at, to, at),
    weights: null,
  };
}

/** The edges along one rim; `touches`: where loops come to it or leave it. */
function rimEdges(
  ground: Ground,
  side: 0 | 1,
  end: 0 | 1,
  touches: readonly number[],
): OutlineEdge[] {
  const { net, ends, reach, keep, region } = ground;
  const line = parameterLine(net, side, ends[side][end]);
  const place = (t: number): Vector => {
    const [x, y, z] = curvePoint(line, t);
    return [x, y, z];
  };
  const [from, to] = ends[1 - side];
  const curve = rimCurve(ground, side, end);
  const image = edgeImage(net, curve);
  const first = image.at(from).point;
  const isCollapsed = [0, 1, 2].every((axis) =>
    line.points.every((x, k) => k % 3 !== axis || Math.abs(x - first[axis]) <= reach),
  );
  if (isCollapsed) return [];
  const corners = image.breaks.slice(1, -1).filter((t) => isCorner(turnAt(image, t)));
  const planes = keep.flatMap(({ normal, most }) => linearRoots(line, normal, most));
  const cuts = cutsOf([...touches, ...planes, ...corners], from, to).filter(
    (t, k, all) => k === 0 || k === all.length - 1 || distance(place(t), place(all[k - 1])) > reach,
  );
  const keptOnLeft = side === 1 ? end === 0 : end === 1;
  const isKept = (low: number, high: number): boolean => {
    if (!region && keep.length === 0) return true;
    const jets = curveJets(curve);
    for (const step of steps)
      for (const share of [0.5, 0.3, 0.7]) {
        const { point, slope } = jets.at(low + share * (high - low));
        const far = (keptOnLeft ? 1 : -1) * step * reach;
        const standing = standingBeside(ground, point, slope, far);
        if (standing !== 'border') return standing === 'inside';
      }
    return false;
  };
  const parts: [number, number][] = [];
  cuts.slice(1).forEach((high, k) => {
    const low = cuts[k];
    if (!isKept(low, high)) return;
    const last = parts[parts.length - 1];
    if (last && last[1] === low && !corners.includes(low)) last[1] = high;
    else parts.push([low, high]);
  });
  return parts
    .filter(([low, high]) => roughLength(image, low, high) > reach)
    .map(([low, high]) => ({
      curve: partCurve({ curve, from: low, to: high }),
      keptOnLeft,
      rim: { side, end },
    }));
}

/** Which rims a place lies on within twice the reach, and where along them. */
function rimsAt(ground: Ground, place: Coordinates): { side: 0 | 1; end: 0 | 1; along: number }[] {
  const { ends, reach, region, point } = ground;
  const held = [0, 1].map((side) => Math.min(Math.max(place[side], ends[side][0]), ends[side][1]));
  return ([0, 1] as const).flatMap((side) => {
    const [from, to] = ends[side];
    const period = region?.period[side] ?? null;
    return ([0, 1] as const).flatMap((end) => {
      const off = Math.abs(held[side] - ends[side][end]) / (to - from);
      if (Math.min(off, period === null ? 1 : 1 - off) > rimShare) return [];
      const near = distance(point(held), point(held.with(side, ends[side][end]))) <= 2 * reach;
      return near ? [{ side, end, along: held[1 - side] }] : [];
    });
  });
}

/** Parts of curves in the order in which they follow each other, as edges without a corner. */
function chainedEdges(
  ground: Ground,
  chain: readonly (Part | null)[],
  isClosed: boolean,
): OutlineEdge[] {
  const { net, reach } = ground;
  const placeOf = (part: Part, t: number): Vector => {
    return ground.point(curvePoint(part.curve, t));
  };
  const images = new Map<SplineCurve, EdgeImage>();
  const imageOf = (curve: SplineCurve): EdgeImage => {
    let image = images.get(curve);
    if (!image) images.set(curve, (image = edgeImage(net, curve)));
    return image;
  };
  const goesOn = (a: Part, b: Part): boolean => {
    if (a.keptOnLeft !== b.keptOnLeft) return false;
    if (a.curve === b.curve && a.to === b.from) return !isCorner(turnAt(imageOf(a.curve), a.to));
    const [u, v] = curvePoint(a.curve, a.to);
    const [u2, v2] = curvePoint(b.curve, b.from);
    // across the seam of a surface that closes an edge is parted
    const isHere = [u - u2, v - v2].every(
      (off, side) => Math.abs(off) < 0.5 * (ground.ends[side][1] - ground.ends[side][0]),
    );
    if (!isHere || distance(placeOf(a, a.to), placeOf(b, b.from)) > 2 * reach) return false;
    const end = imageOf(a.curve).at(a.to - besideShare * (a.to - a.from)).slope;
    const start = imageOf(b.curve).at(b.from + besideShare * (b.to - b.from)).slope;
    return !isCorner(angleBetween(end, start));
  };
  const runs: Part[][] = [];
  let last: Part | null = null;
  for (const part of chain) {
    if (part && last && goesOn(last, part)) runs[runs.length - 1].push(part);
    else if (part) runs.push([part]);
    last = part;
  }
  const [first, end] = [runs[0], runs[runs.length - 1]];
  if (isClosed && runs.length > 1 && chain[0] && last && goesOn(last, first[0])) {
    runs[0] = [...end, ...first];
    runs.pop();
  }
  return runs.flatMap((run): OutlineEdge[] => {
    const merged: Part[] = [];
    for (const part of run) {
      const before = merged[merged.length - 1];
      if (before && before.curve === part.curve && before.to === part.from)
        merged[merged.length - 1] = { ...before, to: part.to };
      else merged.push(part);
    }
    const lengths = merged.map(({ curve, from, to }) => roughLength(imageOf(curve), from, to));
    if (!(lengths.reduce((total, own) => total + own, 0) > reach)) return [];
    const curve =
      merged.length === 1 ? partCurve(merged[0]) : joinedCurve(merged.map(partCurve), lengths);
    return [{ curve, keptOnLeft: run[0].keptOnLeft, rim: null }];
  });
}

/** What the loops of a region give: edges within the domain, and where they come to its rims. */
interface LoopFindings {
  readonly edges: readonly OutlineEdge[];
  readonly touches: readonly {
    readonly side: 0 | 1;
    readonly end: 0 | 1;
    readonly along: number;
  }[];
  /** By plane of the spec, places at which loops cross it. */
  readonly crossings: readonly (readonly Coordinates[])[];
}

/** Where a stretch that runs along a rim for a part of it comes to it or leaves it; by halving. */
function rimChanges(ground: Ground, curve: SplineCurve, from: number, to: number): number[] {
  const onRim = (t: number): boolean => rimsAt(ground, curvePoint(curve, t)).length > 0;
  const many = 16;
  const places = Array.from({ length: many + 1 }, (_, k) => from + (k / many) * (to - from));
  const states = places.map(onRim);
  const changes: number[] = [];
  for (let k = 1; k <= many; k++) {
    if (states[k] === states[k - 1]) continue;
    // an end that only comes to a rim is no stretch along it
    const isAlong = states[k] ? states[k + 1] : states[k - 2];
    if (!isAlong) continue;
    let [a, b] = [places[k - 1], places[k]];
    for (let halving = 0; halving < 50; halving++) {
      const middle = (a + b) / 2;
      if (onRim(middle) === states[k - 1]) a = middle;
      else b = middle;
    }
    changes.push((a + b) / 2);
  }
  return changes;
}

/** Where a loop's curve crosses the border of the domain, or of one a period beside it. */
function loopCuts(ground: Ground, curve: SplineCurve): number[] {
  const { ends, region } = ground;
  const [low, high] = curveDomain(curve);
  const borders = ([0, 1] as const).flatMap((side) => {
    const values = curve.points.filter((_, k) => k % 2 === side);
    const [least, most] = [Math.min(...values), Math.max(...values)];
    const period = region?.period[side] ?? null;
    const wanted = ends[side];
    const copies =
      period === null
        ? wanted
        : wanted.flatMap((value) => {
            const [first, last] = [least, most].map((x) => Math.floor((x - value) / period));
            return Array.from({ length: last - first + 2 }, (_, k) => value + (first + k) * period);
          });
    return copies
      .filter((value) => value > least && value < most)
      .flatMap((value) => linearRoots(curve, side === 0 ? [1, 0] : [0, 1], value));
  });
  return cutsOf(borders, low, high);
}

function loopFindings(ground: Ground, region: TrimRegion): LoopFindings {
  const { net, keep, reach } = ground;
  const touches: LoopFindings['touches'][number][] = [];
  const crossings: Coordinates[][] = keep.map(() => []);
  const edges = region.loops.flatMap(({ curves }) => {
    let wasLeftOut = false;
    /** A stretch without a corner, on a rim or not. */
    const partsOf = (image: EdgeImage, curve: SplineCurve, start: number, end: number) => {
      const place = (share: number): number[] => curvePoint(curve, start + share * (end - start));
      touches.push(...rimsAt(ground, place(0)), ...rimsAt(ground, place(1)));
      const size = roughLength(image, start, end);
      // legs that only join two ends that nearly meet; two in a row are a border in short legs
      const isStraight = curve.degree === 1 && curve.points.length === 4;
      const isLeftOut = isStraight && size <= reach && !wasLeftOut;
      wasLeftOut = isLeftOut;
      if (isLeftOut || size <= reach / 100) return [];
      if (!inside(ground, place(0.5)) || isAlongRim(ground, looks.map(place))) return [null];
      const planes = keep.map((plane) =>
        planeRoots(image, plane).filter((t) => t > start && t < end),
      );
      planes.forEach((roots, k) => crossings[k].push(...roots.map((t) => curvePoint(curve, t))));
      const cuts = cutsOf(planes.flat(), start, end);
      return cuts.slice(1).map((to, k): Part | null => {
        const from = cuts[k];
        const keptOnLeft = keptSide(ground, curve, from, to);
        return keptOnLeft === null ? null : { curve, from, to, keptOnLeft };
      });
    };
    const chain = curves.flatMap((whole): (Part | null)[] => {
      const cuts = loopCuts(ground, whole);
      return cuts.slice(1).flatMap((end, index) => {
        const start = cuts[index];
        const middle = curvePoint(whole, (start + end) / 2);
        const curve = shiftedCurve(whole, homeShift(ground, middle));
        const image = edgeImage(net, curve);
        const corners = image.breaks.filter(
          (t) => t > start && t < end && isCorner(turnAt(image, t)),
        );
        const smooth = cutsOf(corners, start, end);
        const changes = smooth
          .slice(1)
          .flatMap((to, k) => rimChanges(ground, curve, smooth[k], to));
        const stretches = cutsOf([...corners, ...changes], start, end);
        return stretches.slice(1).flatMap((to, k) => partsOf(image, curve, stretches[k], to));
      });
    });
    return chainedEdges(ground, chain, true);
  });
  return { edges, touches, crossings };
}

/** Whether all places lie on one and the same rim. */
function isAlongRim(ground: Ground, places: readonly Coordinates[]): boolean {
  const rims = places.map((place) => rimsAt(ground, place).map(({ side, end }) => 2 * side + end));
  return rims[0].some((rim) => rims.every((others) => others.includes(rim)));
}

/** The parameter of a curve at its place nearest to one that lies on it, over places as looked at. */
function parameterOf(
  { point }: Ground,
  curve: SplineCurve,
  breaks: readonly number[],
  place: Coordinates,
): number {
  const wanted = point(place);
  const far = (t: number): number => distance(wanted, point(curvePoint(curve, t)));
  const all = breaks.map(far);
  const nearest = all.indexOf(Math.min(...all));
  let low = breaks[Math.max(nearest - 1, 0)];
  let high = breaks[Math.min(nearest + 1, breaks.length - 1)];
  for (let step = 0; step < 100; step++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    if (far(a) <= far(b)) high = b;
    else low = a;
  }
  return (low + high) / 2;
}

/** The lines along which plane `index` of the spec cuts what is kept. */
function planeEdges(
  ground: Ground,
  index: number,
  crossings: readonly Coordinates[],
): OutlineEdge[] {
  const { net, keep, region, ends } = ground;
  const { normal, most } = keep[index];
  const plane = { normal, at: most };
  const size = diagonal(net);
  const sections = planeSections(surfacePatches(net), plane, {
    domain: ends as [readonly [number, number], readonly [number, number]],
    // parted at the seam of a surface that closes
    period: [null, null],
    place: ground.point,
    tolerance: chordShare * size,
  });
  const isIn = region ? trimTest(net, region) : (): Standing => 'inside';
  return sections.flatMap(({ points, isClosed }) => {
    const places = points.filter(
      (place, k) =>
        k === 0 || distance(ground.point(place), ground.point(points[k - 1])) > samePoint * size,
    );
    if (places.length < 2) return [];
    const curve = contourCurve(net, plane, places);
    const image = edgeImage(net, curve);
    const [from, to] = curveDomain(curve);
    const others = keep.flatMap((other, k) => (k === index ? [] : planeRoots(image, other)));
    const loops = crossings.map((place) => parameterOf(ground, curve, image.breaks, place));
    const cuts = cutsOf([...others, ...loops], from, to);
    const chain = cuts.slice(1).map((end, k): Part | null => {
      const start = cuts[k];
      const looksAt = looks.map((share) => curvePoint(curve, start + share * (end - start)));
      const [u, v] = looksAt[2];
      const point = ground.point([u, v]);
      // a plane told twice, a loop or a rim in the plane: they are edges themselves
      const isTold =
        keep
          .slice(0, index)
          .some((other) => Math.abs(dot(other.normal, point) - other.most) <= ground.reach) ||
        isIn(u, v) !== 'inside' ||
        isAlongRim(ground, looksAt);
      const keptOnLeft = isTold ? null : keptSide(ground, curve, start, end);
      return keptOnLeft === null ? null : { curve, from: start, to: end, keptOnLeft };
    });
    return chainedEdges(ground, chain, isClosed);
  });
}

/**
 * The edges around what is kept of a surface, from corner to corner: where its borders run within the
 * domain, where a plane of the spec cuts it, and what of the rims of the domain is kept, those of a
 * surface that closes among them. A rim that is a point is none. All curves lie in the domain: a border
 * that runs on across the seam of a surface that closes is parted there.
 */
export function outlineEdges(net: ControlNet, { region, keep }: Kept): OutlineEdge[] {
  const tangents = tangentPlanes(net);
  const ground: Ground = {
    net,
    tangents,
    point: ([u, v]) => tangents(u, v).point,
    ends: ([0, 1] as const).map((side) => domain(net.knots[side], net.degree[side])),
    region,
    keep,
    reach: region ? region.tolerance : samePlaceShare * diagonal(net),
    kept: keptPart(net, region, keep),
  };
  const loops = region && loopFindings(ground, region);
  const rims = ([1, 0] as const).flatMap((side) =>
    ([0, 1] as const).flatMap((end) =>
      rimEdges(
        ground,
        side,
        end,
        (loops?.touches ?? [])
          .filter((touch) => touch.side === side && touch.end === end)
          .map(({ along }) => along),
      ),
    ),
  );
  const planes = keep.flatMap((_, k) => planeEdges(ground, k, loops?.crossings[k] ?? []));
  return [...rims, ...(loops?.edges ?? []), ...planes];
}
