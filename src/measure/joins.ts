import type { ControlNet } from '../geometry/controlNet.ts';
import { edgeImage } from '../geometry/edgeImage.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { curveJets } from '../geometry/curveJets.ts';
import { surfacePoint } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { distance, type Vector } from '../geometry/vector.ts';
import { edgeTrace, traceNode, type EdgeTrace } from './edgeTrace.ts';
import { jointStretches, type JointStretch } from './jointStretches.ts';
import { nearEdges } from './nearEdges.ts';

/** A panel as joins are sought on it: its surface, and the outline of what is kept of it. */
export interface Outline {
  readonly net: ControlNet;
  readonly edges: readonly OutlineEdge[];
}

/** A stretch of one edge of a panel, both counted from 0. */
export interface EdgeStretch {
  readonly panel: number;
  readonly edge: number;
  /** Parameters of the edge's curve. */
  readonly from: number;
  readonly to: number;
}

/** Where two edges run along each other. */
export interface Join {
  /** Of the panel that comes first, and on one panel of the edge that does; from < to. */
  readonly a: EdgeStretch;
  /** `from` lies opposite a.from, so that from > to where the edges run against each other. */
  readonly b: EdgeStretch;
  /** mm: the mean of the lengths on both sides. */
  readonly length: number;
  /** The largest distance between the edges that was measured, mm. */
  readonly gap: number;
}

/** A stretch that ends where the edges drift apart is at least so many times as long as the reach ... */
const leastDrifting = 12;
/** ... and this share of the shorter edge: else they only touch or cross there. */
const leastDriftingShare = 0.05;
/** Any other is so many times as long as the reach, or one edge's whole length and as long as the reach. */
const leastReaches = 2;
/** An edge is joined along its whole length if this share of it is left out at most. */
const leftOut = 1e-6;
/** Two edges of one panel join where the way between them over the panel is so many times the reach. */
const leastWay = 3;
/** Legs that such a way is measured with. */
const wayLegs = 16;

/** An edge of some panel, ready to be compared. */
interface Sought {
  readonly panel: number;
  readonly edge: number;
  readonly trace: EdgeTrace;
}

/** Lower end before higher end, by x, then y, then z. */
const placeOrder = (a: Vector, b: Vector): number => a[0] - b[0] || a[1] - b[1] || a[2] - b[2];

/**
 * The order of two edges by where they lie, whichever way they run and wherever they stand in a list: so
 * that the same two are compared the same way round.
 */
function edgeOrder({ trace: a }: Sought, { trace: b }: Sought): number {
  const sortedEnds = (trace: EdgeTrace): Vector[] =>
    [traceNode(trace, 0), traceNode(trace, trace.t.length - 1)].sort(placeOrder);
  const [endsA, endsB] = [sortedEnds(a), sortedEnds(b)];
  const order =
    placeOrder(endsA[0], endsB[0]) ||
    placeOrder(endsA[1], endsB[1]) ||
    a.s[a.s.length - 1] - b.s[b.s.length - 1] ||
    a.t.length - b.t.length;
  if (order !== 0) return order;
  const differing = a.points.findIndex((x, k) => x !== b.points[k]);
  return differing < 0 ? 0 : a.points[differing] - b.points[differing];
}

/** Whether a stretch has a length of its own, and is no mere touch at a corner and no crossing. */
function isJoin(
  stretch: JointStretch,
  first: EdgeTrace,
  second: EdgeTrace,
  reach: number,
): boolean {
  const lengths = [first, second].map(({ s }) => s[s.length - 1]);
  const shorter = Math.min(...lengths);
  if (stretch.drifts.some(Boolean))
    return stretch.length >= Math.max(leastDrifting * reach, leastDriftingShare * shorter);
  const whole = ([first, second] as const).some(({ t }, k) => {
    const [from, to] = k === 0 ? stretch.first : stretch.second;
    const width = t[t.length - 1] - t[0];
    return Math.abs(Math.abs(to - from) - width) <= leftOut * width;
  });
  return stretch.length >= (whole ? 1 : leastReaches) * reach && stretch.length > 0;
}

/** Length of the straight way in the parameter plane between the middles of a stretch's sides, mm. */
function wayAcross({ net, edges }: Outline, a: EdgeStretch, b: EdgeStretch): number {
  const ends = [a, b].map(
    ({ edge, from, to }) => curveJets(edges[edge].curve).at((from + to) / 2).point,
  );
  const held = (side: 0 | 1, value: number): number => {
    const [low, high] = domain(net.knots[side], net.degree[side]);
    return Math.min(Math.max(value, low), high);
  };
  const places = Array.from({ length: wayLegs + 1 }, (_, k): Vector => {
    const share = k / wayLegs;
    const at = (side: 0 | 1): number =>
      held(side, ends[0][side] + share * (ends[1][side] - ends[0][side]));
    return surfacePoint(net, at(0), at(1));
  });
  return places.slice(1).reduce((total, p, k) => total + distance(places[k], p), 0);
}

const turned = (side: EdgeStretch): EdgeStretch => ({ ...side, from: side.to, to: side.from });

/** A stretch as a join: the side that comes first in the list first, and rising. */
function joinOf(stretch: JointStretch, first: Sought, second: Sought): Join {
  const side = ({ panel, edge }: Sought, [from, to]: readonly [number, number]): EdgeStretch => ({
    panel,
    edge,
    from,
    to,
  });
  const sides = [side(first, stretch.first), side(second, stretch.second)];
  const isInOrder =
    first.panel < second.panel || (first.panel === second.panel && first.edge < second.edge);
  const [a, b] = isInOrder ? sides : sides.reverse();
  const { length, gap } = stretch;
  return a.from < a.to ? { a, b, length, gap } : { a: turned(a), b: turned(b), length, gap };
}

const joinOrder = (one: Join, other: Join): number =>
  one.a.panel - other.a.panel ||
  one.a.edge - other.a.edge ||
  one.b.panel - other.b.panel ||
  one.b.edge - other.b.edge ||
  one.a.from - other.a.from;

/**
 * Every stretch along which two edges run within `reach` mm of each other in about the same direction or
 * against each other, whole or in part: of two panels, or of one that closes on itself. Panels that lie
 * on one another, or three that meet in one edge, join pair by pair. Numbers do not depend on the order
 * of the panels, nor what is joined; that only says which side is `a`. The reach is to be smaller than
 * the narrowest panel is wide: both sides of a strip within it join what lies beside it.
 */
export function joins(outlines: readonly Outline[], reach: number): Join[] {
  const sought = outlines.flatMap(({ net, edges }, panel) =>
    edges.flatMap(({ curve }, edge): Sought[] => {
      const trace = edgeTrace(edgeImage(net, curve));
      return trace ? [{ panel, edge, trace }] : [];
    }),
  );
  return nearEdges(
    sought.map(({ trace }) => trace),
    reach,
  )
    .flatMap(({ first, second, ofFirst, ofSecond }) => {
      const [one, other] = [sought[first], sought[second]];
      const isInOrder = edgeOrder(one, other) <= 0;
      const [a, b] = isInOrder ? [one, other] : [other, one];
      const stretches = isInOrder
        ? jointStretches(a.trace, b.trace, ofFirst, ofSecond, reach)
        : jointStretches(a.trace, b.trace, ofSecond, ofFirst, reach);
      return stretches
        .filter((stretch) => isJoin(stretch, a.trace, b.trace, reach))
        .map((stretch) => joinOf(stretch, a, b))
        .filter(
          (join) =>
            one.panel !== other.panel ||
            wayAcross(outlines[one.panel], join.a, join.b) > leastWay * reach,
        );
    })
    .sort(joinOrder);
}
