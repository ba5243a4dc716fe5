import { features } from '../src/geometry/closestPoints.ts';
import type { Mesh } from '../src/geometry/mesh.ts';

/** The edges of a mesh that one triangle alone has. */
interface MeshRim {
  /** How many lines they make: one around the mesh, and one a hole. */
  readonly lines: number;
  /** Whether a feature (index in `features`) of a triangle lies on one. */
  readonly holds: (triangle: number, feature: number) => boolean;
}

export function meshRim({ triangles }: Mesh): MeshRim {
  const edge = (triangle: number, at: number): [number, number] => [
    triangles[3 * triangle + at],
    triangles[3 * triangle + ((at + 1) % 3)],
  ];
  const key = ([a, b]: readonly [number, number]): string => `${Math.min(a, b)} ${Math.max(a, b)}`;
  const uses = new Map<string, number>();
  for (let k = 0; k < triangles.length; k++) {
    const own = key(edge(Math.floor(k / 3), k % 3));
    uses.set(own, (uses.get(own) ?? 0) + 1);
  }
  // of every corner on the rim, one that hangs together with it, itself at last
  const linked = new Map<number, number>();
  const lineOf = (corner: number): number => {
    let at = corner;
    for (let next = linked.get(at) ?? at; next !== at; next = linked.get(at) ?? at) at = next;
    return at;
  };
  for (const [own, count] of uses) {
    if (count > 1) continue;
    const [a, b] = own.split(' ').map(Number);
    const [from, to] = [lineOf(a), lineOf(b)];
    linked.set(from, to);
    if (!linked.has(to)) linked.set(to, to);
  }
  return {
    lines: [...linked].filter(([from, to]) => from === to).length,
    holds: (triangle, feature) => {
      const [kind, at] = features[feature].split('-');
      if (kind === 'edge') return uses.get(key(edge(triangle, Number(at)))) === 1;
      return kind === 'corner' && linked.has(triangles[3 * triangle + Number(at)]);
    },
  };
}
