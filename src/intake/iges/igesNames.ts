import { printable, type Directory, type Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import type { ParameterSource } from './igesParameters.ts';
import { propertyPointers, type Parent } from './igesStructure.ts';

/** The names that a file gives. */
export interface IgesNames {
  /** That of a surface, from its own additional pointers or from the faces that own it. */
  readonly nameOf: (
    entity: Entity,
    additional: readonly Field[],
    owners: readonly Parent[],
  ) => string;
  /** The first name among properties, or ''. */
  readonly propertyName: (pointers: readonly number[]) => string;
}

const isName = ({ type, form }: Entity): boolean => type === 406 && form === 15;

/**
 * Names of surfaces: a name property (406, form 15) of its own, else of the face that owns it
 * (143, 144, 510); else the label of its directory entry, else of the face's; else its place.
 */
export function igesNames(directory: Directory, source: ParameterSource): IgesNames {
  const read = new Map<Entity, string>();

  /** NP, NAME (IGES 5.3, 406 form 15). A name that cannot be read is none. */
  function nameIn(property: Entity): string {
    const known = read.get(property);
    if (known !== undefined) return known;
    const fields = source.fieldsOf(property);
    const text = 'code' in fields ? null : (fields[1] ?? null);
    const name = typeof text === 'string' ? printable(text) : '';
    read.set(property, name);
    return name;
  }

  const named = (pointers: readonly number[]): string => {
    for (const pointer of pointers) {
      const property = directory.entityAt(pointer);
      const name = property && isName(property) ? nameIn(property) : '';
      if (name !== '') return name;
    }
    return '';
  };

  const nameOf: IgesNames['nameOf'] = (entity, additional, owners) => {
    const candidates = [
      () => named(propertyPointers(additional, 0)),
      ...owners.map((owner) => () => named(owner.properties)),
      () => directory.labelOf(entity),
      ...owners.map((owner) => () => directory.labelOf(owner.entity)),
    ];
    for (const candidate of candidates) {
      const name = candidate();
      if (name !== '') return name;
    }
    return `surface-${directory.placeOf(entity).record}`;
  };
  return { nameOf, propertyName: named };
}
