import { composed, inPlace, isSolid, type Placement } from '../../geometry/placement.ts';
import type { Vector } from '../../geometry/vector.ts';
import { fault, type Fault } from '../fault.ts';
import { printable, type Directory, type Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import type { ParameterSource } from './igesParameters.ts';
import { isSurface } from './igesUnjudged.ts';

/** An entity that refers to others which take its place in space, or trims a surface. */
export interface Parent {
  readonly entity: Entity;
  /** True where it is a face (143, 144, 510) that keeps only a part of its surface. */
  readonly trims: boolean;
  readonly isFace: boolean;
  /** Pointers to properties (406): the second group of additional pointers. */
  readonly properties: readonly number[];
  /** Of a face all its parameters, which tell its borders; else none. */
  readonly fields: readonly Field[];
}

/** One place at which a surface stands, and the face that keeps a part of it there, if one does. */
export interface Standing {
  readonly face: Parent | null;
  readonly placement: Placement;
}

export interface Structure {
  readonly parentsOf: (entity: Entity) => readonly Parent[];
  /**
   * Every place at which a surface stands in the model, once for each face that trims it there, and once
   * where none does or another keeps it whole; or why that is not known. Equal places are one object.
   */
  readonly standingsOf: (entity: Entity) => readonly Standing[] | Fault;
  /** The entity's own matrix, then the one that matrix refers to, and so on (IGES 5.3, 3.2.3). */
  readonly ownPlacement: (entity: Entity) => Placement | Fault;
  /** Base surfaces of faces. */
  readonly bases: ReadonlySet<Entity>;
  readonly faults: readonly Fault[];
}

/** Nesting deeper than this is a cycle of pointers, or not made by any writer. */
const deepest = 64;
/** Copies by instances, of all entities together, over which a file is no model but a trap. */
const mostPlacements = 100_000;

/**
 * Pointers to properties behind `from`: the number of associativities, these, the number of
 * properties, these (IGES 5.3, 2.2.4.5.2).
 */
export function propertyPointers(fields: readonly Field[], from: number): number[] {
  const count = (at: number): number => {
    const value = fields[at];
    return typeof value === 'number' && Number.isInteger(value) && value > 0 ? value : 0;
  };
  const second = from + 1 + count(from);
  return fields
    .slice(second + 1, second + 1 + Math.min(count(second), fields.length))
    .filter((field) => typeof field === 'number');
}

/** Which parameters of an entity point to what it holds, and where its own parameters end. */
interface Layout {
  readonly children: readonly number[];
  readonly end: number;
  readonly trims?: boolean;
}

/** A counted list of pointers, `step` parameters each, whose count stands at `at`. */
interface List {
  readonly at: number;
  readonly step: number;
}

const faces: ReadonlySet<number> = new Set([143, 144, 510]);
/** Entities that place a definition anew; a child's subordinate switch does not undo that. */
const instances: ReadonlySet<number> = new Set([308, 320, 408, 420, 430]);

const lists: Readonly<Record<number, List>> = {
  186: { at: 2, step: 2 },
  308: { at: 2, step: 1 },
  320: { at: 2, step: 1 },
  514: { at: 0, step: 2 },
};

const countAt = (fields: readonly Field[], at: number): number => {
  const value = fields[at] ?? 0;
  return typeof value === 'number' && Number.isInteger(value) && value >= 0 ? value : -1;
};

/** Layouts by IGES 5.3: 143, 144, 186, 308, 320, 408, 420, 430, 510, 514 (indices from 0). */
function layoutOf({ type }: Entity, fields: readonly Field[]): Layout | null {
  const list = lists[type];
  if (list) {
    const count = countAt(fields, list.at);
    const from = list.at + 1;
    // the last flag of a pair may be left to its default
    if (count < 0 || from + count * list.step > fields.length + list.step - 1) return null;
    const members = Array.from({ length: count }, (_, k) => from + k * list.step);
    return { children: type === 186 ? [0, ...members] : members, end: from + count * list.step };
  }
  // SURF, N, OF, N loops; a closed surface may need none
  if (type === 510)
    return { children: [0], end: 3 + countAt(fields, 1), trims: countAt(fields, 1) !== 0 };
  // TYPE, SPTR, N, N boundaries
  if (type === 143)
    return { children: [1], end: 3 + countAt(fields, 2), trims: countAt(fields, 2) !== 0 };
  // PTS, N1, N2, PTO, N2 inner boundaries; N1 = 0: the outer boundary is that of the surface itself
  if (type === 144)
    return {
      children: [0],
      end: 4 + countAt(fields, 2),
      trims: countAt(fields, 1) !== 0 || countAt(fields, 2) !== 0,
    };
  return { children: [0], end: Infinity };
}

const numberAt = (fields: readonly Field[], at: number, absent: number): number => {
  const value = fields[at];
  return typeof value === 'number' ? value : absent;
};

/**
 * Scale first, then the entity's own matrix, then the shift (IGES 5.3, 2.2.4.4.9.2, steps 4 to 6).
 * 408: DE, X, Y, Z, S; 420: DE, X, Y, Z, XF, YF, ZF, where YF and ZF are XF by default.
 */
function instancePlacement(entity: Entity, fields: readonly Field[], own: Placement): Placement {
  if (entity.type !== 408 && entity.type !== 420) return own;
  const x = numberAt(fields, 4, 1);
  const y = entity.type === 408 ? x : numberAt(fields, 5, x);
  const z = entity.type === 408 ? x : numberAt(fields, 6, x);
  const scale: Placement = {
    rotation: [
      [x, 0, 0],
      [0, y, 0],
      [0, 0, z],
    ],
    shift: [0, 0, 0],
  };
  const shift: Vector = [numberAt(fields, 1, 0), numberAt(fields, 2, 0), numberAt(fields, 3, 0)];
  return composed({ ...inPlace, shift }, composed(own, scale));
}

/** R11 R12 R13 T1, R21 ... T3 (IGES 5.3, 4.21). Form 1 is left-handed: a mirror; others likewise. */
function matrixOf(fields: readonly Field[]): Placement | null {
  const row = (k: number): Vector => [
    numberAt(fields, 4 * k, 0),
    numberAt(fields, 4 * k + 1, 0),
    numberAt(fields, 4 * k + 2, 0),
  ];
  const matrix: Placement = {
    rotation: [row(0), row(1), row(2)],
    shift: [numberAt(fields, 3, 0), numberAt(fields, 7, 0), numberAt(fields, 11, 0)],
  };
  return fields.every((field) => typeof field !== 'string') && isSolid(matrix) ? matrix : null;
}

/** First `inner`, then `outer`; what is in place stays the one `inPlace`, to be told at a glance. */
const none: readonly Parent[] = [];

export const after = (outer: Placement, inner: Placement): Placement =>
  outer === inPlace ? inner : inner === inPlace ? outer : composed(outer, inner);

const keyOf = ({ rotation, shift }: Placement): string => [...rotation.flat(), ...shift].join(' ');

const distinct = (placements: readonly Placement[]): Placement[] => {
  const seen = new Map<string, Placement>();
  for (const placement of placements) {
    const key = keyOf(placement);
    if (!seen.has(key)) seen.set(key, placement);
  }
  return [...seen.values()];
};

/** Reads the entities that place and trim surfaces, and answers where a surface stands. */
export function igesStructure(directory: Directory, source: ParameterSource): Structure {
  const faults: Fault[] = [];
  const bases = new Set<Entity>();
  const parents = new Map<Entity, Map<Entity, Parent>>();
  const instanceFields = new Map<Entity, readonly Field[]>();
  const structural = new Set([...faces, 186, 514, ...instances]);

  function badPointer(entity: Entity, what: string, found: Field): void {
    faults.push(
      fault('iges-pointer', directory.placeOf(entity), {
        entity: entity.type,
        what,
        found: Number.isSafeInteger(found) ? Number(found) : printable(String(found ?? '')),
      }),
    );
  }

  function readParent(entity: Entity): void {
    const fields = source.fieldsOf(entity);
    if ('code' in fields) {
      faults.push(fields);
      return;
    }
    const layout = layoutOf(entity, fields);
    if (!layout) {
      faults.push(
        fault('count-beyond-file', directory.placeOf(entity), {
          entity: entity.type,
          what: 'pointers',
          expected: Math.min(
            numberAt(fields, lists[entity.type]?.at ?? 0, 0),
            Number.MAX_SAFE_INTEGER,
          ),
          found: fields.length,
        }),
      );
      return;
    }
    const isFace = faces.has(entity.type);
    const parent: Parent = {
      entity,
      isFace,
      trims: layout.trims ?? false,
      properties: isFace ? propertyPointers(fields, layout.end) : [],
      fields: isFace ? fields : [],
    };
    if (entity.type === 408 || entity.type === 420) instanceFields.set(entity, fields);
    for (const at of layout.children) {
      const pointer = fields[at] ?? null;
      const child = typeof pointer === 'number' ? directory.entityAt(pointer) : null;
      if (!child || (isFace && !isSurface(child))) {
        badPointer(entity, isFace ? 'surface' : 'member', pointer);
        continue;
      }
      if (isFace) bases.add(child);
      const known = parents.get(child);
      if (known) known.set(entity, parent);
      else parents.set(child, new Map([[entity, parent]]));
    }
  }

  for (const entity of directory.entities) if (structural.has(entity.type)) readParent(entity);

  const parentsOf = (entity: Entity): readonly Parent[] => {
    const known = parents.get(entity);
    return known ? [...known.values()] : none;
  };

  const matrices = new Map<Entity, Placement | Fault>();
  function readMatrix(entity: Entity): Placement | Fault {
    const known = matrices.get(entity);
    if (known) return known;
    const fields = source.fieldsOf(entity);
    const place = directory.placeOf(entity);
    const matrix =
      'code' in fields ? fields : (matrixOf(fields) ?? fault('placement', place, { entity: 124 }));
    matrices.set(entity, matrix);
    return matrix;
  }

  function ownPlacement(entity: Entity): Placement | Fault {
    let placement = inPlace;
    let at = entity;
    for (let depth = 0; at.matrix !== 0; depth++) {
      const next = directory.entityAt(at.matrix);
      const place = directory.placeOf(at);
      if (next?.type !== 124)
        return fault('iges-pointer', place, { entity: at.type, what: 'matrix', found: at.matrix });
      if (depth >= deepest) return fault('too-deep', place, { what: 'matrices', most: deepest });
      const matrix = readMatrix(next);
      if ('code' in matrix) return matrix;
      placement = after(matrix, placement);
      at = next;
    }
    const fields = instanceFields.get(entity);
    return fields ? instancePlacement(entity, fields, placement) : placement;
  }

  /** Parents whose matrix moves the entity: all, unless it says that no parent's does. */
  const movers = (entity: Entity): readonly Parent[] => {
    const logicallyDependent = Math.floor(entity.status / 10_000) % 100 === 2;
    return parentsOf(entity).filter(
      (parent) => !logicallyDependent || instances.has(parent.entity.type),
    );
  };

  const known = new Map<Entity, readonly Placement[] | Fault>();
  let budget = mostPlacements;
  function placements(entity: Entity, depth: number): readonly Placement[] | Fault {
    const before = known.get(entity);
    if (before) return before;
    const place = directory.placeOf(entity);
    if (depth > deepest) return fault('too-deep', place, { what: 'instances', most: deepest });
    const own = ownPlacement(entity);
    if ('code' in own) return own;
    const above = movers(entity);
    const found: Placement[] = above.length === 0 ? [own] : [];
    for (const { entity: parent } of above) {
      const outer = placements(parent, depth + 1);
      if ('code' in outer) return outer;
      // What stands in one place only is bounded by the file itself; the rest is by this.
      budget -= outer.length - 1;
      if (budget < 0) return fault('iges-instances', place, { most: mostPlacements });
      for (const placement of outer) found.push(after(placement, own));
    }
    const all = found.length > 1 ? distinct(found) : found;
    known.set(entity, all);
    return all;
  }

  function standings(entity: Entity): readonly Standing[] | Fault {
    const own = ownPlacement(entity);
    if ('code' in own) return own;
    const above = parentsOf(entity);
    if (above.length === 0) return [{ face: null, placement: own }];
    const moving = new Set(movers(entity));
    const places = new Map<string, Placement>();
    const found = new Map<Parent | null, Set<Placement>>();
    const whole = new Set<Placement>();
    const stand = (face: Parent | null, placement: Placement): Placement => {
      const key = keyOf(placement);
      const place = places.get(key) ?? placement;
      places.set(key, place);
      const known = found.get(face);
      if (known) known.add(place);
      else found.set(face, new Set([place]));
      return place;
    };
    for (const parent of moving) {
      const outer = placements(parent.entity, 1);
      if ('code' in outer) return outer;
      budget -= outer.length - 1;
      if (budget < 0)
        return fault('iges-instances', directory.placeOf(entity), { most: mostPlacements });
      for (const placement of outer) {
        const place = stand(parent.trims ? parent : null, after(placement, own));
        if (parent.isFace && !parent.trims) whole.add(place);
      }
    }
    // A face whose matrix does not move the surface trims it wherever it stands.
    const alone = moving.size === 0 ? [own] : [...places.values()];
    if (moving.size === 0) stand(null, own);
    for (const parent of above) {
      if (!parent.isFace || moving.has(parent)) continue;
      budget -= alone.length - 1;
      if (budget < 0)
        return fault('iges-instances', directory.placeOf(entity), { most: mostPlacements });
      for (const placement of alone) {
        if (parent.trims) stand(parent, placement);
        else whole.add(placement);
      }
    }
    const trimmed = new Set<Placement>();
    for (const [face, at] of found) if (face) for (const place of at) trimmed.add(place);
    return [...found].flatMap(([face, at]) =>
      [...at].flatMap((placement) =>
        face || whole.has(placement) || !trimmed.has(placement) ? [{ face, placement }] : [],
      ),
    );
  }

  return {
    parentsOf,
    standingsOf: standings,
    ownPlacement,
    bases,
    faults,
  };
}
