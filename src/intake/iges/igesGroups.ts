import { printable, type Directory, type Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import type { IgesNames } from './igesNames.ts';
import type { ParameterSource } from './igesParameters.ts';
import { propertyPointers, type Structure } from './igesStructure.ts';

/** The names of the groups and layers that a surface belongs to, where a face or none trims it. */
export type GroupsOf = (surface: Entity, face: Entity | null) => readonly string[];

/** Forms of 402 that are groups: with and without back pointers, in order and not (IGES 5.3, 402). */
const groupForms: ReadonlySet<number> = new Set([1, 7, 14, 15]);
/** Groups deeper in each other than this are a circle, or not made by any writer. */
const deepest = 64;
/** Names kept of one thing. A file that gives more uses groups for something else. */
const mostNames = 64;

type Names = ReadonlySet<string>;
const noNames: Names = new Set();

const isWhole = (field: Field): field is number => Number.isSafeInteger(field);

/**
 * Groups (402) that hold a surface, its face, or what holds these; and the layers on which any of them
 * stands: a level in field 5 of the directory entry, or a list of levels (406, form 1), called by the
 * name that a property (406, form 3) on the same level gives it, else "layer 12". A group is called by
 * its name property or label, else by its place. Pointers that lead nowhere put nothing in a group.
 */
export function igesGroups(
  directory: Directory,
  source: ParameterSource,
  names: IgesNames,
  structure: Structure,
): GroupsOf {
  const layerNames = new Map<number, string>();
  const groups = new Map<Entity, Set<Entity>>();
  const groupNames = new Map<Entity, string>();
  const levelLists = new Map<Entity, readonly number[]>();

  const fieldsOf = (entity: Entity): readonly Field[] => {
    const fields = source.fieldsOf(entity);
    return 'code' in fields ? [] : fields;
  };

  /** N, then N members; properties behind them (402). */
  function readGroup(entity: Entity): void {
    const fields = fieldsOf(entity);
    const count = fields[0] ?? null;
    if (!isWhole(count) || count < 0) return;
    groupNames.set(
      entity,
      names.propertyName(propertyPointers(fields, 1 + count)) ||
        directory.labelOf(entity) ||
        `group-${directory.placeOf(entity).record}`,
    );
    for (const pointer of fields.slice(1, 1 + count)) {
      const member = isWhole(pointer) ? directory.entityAt(pointer) : null;
      if (!member) continue;
      const others = groups.get(member);
      if (others) others.add(entity);
      else groups.set(member, new Set([entity]));
    }
  }

  for (const entity of directory.entities) {
    if (entity.type === 402 && groupForms.has(entity.form)) readGroup(entity);
    // NP, function code, description
    if (entity.type === 406 && entity.form === 3) {
      const [, , text = null] = fieldsOf(entity);
      const name = typeof text === 'string' ? printable(text) : '';
      if (name !== '') layerNames.set(directory.levelOf(entity), name);
    }
  }

  /** NP, then NP levels (406, form 1). */
  function levelList(entity: Entity): readonly number[] {
    const before = levelLists.get(entity);
    if (before) return before;
    const [, ...levels] = fieldsOf(entity);
    const found = levels.filter(isWhole).slice(0, mostNames);
    levelLists.set(entity, found);
    return found;
  }

  function levelsOf(entity: Entity): readonly number[] {
    const level = directory.levelOf(entity);
    if (level === 0) return [];
    if (level > 0) return [level];
    const list = directory.entityAt(-level);
    return list?.type === 406 && list.form === 1 ? levelList(list) : [];
  }

  function layersOf(entity: Entity): Names {
    const levels = levelsOf(entity).filter((level) => level > 0);
    if (levels.length === 0) return noNames;
    return new Set(levels.map((level) => layerNames.get(level) ?? `layer ${level}`));
  }

  const known = { groups: new Map<Entity, Names>(), all: new Map<Entity, Names>() };

  /** What `collect` gathers for an entity, once; in a circle what is being asked for adds nothing. */
  function kept(
    memory: Map<Entity, Names>,
    entity: Entity,
    depth: number,
    collect: (add: (more: Names) => void) => void,
  ): Names {
    const before = memory.get(entity);
    if (before) return before;
    if (depth > deepest) return noNames;
    memory.set(entity, noNames);
    const found = new Set<string>();
    collect((more) => {
      for (const name of more) if (found.size < mostNames) found.add(name);
    });
    memory.set(entity, found.size > 0 ? found : noNames);
    return found;
  }

  /** The groups that hold an entity, and those that hold these. */
  const groupsOf = (entity: Entity, depth: number): Names =>
    kept(known.groups, entity, depth, (add) => {
      for (const group of groups.get(entity) ?? []) {
        add(new Set([groupNames.get(group)!]));
        add(groupsOf(group, depth + 1));
      }
    });

  /** The layers and groups of an entity and of all that holds it. */
  const namesOf = (entity: Entity, depth: number): Names =>
    kept(known.all, entity, depth, (add) => {
      add(layersOf(entity));
      add(groupsOf(entity, depth));
      for (const parent of structure.parentsOf(entity)) add(namesOf(parent.entity, depth + 1));
    });

  /** Most surfaces of many files: on no layer, and held by nothing. */
  const isAlone = (entity: Entity): boolean =>
    groups.size === 0 &&
    directory.levelOf(entity) === 0 &&
    structure.parentsOf(entity).length === 0;

  return (surface, face) => {
    if (isAlone(surface)) return [];
    const found = face
      ? new Set([...layersOf(surface), ...groupsOf(surface, 0), ...namesOf(face, 0)])
      : namesOf(surface, 0);
    return found.size > 0 ? [...found].sort((a, b) => (a < b ? -1 : 1)) : [];
  };
}
