import { inPlace, type Placement } from '../../geometry/placement.ts';
import { placedCurve, type SplineCurve } from '../../geometry/splineCurve.ts';
import type { Place } from '../fault.ts';
import { igesCurve } from './igesCurve.ts';
import type { Directory, Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import type { ParameterSource } from './igesParameters.ts';
import { after, type Structure } from './igesStructure.ts';

/** Why a border cannot be made out, and the entity that is to blame. */
export interface BorderTrouble {
  readonly what: 'kind' | 'pointer' | 'data' | 'nesting' | 'surface' | 'apart';
  readonly entity: number;
  readonly place: Place;
}

export const isTrouble = (found: object): found is BorderTrouble => 'what' in found;

/** The curves of a file, each read once. */
export interface CurveSource {
  /**
   * What a pointer's curve comes to, in order: itself, or what a composite curve (102) is made of. In
   * the file's unit, in the frame of the entity that points; `outer` is applied on top of it.
   */
  readonly curvesOf: (
    pointer: Field,
    from: Entity,
    outer?: Placement,
  ) => readonly SplineCurve[] | BorderTrouble;
  /** The parameters of an entity that lists curves, kept. */
  readonly fieldsOf: (entity: Entity) => readonly Field[] | BorderTrouble;
  /** As fieldsOf, for what is gone through as a whole each time, which the file's size bounds. */
  readonly borderFieldsOf: (entity: Entity) => readonly Field[] | BorderTrouble;
  readonly troubleAt: (entity: Entity, what: BorderTrouble['what']) => BorderTrouble;
}

/** Composite curves in composite curves, deeper than which it is a circle of pointers. */
const deepest = 64;
const composite = 102;
/** Points among the members of a composite curve: they say where, and are no part of it (IGES 5.3, 4.4). */
const points: ReadonlySet<number> = new Set([116, 132]);

export function curveSource(
  directory: Directory,
  source: ParameterSource,
  { ownPlacement }: Pick<Structure, 'ownPlacement'>,
): CurveSource {
  const read = new Map<Entity, SplineCurve | BorderTrouble>();
  const kept = new Map<Entity, readonly Field[] | BorderTrouble>();
  // A border is of one face and a curve of two at most: composites that multiply, or a thousand faces
  // with one endless border, must not fill memory and time.
  let budget = 32 * directory.entities.length + 10_000;

  const troubleAt = (entity: Entity, what: BorderTrouble['what']): BorderTrouble => ({
    what,
    entity: entity.type,
    place: directory.placeOf(entity),
  });

  function ownCurve(entity: Entity): SplineCurve | BorderTrouble {
    const known = read.get(entity);
    if (known) return known;
    const cursor = source.cursorOf(entity);
    const curve = 'code' in cursor ? 'data' : igesCurve(entity, cursor);
    const found = typeof curve === 'string' ? troubleAt(entity, curve) : curve;
    read.set(entity, found);
    return found;
  }

  function fieldsOf(entity: Entity): readonly Field[] | BorderTrouble {
    const known = kept.get(entity);
    if (known) return known;
    const fields = source.fieldsOf(entity);
    const found = 'code' in fields ? troubleAt(entity, 'data') : fields;
    kept.set(entity, found);
    return found;
  }

  function borderFieldsOf(entity: Entity): readonly Field[] | BorderTrouble {
    const fields = fieldsOf(entity);
    if (isTrouble(fields)) return fields;
    budget -= fields.length;
    return budget < 0 ? troubleAt(entity, 'nesting') : fields;
  }

  function collect(
    entity: Entity,
    outer: Placement,
    depth: number,
    into: SplineCurve[],
  ): BorderTrouble | null {
    if (--budget < 0 || depth > deepest) return troubleAt(entity, 'nesting');
    const own = ownPlacement(entity);
    if ('code' in own) return troubleAt(entity, 'data');
    const placement = after(outer, own);
    if (entity.type !== composite) {
      const curve = ownCurve(entity);
      if (isTrouble(curve)) return curve;
      into.push(placement === inPlace ? curve : placedCurve(curve, placement));
      return null;
    }
    const fields = borderFieldsOf(entity);
    if (isTrouble(fields)) return fields;
    // N, then pointers to N members (4.4)
    const [count] = fields;
    if (typeof count !== 'number' || !(count > 0) || count >= fields.length)
      return troubleAt(entity, 'data');
    for (const pointer of fields.slice(1, count + 1)) {
      const member = typeof pointer === 'number' ? directory.entityAt(pointer) : null;
      if (!member) return troubleAt(entity, 'pointer');
      if (points.has(member.type)) continue;
      const trouble = collect(member, placement, depth + 1, into);
      if (trouble) return trouble;
    }
    return null;
  }

  return {
    curvesOf: (pointer, from, outer = inPlace) => {
      const entity = typeof pointer === 'number' ? directory.entityAt(pointer) : null;
      if (!entity) return troubleAt(from, 'pointer');
      const found: SplineCurve[] = [];
      return collect(entity, outer, 0, found) ?? found;
    },
    fieldsOf,
    borderFieldsOf,
    troubleAt,
  };
}
