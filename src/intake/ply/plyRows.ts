import type { PlyElement, PlyHeader, PlyProperty } from './plyHeader.ts';

/** What a property of a row means to a mesh. */
export const nothing = 0;
export const xValue = 1;
export const yValue = 2;
export const zValue = 3;
export const cornerList = 4;

export interface PlyColumn extends PlyProperty {
  readonly means: number;
}

/** What the rows of an element are to a mesh. */
export interface PlyRows {
  readonly kind: 'vertex' | 'face' | 'strip' | 'other';
  readonly element: PlyElement;
  readonly columns: readonly PlyColumn[];
}

const axes: Readonly<Record<string, number>> = { x: xValue, y: yValue, z: zValue };
const cornerNames = ['vertex_indices', 'vertex_index'];

function meaning(kind: PlyRows['kind'], { name, count }: PlyProperty): number {
  if (kind === 'vertex') return (count === null && axes[name.toLowerCase()]) || nothing;
  if (kind === 'other') return nothing;
  return count !== null && cornerNames.includes(name.toLowerCase()) ? cornerList : nothing;
}

const kinds: Readonly<Record<string, PlyRows['kind']>> = {
  vertex: 'vertex',
  face: 'face',
  tristrips: 'strip',
};

/**
 * The elements of a header as rows to be read. The names vertex, x, y, z, face, vertex_indices (and
 * vertex_index) are those of Turk's description, tristrips is common practice beside it. An element
 * without what its name promises is `other`.
 */
export function plyRows({ elements }: PlyHeader): PlyRows[] {
  return elements.map((element): PlyRows => {
    const kind = kinds[element.name.toLowerCase()] ?? 'other';
    const columns = element.properties.map((property) => ({
      ...property,
      means: meaning(kind, property),
    }));
    const needed = kind === 'vertex' ? [xValue, yValue, zValue] : [cornerList];
    return kind === 'other' || needed.every((value) => columns.some(({ means }) => means === value))
      ? { kind, element, columns }
      : {
          kind: 'other',
          element,
          columns: columns.map((column) => ({ ...column, means: nothing })),
        };
  });
}
