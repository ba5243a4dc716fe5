import Flatbush from 'flatbush';
import type { EdgeTrace } from './edgeTrace.ts';

/** Two edges that may run along each other, and the segments of each that may, rising. */
export interface NearEdges {
  /** Indices of the traces, first < second. */
  readonly first: number;
  readonly second: number;
  readonly ofFirst: readonly number[];
  readonly ofSecond: readonly number[];
}

/** Segments of edges that run along each other turn from each other by less than this, as a cosine. */
const leastCosine = Math.cos((65 * Math.PI) / 180);

/** All segments one after the other: their boxes, grown by the departure of the edge, and directions. */
interface Segments {
  readonly edge: Int32Array;
  /** Lowest and highest x, y, z: six numbers a segment. */
  readonly boxes: Float64Array;
  readonly directions: Float64Array;
}

function segmentsOf(traces: readonly EdgeTrace[]): Segments {
  const count = traces.reduce((total, { t }) => total + t.length - 1, 0);
  const edge = new Int32Array(count);
  const boxes = new Float64Array(6 * count);
  const directions = new Float64Array(3 * count);
  let at = 0;
  traces.forEach(({ points, t, departure }, k) => {
    for (let node = 0; node + 1 < t.length; node++, at++) {
      edge[at] = k;
      let size = 0;
      for (let axis = 0; axis < 3; axis++) {
        const [a, b] = [points[3 * node + axis], points[3 * node + 3 + axis]];
        boxes[6 * at + axis] = Math.min(a, b) - departure;
        boxes[6 * at + 3 + axis] = Math.max(a, b) + departure;
        directions[3 * at + axis] = b - a;
        size += (b - a) ** 2;
      }
      for (let axis = 0; axis < 3 && size > 0; axis++) directions[3 * at + axis] /= Math.sqrt(size);
    }
  });
  return { edge, boxes, directions };
}

/** The two axes along which the model is longest: the tree looks along them, the third is compared. */
function longestAxes(boxes: Float64Array): readonly [number, number] {
  const extents = [0, 1, 2].map((axis) => {
    let [low, high] = [Infinity, -Infinity];
    for (let at = axis; at < boxes.length; at += 6) {
      low = Math.min(low, boxes[at]);
      high = Math.max(high, boxes[at + 3]);
    }
    return { axis, extent: high - low };
  });
  const [first, second] = extents.sort((a, b) => b.extent - a.extent || a.axis - b.axis);
  return [first.axis, second.axis];
}

/** A search box is wider by this share, so that rounding leaves out nothing before all axes are compared. */
const widened = 1 + 1e-6;

/**
 * Every pair of edges of which some segments lie within `reach` mm of each other, box by box, and run
 * in about the same direction or against each other. An R-tree over two axes finds them.
 */
export function nearEdges(traces: readonly EdgeTrace[], reach: number): NearEdges[] {
  const { edge, boxes, directions } = segmentsOf(traces);
  if (edge.length === 0) return [];
  const [x, y] = longestAxes(boxes);
  const tree = new Flatbush(edge.length);
  for (let k = 0; k < edge.length; k++)
    tree.add(boxes[6 * k + x], boxes[6 * k + y], boxes[6 * k + 3 + x], boxes[6 * k + 3 + y]);
  tree.finish();
  const isNear = (a: number, b: number): boolean => {
    let cosine = 0;
    for (let axis = 0; axis < 3; axis++) {
      const apart = Math.max(
        boxes[6 * a + axis] - boxes[6 * b + 3 + axis],
        boxes[6 * b + axis] - boxes[6 * a + 3 + axis],
      );
      if (apart > reach) return false;
      cosine += directions[3 * a + axis] * directions[3 * b + axis];
    }
    return Math.abs(cosine) >= leastCosine;
  };
  const starts = new Int32Array(traces.length);
  for (let k = 1; k < traces.length; k++) starts[k] = starts[k - 1] + traces[k - 1].t.length - 1;
  const pairs = new Map<number, { ofFirst: Set<number>; ofSecond: Set<number> }>();
  const grown = reach * widened;
  for (let a = 0; a < edge.length; a++) {
    const found = tree.search(
      boxes[6 * a + x] - grown,
      boxes[6 * a + y] - grown,
      boxes[6 * a + 3 + x] + grown,
      boxes[6 * a + 3 + y] + grown,
      (b) => edge[b] > edge[a] && isNear(a, b),
    );
    for (const b of found) {
      const key = edge[a] * traces.length + edge[b];
      let pair = pairs.get(key);
      if (!pair) pairs.set(key, (pair = { ofFirst: new Set(), ofSecond: new Set() }));
      pair.ofFirst.add(a - starts[edge[a]]);
      pair.ofSecond.add(b - starts[edge[b]]);
    }
  }
  const rising = (some: ReadonlySet<number>): number[] => [...some].sort((a, b) => a - b);
  return [...pairs]
    .sort(([a], [b]) => a - b)
    .map(([key, { ofFirst, ofSecond }]) => ({
      first: Math.floor(key / traces.length),
      second: key % traces.length,
      ofFirst: rising(ofFirst),
      ofSecond: rising(ofSecond),
    }));
}
