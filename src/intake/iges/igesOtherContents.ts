import type { OtherContent } from '../otherContents.ts';
import { igesDirectory, type Directory, type Entity } from './igesDirectory.ts';
import { igesGlobals } from './igesGlobals.ts';
import { parameterSource, type ParameterSource } from './igesParameters.ts';
import { igesSections } from './igesSections.ts';
import { isSurface } from './igesUnjudged.ts';

/** Names by IGES 5.3, table 3, of what files in use hold besides surfaces. */
const labels: Readonly<Record<number, string>> = {
  100: 'circular arc',
  102: 'composite curve',
  104: 'conic arc',
  106: 'copious data',
  110: 'line',
  112: 'parametric spline curve',
  116: 'point',
  123: 'direction',
  125: 'flash',
  126: 'rational B-spline curve',
  130: 'offset curve',
  132: 'connect point',
  134: 'node',
  136: 'finite element',
  186: 'solid, whose faces are written by themselves',
  202: 'angular dimension',
  206: 'diameter dimension',
  210: 'general label',
  212: 'general note',
  214: 'leader',
  216: 'linear dimension',
  218: 'ordinate dimension',
  220: 'point dimension',
  222: 'radius dimension',
  228: 'general symbol',
  230: 'sectioned area',
  304: 'line font definition',
  308: 'subfigure definition, which is written where it stands',
  310: 'text font definition',
  314: 'color definition',
  320: 'network subfigure definition',
  402: 'associativity that is no group',
  404: 'drawing',
  406: 'property that is no name',
  410: 'view',
  416: 'external reference',
  430: 'solid instance',
  514: 'shell, whose faces are written by themselves',
};

/** What places, trims and gathers surfaces, and is carried with them. */
const carried: ReadonlySet<number> = new Set([
  0, 124, 141, 142, 143, 144, 408, 420, 502, 504, 508, 510,
]);
const curves: ReadonlySet<number> = new Set([100, 102, 104, 106, 110, 112, 126, 130]);
/** Forms of 402 that are groups, and of 406 that are a name, a layer or its name. */
const groupForms: ReadonlySet<number> = new Set([1, 7, 14, 15]);
const nameForms: ReadonlySet<number> = new Set([1, 3, 15]);

/** Whether an entity is a part of the one that points to it (IGES 5.3, 2.2.4.4.9.2). */
export const isPart = ({ status }: Entity): boolean => Math.floor(status / 10_000) % 2 === 1;

function isCarried({ type, form }: Entity): boolean {
  if (type === 402) return groupForms.has(form);
  if (type === 406) return nameForms.has(form);
  return carried.has(type);
}

/** Curves that a border points to, those of its composite curves among them. */
export function bordersOf(directory: Directory, source: ParameterSource): ReadonlySet<Entity> {
  const inBorders = new Set<Entity>();
  const follow = (entity: Entity): void => {
    const fields = source.fieldsOf(entity);
    if ('code' in fields) return;
    for (const field of fields) {
      const member = typeof field === 'number' ? directory.entityAt(field) : null;
      if (!member || !curves.has(member.type) || inBorders.has(member)) continue;
      inBorders.add(member);
      if (member.type === 102) follow(member);
    }
  };
  for (const entity of directory.entities)
    if ([141, 142, 504, 508].includes(entity.type)) follow(entity);
  return inBorders;
}

/**
 * What a file holds besides surfaces, by type: curves that bound no face, points, annotation, colours,
 * views. What is a part of another entity goes with that; so does a curve that a border points to,
 * whatever its status says.
 */
export function igesOtherContents(bytes: Uint8Array): OtherContent[] {
  const sections = igesSections(bytes);
  const directory = igesDirectory(sections);
  const source = parameterSource(sections, directory, igesGlobals(sections).delimiters);
  const inBorders = bordersOf(directory, source);
  const counts = new Map<number, number>();
  for (const entity of directory.entities)
    if (!isSurface(entity) && !isCarried(entity) && !isPart(entity) && !inBorders.has(entity))
      counts.set(entity.type, (counts.get(entity.type) ?? 0) + 1);
  return [...counts]
    .sort(([a], [b]) => a - b)
    .map(([type, count]) => ({
      kind: `IGES ${type}`,
      label: labels[type] ?? 'entity of another kind',
      count,
    }));
}
