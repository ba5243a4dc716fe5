import type { Placement } from '../../geometry/placement.ts';
import { millimetre, type LengthUnit } from '../lengthUnit.ts';
import { mappedEdge, relations, type Edge } from './stepEdges.ts';
import type { StepFile } from './stepFile.ts';
import { Frames, placementsByFrame } from './stepFrames.ts';
import { holdingsFinder, type HeldSurface, type Owner } from './stepHoldings.ts';
import { stepProducts } from './stepProducts.ts';
import { stepRepresentations } from './stepRepresentations.ts';

/** One place at which a surface stands: its unit, where, and the product it is a part of. */
export interface Instance {
  readonly unit: LengthUnit;
  /** False: no unit is stated and millimetres were taken. */
  readonly stated: boolean;
  /** From the representation's frame to the root's, shift in millimetres. */
  readonly placement: Placement;
  readonly product: string;
  /** Radians of the unit of plane angle there. */
  readonly radians: number;
  /** Millimetres within which points are one there; null where it does not say. */
  readonly uncertainty: number | null;
  /** Records that hold it there: faces, trimmed surfaces, or itself. */
  readonly holders: ReadonlySet<number>;
}

type GrowingInstance = Instance & { readonly holders: Set<number> };

/** Where the surfaces of a file stand. */
export interface StepInstances {
  /** By record, of every B-spline surface that some representation holds. */
  readonly bySurface: ReadonlyMap<number, readonly Instance[]>;
  /** The unit for surfaces that no representation holds; null where the file has no one unit. */
  readonly loose: LengthUnit | null;
}

/** Surfaces at placements in one file, at most. */
const mostInstances = 200_000;

/**
 * Where each B-spline surface stands. Representations are placed in each other by relationships and
 * by mapped items; a relationship without a transformation says that both share a frame.
 */
export function stepInstances(file: StepFile, all: ReadonlyMap<number, Owner>): StepInstances {
  const products = stepProducts(file);
  const known = stepRepresentations(file);
  const representations = [...known.byRecord.values()];
  const holdingsOf = holdingsFinder(file, all);
  const { edges: related, shared } = relations(file, known, products);

  const edges: Edge[] = [...related];
  const held = new Map<number, readonly HeldSurface[]>();
  for (const { record, items } of representations) {
    const { surfaces, mapped } = holdingsOf(record, items);
    held.set(record, surfaces);
    for (const item of mapped) edges.push(...mappedEdge(file, known, record, item));
  }

  const frames = new Frames();
  for (const [one, two] of shared) frames.join(one, two);
  const placements = placementsByFrame(
    file,
    [...new Set(representations.map(({ record }) => frames.of(record)))],
    edges.map((edge) => ({
      ...edge,
      child: frames.of(edge.child),
      parent: frames.of(edge.parent),
    })),
  );
  const productOf = new Map<number, string>();
  for (const { record } of representations) {
    const frame = frames.of(record);
    if (!productOf.get(frame)) productOf.set(frame, products.nameOf(record));
  }

  // Two representations may hold one surface in one place: by placement and unit it is kept once.
  const bySurface = new Map<number, Map<string, GrowingInstance>>();
  let left = mostInstances;
  const add = (details: boolean): void => {
    // A detail only repeats what the whole holds, so it counts where nothing else holds the surface.
    const done = details ? new Set(bySurface.keys()) : new Set<number>();
    for (const { record, unit, radians, uncertainty } of representations) {
      if (products.isDetail(record) !== details) continue;
      const frame = frames.of(record);
      for (const { surface, holder } of held.get(record) ?? []) {
        if (done.has(surface)) continue;
        const instances = bySurface.get(surface) ?? new Map<string, GrowingInstance>();
        bySurface.set(surface, instances);
        for (const [key, placement] of placements.get(frame) ?? []) {
          if (--left < 0) {
            if (left === -1)
              file.tellAt('too-deep', record, { what: 'instances', most: mostInstances });
            return;
          }
          const full = `${key};${(unit ?? millimetre).millimetres}`;
          const instance = instances.get(full) ?? {
            unit: unit ?? millimetre,
            stated: unit !== null,
            placement,
            product: productOf.get(frame) ?? '',
            radians,
            uncertainty,
            holders: new Set<number>(),
          };
          instance.holders.add(holder);
          instances.set(full, instance);
        }
      }
    }
  };
  add(false);
  add(true);
  return {
    bySurface: new Map([...bySurface].map(([surface, found]) => [surface, [...found.values()]])),
    loose: known.agreed,
  };
}
