import { inPlace, type Placement } from '../../geometry/placement.ts';
import type { StepFile } from './stepFile.ts';
import { relationTypes } from './stepKeywords.ts';
import { axisFrame, fromFrameToFrame, targetPlacement } from './stepPlacements.ts';
import type { StepProducts } from './stepProducts.ts';
import type { StepRepresentations } from './stepRepresentations.ts';
import { referenceIn } from './stepValues.ts';

/** One representation placed in another; shifts are in millimetres. */
export interface Edge {
  readonly child: number;
  readonly parent: number;
  readonly placement: Placement;
  /** The record that says so. */
  readonly record: number;
}

const relationLayout = [
  ['REPRESENTATION_RELATIONSHIP', 4],
  ['REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION', 1],
] as const;
const mappedLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['MAPPED_ITEM', 2],
] as const;

/** The edge, or nothing where the placement cannot be made, which is told. */
function edgeOr(
  file: StepFile,
  edge: Omit<Edge, 'placement'>,
  placement: Placement | null,
): Edge[] {
  if (placement) return [{ ...edge, placement }];
  file.tellAt('placement', edge.record, { what: file.typeName(edge.record) });
  return [];
}

/** The frames of both items of an ITEM_DEFINED_TRANSFORMATION, each in its representation's unit. */
function itemFrames(
  file: StepFile,
  operator: number,
  [one, two]: readonly [number, number],
  millimetres: (representation: number) => number,
): readonly [Placement | null, Placement | null] {
  // (name, description, item of rep_1, item of rep_2)
  const values = file.parts(operator)?.[0]?.values ?? [];
  const frame = (k: number, representation: number): Placement | null => {
    const item = file.followed(operator, referenceIn(values[k]));
    return item < 0 ? null : axisFrame(file, item, millimetres(representation));
  };
  return [frame(2, one), frame(3, two)];
}

/**
 * What the relationships between representations say: which are placed in which, and which pairs
 * share one frame. Source: ISO 10303-43, representation_relationship (name, description, rep_1,
 * rep_2), item_defined_transformation; ISO 10303-41, context_dependent_shape_representation.
 */
export function relations(
  file: StepFile,
  { byRecord, millimetres }: StepRepresentations,
  products: StepProducts,
): { readonly edges: readonly Edge[]; readonly shared: readonly (readonly [number, number])[] } {
  const edges: Edge[] = [];
  const shared: [number, number][] = [];
  for (const record of file.having(...relationTypes)) {
    const values = file.attributes(record, relationLayout);
    if (!values) continue;
    const one = file.followed(record, referenceIn(values[2]));
    const two = file.followed(record, referenceIn(values[3]));
    if (!byRecord.has(one) || !byRecord.has(two)) continue;
    // The standard has rep_1 placed in rep_2; where the product structure says it is the other way
    // round, the product structure is believed.
    const [assembly, component] = products.placedIn.get(record) ?? [-1, -1];
    const isSwapped =
      products.shapesOf(assembly).has(one) &&
      products.shapesOf(component).has(two) &&
      !products.shapesOf(component).has(one);
    const [child, parent] = isSwapped ? [two, one] : [one, two];
    const id = referenceIn(values[4]);
    if (id === null) {
      // A part that stands as it is in an assembly may stand elsewhere too: placed, not merged.
      if (products.placedIn.has(record)) edges.push({ child, parent, placement: inPlace, record });
      else shared.push([one, two]);
      continue;
    }
    const operator = file.followed(record, id);
    if (operator < 0) continue;
    let placement: Placement | null;
    if (file.is(operator, ['ITEM_DEFINED_TRANSFORMATION'])) {
      const [first, second] = itemFrames(file, operator, [one, two], millimetres);
      placement = isSwapped ? fromFrameToFrame(second, first) : fromFrameToFrame(first, second);
    } else placement = targetPlacement(file, operator, millimetres(parent));
    edges.push(...edgeOr(file, { child, parent, record }, placement));
  }
  return { edges, shared };
}

/**
 * The edge a MAPPED_ITEM among the items of `parent` makes: the mapped representation's origin comes
 * to stand on the target. Source: ISO 10303-43, mapped_item, representation_map.
 */
export function mappedEdge(
  file: StepFile,
  { byRecord, millimetres }: StepRepresentations,
  parent: number,
  record: number,
): Edge[] {
  const values = file.attributes(record, mappedLayout);
  const source = file.followed(record, referenceIn(values?.[1]));
  const target = file.followed(record, referenceIn(values?.[2]));
  if (source < 0 || target < 0) return [];
  const map = file.parts(source)?.[0]?.values ?? [];
  const origin = file.followed(source, referenceIn(map[0]));
  const child = file.followed(source, referenceIn(map[1]));
  if (origin < 0 || !byRecord.has(child)) return [];
  const placement = fromFrameToFrame(
    axisFrame(file, origin, millimetres(child)),
    targetPlacement(file, target, millimetres(parent)),
  );
  return edgeOr(file, { child, parent, record }, placement);
}
