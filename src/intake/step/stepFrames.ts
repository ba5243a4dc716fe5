import { composed, inPlace, type Placement } from '../../geometry/placement.ts';
import type { Edge } from './stepEdges.ts';
import type { StepFile } from './stepFile.ts';

/** Assemblies in assemblies, at most. */
const deepestAssembly = 64;
/** Placements in one file, at most: parts of parts of parts multiply. */
const mostPlacements = 100_000;

/** Which representations share a frame: sets that grow together, each named by its lowest member. */
export class Frames {
  private readonly head = new Map<number, number>();

  of(member: number): number {
    let at = member;
    for (let next = this.head.get(at); next !== undefined; next = this.head.get(at)) {
      const beyond = this.head.get(next);
      // Each look shortens the way for the next one.
      if (beyond !== undefined) this.head.set(at, beyond);
      at = beyond ?? next;
    }
    return at;
  }

  /** The lower number stays, so that the outcome does not depend on the order of joining. */
  join(a: number, b: number): void {
    const [low, high] = [this.of(a), this.of(b)].sort((x, y) => x - y);
    if (low !== high) this.head.set(high, low);
  }
}

const placementKey = ({ rotation, shift }: Placement): string => [...rotation, shift].join(';');

/** Every placement of every frame that is placed, found by going down from those that are not. */
export function placementsByFrame(
  file: StepFile,
  frames: readonly number[],
  edges: readonly Edge[],
): ReadonlyMap<number, ReadonlyMap<string, Placement>> {
  const below = new Map<number, Edge[]>();
  const placed = new Set<number>();
  for (const edge of edges) {
    const siblings = below.get(edge.parent);
    if (siblings) siblings.push(edge);
    else below.set(edge.parent, [edge]);
    placed.add(edge.child);
  }
  const found = new Map<number, Map<string, Placement>>();
  let left = mostPlacements;
  const visit = (frame: number, placement: Placement, path: readonly number[]): void => {
    if (left <= 0) return;
    left--;
    const here = found.get(frame) ?? new Map<string, Placement>();
    found.set(frame, here);
    const key = placementKey(placement);
    if (here.has(key)) return;
    here.set(key, placement);
    for (const edge of below.get(frame) ?? []) {
      if (left <= 0) {
        file.tellAt('too-deep', edge.record, { what: 'placements', most: mostPlacements });
        return;
      }
      if (path.includes(edge.child) || path.length >= deepestAssembly) {
        left--;
        file.tellAt('too-deep', edge.record, { what: 'assemblies', most: deepestAssembly });
      } else
        visit(
          edge.child,
          placement === inPlace ? edge.placement : composed(placement, edge.placement),
          [...path, edge.child],
        );
    }
  };
  for (const frame of frames) if (!placed.has(frame)) visit(frame, inPlace, [frame]);
  // What only a circle of placements leads to is read where it stands.
  for (const frame of frames) if (!found.has(frame)) visit(frame, inPlace, [frame]);
  return found;
}
