import { printable, type Directory, type Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import type { ParameterSource } from './igesParameters.ts';
import { propertyPointers, type Parent } from './igesStructure.ts';

/** Gives a surface its name. */
export type NameOf = (
  entity: Entity,
  additional: readonly Field[],
  owners: readonly Parent[],
) => string;

const isName = ({ type, form }: Entity): boolean => type === 406 && form === 15;

/**
 * The name of a surface: a name property (406, form 15) of its own, else of the face that owns it
 * (143, 144, 510); else the label of its directory entry, else of the face's; else its place.
 */
export function igesNames(directory: Directory, source: ParameterSource): NameOf {
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

  return (entity, additional, owners) => {
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
}
