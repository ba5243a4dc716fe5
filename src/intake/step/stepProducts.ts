import type { StepFile } from './stepFile.ts';
import { referenceIn, textIn, type StepValue } from './stepValues.ts';

/** What the product structure says about representations. */
export interface StepProducts {
  /** Name of the product a representation is the shape of. */
  readonly nameOf: (representation: number) => string;
  /** Whether a representation shows a detail (shape aspect) and is not the shape of a product. */
  readonly isDetail: (representation: number) => boolean;
  /**
   * The product definitions that a CONTEXT_DEPENDENT_SHAPE_REPRESENTATION says a relationship places:
   * [assembly, component], by the record of the relationship.
   */
  readonly placedIn: ReadonlyMap<number, readonly [number, number]>;
  /** The representations of a product definition. */
  readonly shapesOf: (definition: number) => ReadonlySet<number>;
}

const definitions = ['PRODUCT_DEFINITION', 'PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS'] as const;

/**
 * Reads the chain representation - shape definition - product definition - formation - product.
 * Source: ISO 10303-41, product_definition_schema and product_property_representation_schema;
 * ISO 10303-44, next_assembly_usage_occurrence.
 */
export function stepProducts(file: StepFile): StepProducts {
  const values = (record: number): readonly StepValue[] =>
    record < 0 ? [] : (file.parts(record)?.[0]?.values ?? []);
  const target = (from: number, value: StepValue | undefined): number =>
    file.followed(from, referenceIn(value));

  const definitionOf = new Map<number, number>();
  const detail = new Set<number>();
  const shapes = new Map<number, Set<number>>();
  for (const link of file.having(
    'SHAPE_DEFINITION_REPRESENTATION',
    'PROPERTY_DEFINITION_REPRESENTATION',
  )) {
    const [property, used] = values(link);
    const propertyRecord = target(link, property);
    const representation = target(link, used);
    if (propertyRecord < 0 || representation < 0) continue;
    const definition = target(propertyRecord, values(propertyRecord)[2]);
    if (definition < 0) continue;
    if (!file.is(definition, definitions)) detail.add(representation);
    else if (file.is(link, ['SHAPE_DEFINITION_REPRESENTATION'])) {
      if (!definitionOf.has(representation)) definitionOf.set(representation, definition);
      const known = shapes.get(definition);
      if (known) known.add(representation);
      else shapes.set(definition, new Set([representation]));
    }
  }

  const placedIn = new Map<number, readonly [number, number]>();
  for (const link of file.having('CONTEXT_DEPENDENT_SHAPE_REPRESENTATION')) {
    const [relation, property] = values(link);
    const relationRecord = target(link, relation);
    const propertyRecord = target(link, property);
    const usage = propertyRecord < 0 ? -1 : target(propertyRecord, values(propertyRecord)[2]);
    if (relationRecord < 0 || usage < 0) continue;
    if (!file.is(usage, ['NEXT_ASSEMBLY_USAGE_OCCURRENCE'])) continue;
    // (id, name, description, relating: the assembly, related: the component, ...)
    const of = values(usage);
    placedIn.set(relationRecord, [target(usage, of[3]), target(usage, of[4])]);
  }

  const nameOf = (representation: number): string => {
    const definition = definitionOf.get(representation) ?? -1;
    if (definition < 0) return '';
    const formation = target(definition, values(definition)[2]);
    const product = formation < 0 ? -1 : target(formation, values(formation)[2]);
    const [id, name] = values(product);
    return textIn(name).trim() || textIn(id).trim();
  };
  return {
    nameOf,
    isDetail: (representation) => detail.has(representation) && !definitionOf.has(representation),
    placedIn,
    shapesOf: (definition) => shapes.get(definition) ?? new Set(),
  };
}
